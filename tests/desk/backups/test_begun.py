"""Opening a desk: what was cut off is ended first, and it is opened only where it is."""

import pytest

from settingsdesk.config import FOLDER, SERVER, DatabaseIsInFolder, DatabaseIsOnServer, DataFolder
from settingsdesk.desk.backups import begun, moving, restoring
from settingsdesk.folder_lock import FolderInUse, FolderLock


class TestOpening:
    def test_waits_for_nobody_who_restores_or_moves(self, data: DataFolder) -> None:
        (data.path / restoring.WAITS).mkdir()
        (data.path / restoring.WAITS / restoring.ASIDE).write_text("before-restoring-x")
        with FolderLock(data.path, moving.WHAT_FOR), pytest.raises(FolderInUse, match="moving"):
            begun.opened(data)

    def test_takes_away_what_a_move_left_that_came_to_nothing(self, data: DataFolder) -> None:
        (data.path / moving.CAME).write_bytes(b"half of it")
        begun.opened(data).close()
        assert not (data.path / moving.CAME).exists()

    def test_begins_no_second_desk_beside_the_one_that_went(self, data: DataFolder) -> None:
        """Forgetting the address of the server must not look as if all data were gone."""
        data.remember_kept_on(FOLDER if data.server else SERVER)
        refusal = DatabaseIsInFolder if data.server else DatabaseIsOnServer
        with pytest.raises(refusal, match=str(data.path)):
            begun.opened(data)
