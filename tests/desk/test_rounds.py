"""What a desk does by itself goes on whatever happens, and ends with the desk."""

import logging
import threading

import pytest

from settingsdesk.desk.rounds import Rounds
from settingsdesk.store.errors import DeskIsBusy


class TestRounds:
    def test_come_again_after_one_that_was_refused(self, caplog: pytest.LogCaptureFixture) -> None:
        """A disk that was full at midnight has room in the morning."""
        rounds, done = [], threading.Event()

        def do() -> None:
            rounds.append(len(rounds))
            if len(rounds) == 1:
                raise DeskIsBusy(5)
            if len(rounds) == 2:
                raise PermissionError("a stick that was pulled out")
            done.set()

        going = Rounds("the day's backup", do, every_seconds=0.01)
        with caplog.at_level(logging.WARNING):
            going.start()
            assert done.wait(20)
        going.close()

        assert "the day's backup: tried again later: DeskIsBusy" in caplog.text
        ended = len(rounds)
        assert not threading.Event().wait(0.05)
        assert len(rounds) == ended
