"""What goes on beside the pages begins with them and ends with them."""

import os
import time

from flask import Flask

from settingsdesk.desk.lists.uploads import LISTS, WAITS_SECONDS, Upload, WaitingFiles
from settingsdesk.web.frame.work import OURS, Desk
from settingsdesk.web.rounds import rounds_of
from tests.desk.rotations.test_searches import HARD, forget, seen, until


class TestTheRounds:
    def test_are_gone_while_the_desk_serves_and_searches_end_with_them(self, app: Flask) -> None:
        desk: Desk = app.extensions[OURS]
        waiting = WaitingFiles(desk.data.path / LISTS, "7 stamp")
        old = waiting._file(waiting.keep(Upload("squad.csv", b"Family name\n")))
        an_hour_ago = time.time() - WAITS_SECONDS - 1
        os.utime(old, (an_hour_ago, an_hour_ago))

        with rounds_of(desk, passphrase=None):
            key = desk.searches.begin(1, "tonight", HARD, forget)
            until(lambda: not old.exists())
            assert seen(desk.searches.look(1, key)).running

        assert not seen(desk.searches.look(1, key)).running
