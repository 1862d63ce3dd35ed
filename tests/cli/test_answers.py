"""What commands write."""

import os
import stat
from pathlib import Path

import pytest

from tests.cli.conftest import Run


@pytest.mark.usefixtures("others_may_read_what_is_made")
class TestPrivateFiles:
    def test_cards_and_exports_are_their_owners_only(self, run: Run, tmp_path: Path) -> None:
        """Paper with the names of minors, in a folder that others look into."""
        files = [tmp_path / name for name in ("cards.pdf", "squad.csv", "squad.xlsx")]
        files[1].write_text("there before")
        run("cards", "1", str(files[0]))
        for file in files[1:]:
            run("export", str(file))

        assert [stat.S_IMODE(file.stat().st_mode) for file in files] == [0o600] * 3

    def test_a_file_that_is_none_is_written_to_as_it_is(self, run: Run, tmp_path: Path) -> None:
        pipe = tmp_path / "null.csv"
        pipe.symlink_to(os.devnull)
        assert run("export", str(pipe)).exit_code == 0
        assert stat.S_IMODE(Path(os.devnull).stat().st_mode) & 0o666 == 0o666
