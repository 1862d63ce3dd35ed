"""What a desk does by itself goes on whatever happens, and ends with the desk."""

import logging
import threading
from pathlib import Path

import pytest

from settingsdesk.desk import rounds as desk_rounds
from settingsdesk.desk.rounds import Rounds
from settingsdesk.desk.workers import SeveralWorkers
from settingsdesk.store.errors import DeskIsBusy
from tests.desk.rotations.test_searches import until


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

    def test_are_gone_by_one_of_several_workers_until_it_ends(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Four would make four backups, and erase at once whom one has looked up."""
        monkeypatch.setattr(desk_rounds, "ASKS_EVERY_SECONDS", 0.01)
        workers = [SeveralWorkers(tmp_path / "workers") for _ in range(2)]
        gone: list[int] = []
        each = [Rounds("looks", lambda at=at: gone.append(at), 0.01) for at in range(2)]  # type: ignore[misc]
        assert workers[0].is_first()
        for one, worker in zip(reversed(each), reversed(workers), strict=True):
            one.start(worker.is_first)
        until(lambda: len(gone) > 5)
        for one in each:
            one.close()

        assert set(gone) == {0}

    def test_become_anothers_when_they_are_to(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(desk_rounds, "ASKS_EVERY_SECONDS", 0.01)
        ours, done = threading.Event(), threading.Event()
        going = Rounds("looks", done.set, 0.01)
        going.start(ours.is_set)
        assert not done.wait(0.05)
        ours.set()
        assert done.wait(20)
        going.close()
