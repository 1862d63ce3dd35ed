"""Apparatus sheets at a terminal: a host's file is there before its guests have opened a page."""

import json
from pathlib import Path

from tests.cli.conftest import Run


class TestTheSheet:
    def test_goes_out_and_comes_in_at_another_desk(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "hall.json"
        out = run("apparatus", "sheet", str(file), "bars by the window", "--hall", "Main hall")
        assert out.output == f"1 apparatus are in {file}.\n"

        shown = run("apparatus", "take", str(file))
        assert "Nothing is saved yet" in shown.output or "nothing new" in shown.output
        taken = json.loads(run("apparatus", "take", "--yes", "--json", str(file)).output)
        assert taken["taken"] is True
        assert len(taken["apparatus"]) == 1

    def test_of_all_apparatus_where_none_is_named(self, run: Run, tmp_path: Path) -> None:
        listed = run("apparatus", "list").output.splitlines()
        file = tmp_path / "all.json"
        out = run("apparatus", "sheet", str(file))

        assert out.output == f"{len(listed)} apparatus are in {file}.\n"
        assert "Bars by the window: Hall frame A, stands at 5 / 5 / 170.0" in listed

    def test_a_name_that_nobody_knows_is_refused_with_those_that_are_known(
        self, run: Run, tmp_path: Path
    ) -> None:
        out = run("apparatus", "sheet", str(tmp_path / "x.json"), "Bars in the attic")
        assert out.exit_code == 2
        assert "There is no apparatus 'Bars in the attic'" in out.output
        assert "Bars by the window" in out.output

    def test_a_file_that_is_no_sheet_changes_nothing(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "no.json"
        file.write_text("{}", encoding="utf-8")
        assert run("apparatus", "take", "--yes", str(file)).exit_code == 2
        assert run("apparatus", "take", str(tmp_path / "none.json")).exit_code == 2
