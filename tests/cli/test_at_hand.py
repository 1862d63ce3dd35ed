"""What stands in the way of every command."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import text

from settingsdesk.cli import main
from tests.cli.conftest import Run
from tests.conftest import DemoClub


class TestWhatStandsInTheWay:
    def test_a_data_folder_that_cannot_be_made(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "file").write_text("", encoding="utf-8")
        monkeypatch.setenv("SETTINGSDESK_DATA", str(tmp_path / "file" / "desk"))
        shown = CliRunner().invoke(main, ["order"])

        assert shown.exit_code == 2
        assert len(shown.output.strip().splitlines()) == 1

    def test_a_database_of_a_newer_version(self, run: Run, demo_club: DemoClub) -> None:
        with demo_club.store.installation(writes=True) as session:
            session.execute(text("UPDATE alembic_version SET version_num = 'from_the_future'"))
        shown = run("order")

        assert shown.exit_code == 2
        assert len(shown.output.strip().splitlines()) == 1
        assert "newer" in shown.output
