"""Two desks never serve the same folder."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from settingsdesk.folder_lock import FILE, FolderInUse, FolderLock


class TestTheLockOfADataFolder:
    def test_whoever_comes_second_is_told_who_holds_it(self, tmp_path: Path) -> None:
        with (
            FolderLock(tmp_path, "serving at 127.0.0.1, port 8000"),
            pytest.raises(FolderInUse, match=f"port 8000, process {os.getpid()}") as refused,
            FolderLock(tmp_path, "restoring"),
        ):
            pytest.fail("let in")
        assert str(tmp_path) in str(refused.value)

    def test_it_is_free_again_afterwards(self, tmp_path: Path) -> None:
        for _ in range(2):
            with FolderLock(tmp_path, "serving"):
                pass

    def test_a_process_that_is_killed_lets_go_of_it(self, tmp_path: Path) -> None:
        """Nobody has to delete a file by hand after a power cut."""
        dies = (
            "import os, pathlib, sys\n"
            "from settingsdesk.folder_lock import FolderLock\n"
            "with FolderLock(pathlib.Path(sys.argv[1]), 'serving'): os._exit(9)"
        )
        assert subprocess.run([sys.executable, "-c", dies, tmp_path], check=False).returncode == 9

        with FolderLock(tmp_path, "serving"):
            pass

    @pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
    def test_it_is_held_until_whoever_locked_it_leaves(self, tmp_path: Path) -> None:
        """A worker that ends lets nobody in while the others go on serving."""
        program = (
            "import os, pathlib, sys\n"
            "from settingsdesk.folder_lock import FolderInUse, FolderLock\n"
            "folder = pathlib.Path(sys.argv[1])\n"
            "with FolderLock(folder, 'serving'):\n"
            "    if not os.fork(): sys.exit()\n"
            "    os.wait()\n"
            "    try:\n"
            "        with FolderLock(folder, 'restoring'): pass\n"
            "    except FolderInUse as refusal: print(refusal)\n"
        )
        command = [sys.executable, "-c", program, tmp_path]
        told = subprocess.run(command, check=True, capture_output=True, text=True).stdout

        assert "(serving, process " in told

    def test_a_folder_that_was_copied_is_not_locked(self, tmp_path: Path) -> None:
        (tmp_path / FILE).write_text("\nserving, process 1\n")
        with FolderLock(tmp_path, "serving"):
            pass
