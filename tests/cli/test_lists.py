"""Lists in and out at a terminal."""

import json
from pathlib import Path

import pytest

from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.settings.settings import Wanted
from tests.cli.conftest import Run
from tests.conftest import DemoClub
from tests.databases import rows_in
from tests.sheets.books import book


class TestForPrograms:
    def test_a_preview_is_told_value_by_value_and_with_every_query(
        self, run: Run, tmp_path: Path
    ) -> None:
        file = tmp_path / "squad.csv"
        run("export", str(file))
        text = file.read_text(encoding="utf-8").replace("178.0", "17 8.0", 1)
        file.write_text(text, encoding="utf-8")
        shown = run("import", "--preview", "--json", str(file))
        told = json.loads(shown.output)

        assert shown.exit_code == 0
        assert [query["read"] for query in told["queries"]] == ["17 8.0"]
        one = told["accepted"][0]
        assert set(one) == {
            "athlete",
            "model",
            "axis",
            "value_mm",
            "read",
            "converted",
            "sheet",
            "row",
            "column",
        }
        assert (one["row"], one["axis"], one["model"]) == (2, "low_rail", "Hall frame A")

    def test_a_preview_needs_no_desk(self, run_empty: Run, tmp_path: Path) -> None:
        """Somebody looks at a club's list before anything is set up."""
        file = tmp_path / "list.csv"
        file.write_text("Name;Holm unten (cm);Holm oben\nIda Marsh;1,65 m;?\n", encoding="utf-8")
        told = json.loads(run_empty("import", "--preview", "--json", str(file)).output)

        assert [(one["axis"], one["value_mm"]) for one in told["accepted"]] == [("low_rail", 1650)]
        assert [(one["row"], one["column"]) for one in told["queries"]] == [(2, "C")]

    def test_any_list_is_shown_line_by_line(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "list.csv"
        file.write_text("Name;Holm unten (cm);Holm oben\nIda Marsh;165;245\n", encoding="utf-8")
        shown = run("import", "--preview", str(file)).output

        assert "row 2, column B: Ida Marsh, low rail height: 165.0 cm" in shown
        assert "row 2, column C: '245': No unit is stated" in shown

    UNTOLD = "Name;Vorname;Holm unten;Holm oben;Weite\nMarsh;Ida;165;245;170\n"

    def test_each_column_is_told_with_how_it_was_read(self, run: Run, tmp_path: Path) -> None:
        """A program compares what was understood, before anything of it is taken."""
        file = tmp_path / "list.csv"
        file.write_text("Name;Vorname;Holm unten (cm);Zettel\nMarsh;Ida;165;x\n", encoding="utf-8")
        told = json.loads(run("import", "--preview", "--json", str(file)).output)
        columns = {one["column"]: one for one in told["columns"]}

        assert columns["B"]["holds"] == "the athlete's given name"
        assert (columns["C"]["axis"], columns["C"]["unit"]) == ("uneven_bars/low_rail", "cm")
        assert columns["C"]["told_by"] == "header"

    def test_the_unit_of_a_whole_list_can_be_said(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "list.csv"
        file.write_text(self.UNTOLD, encoding="utf-8")
        plain = json.loads(run("import", "--preview", "--json", str(file)).output)
        told = json.loads(run("import", "--preview", "--json", "--unit", "cm", str(file)).output)

        assert plain["accepted"] == []
        assert [one["value_mm"] for one in told["accepted"]] == [1650, 2450, 1700]

    def test_the_datum_of_a_whole_list_can_be_said(self, run_empty: Run, tmp_path: Path) -> None:
        file = tmp_path / "list.csv"
        file.write_text(self.UNTOLD.replace("165", "145"), encoding="utf-8")
        words = ("--unit", "cm", "--datum", "mat:20")
        shown = run_empty("import", "--preview", "--json", *words, str(file))

        values = [one["value_mm"] for one in json.loads(shown.output)["accepted"]]
        assert values == [1650, 2650, 1700]

    @pytest.mark.parametrize("datum", ["mat", "roof", "floor:20", "mat:thick"])
    def test_a_datum_that_is_none_is_refused(self, run: Run, tmp_path: Path, datum: str) -> None:
        file = tmp_path / "list.csv"
        file.write_text(self.UNTOLD, encoding="utf-8")

        assert run("import", "--preview", "--datum", datum, str(file)).exit_code == 2

    def test_a_list_is_read_as_somebody_corrected_its_layout_before(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        """What was answered on the pages is asked nowhere again."""
        file = tmp_path / "list.csv"
        file.write_text(self.UNTOLD, encoding="utf-8")
        with demo_club.work(writes=True) as session:
            squad = Squad(session)
            seen = coach_lists.look(session, squad, file.read_bytes(), file.name)
            mapped = {f"!{line}": {"unit": "cm"} for line in "CDE"}
            coach_lists.remember(session, "", seen.key, mapped)
        told = json.loads(run("import", "--preview", "--json", str(file)).output)

        assert [one["value_mm"] for one in told["accepted"]] == [1650, 2450, 1700]

    def test_hidden_rows_of_a_list_are_said(self, run: Run, tmp_path: Path) -> None:
        """Whoever filtered the list may not want them in it."""
        workbook = book(["Name", "Low rail (cm)"], ["Marsh, Ida", 165])
        workbook["Squad"].row_dimensions[2].hidden = True
        file = tmp_path / "list.xlsx"
        workbook.save(file)
        shown = run("import", "--preview", str(file)).output

        assert "Rows or columns of sheet 'Squad' are hidden" in shown

    def test_an_ending_that_says_nothing_is_refused(self, run: Run, tmp_path: Path) -> None:
        shown = run("export", str(tmp_path / "squad.txt"))

        assert shown.exit_code == 2
        assert "must end in .xlsx or .csv" in shown.output


class TestSheets:
    @pytest.mark.parametrize("ending", ["xlsx", "csv"])
    def test_what_goes_out_comes_in_again_and_changes_nothing(
        self, run: Run, tmp_path: Path, ending: str
    ) -> None:
        file = str(tmp_path / f"squad.{ending}")

        assert run("export", file).exit_code == 0
        shown = run("import", file)

        assert shown.exit_code == 0
        assert shown.output.startswith("0 rows change something")

    def test_a_faulty_sheet_keeps_nothing_and_names_the_cell(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        file = tmp_path / "squad.csv"
        run("export", str(file))
        file.write_text(
            file.read_text(encoding="utf-8").replace("178.0", "17 8.0", 1), encoding="utf-8"
        )
        before = rows_in(demo_club.data.where)
        shown = run("import", str(file))

        assert shown.exit_code == 2
        assert "column L, Rail spread (cm): '17 8.0': There is a gap in the number" in shown.output
        assert rows_in(demo_club.data.where) == before

    def test_a_sheet_of_our_columns_is_looked_at_as_what_it_is(
        self, run: Run, tmp_path: Path
    ) -> None:
        """One bad cell makes no other list of it: the rest is kept or not by the same rules."""
        file = tmp_path / "squad.csv"
        run("export", str(file))
        text = file.read_text(encoding="utf-8").replace("178.0", "17 8.0", 1)
        file.write_text(text.replace("195.0", "196.0", 1), encoding="utf-8")
        shown = run("import", "--preview", str(file))

        assert shown.exit_code == 2
        assert "rail height: 195.0 cm ± 1.0 cm becomes 196.0 cm ± 1.0 cm" in shown.output
        assert "'17 8.0': There is a gap in the number" in shown.output

    def test_preview_keeps_nothing(self, run: Run, demo_club: DemoClub, tmp_path: Path) -> None:
        file = tmp_path / "squad.csv"
        run("export", str(file))
        text = file.read_text(encoding="utf-8").replace("178.0", "179.0", 1)
        file.write_text(text, encoding="utf-8")
        before = rows_in(demo_club.data.where)
        shown = run("import", "--preview", str(file))

        assert "rail spread: 178.0 cm ± 2.0 cm becomes 179.0 cm ± 2.0 cm" in shown.output
        assert rows_in(demo_club.data.where) == before

    def test_a_list_of_ones_own_is_taken_where_nothing_of_it_is_open(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        file = tmp_path / "list.csv"
        text = "Name;Vorname;Holm unten;Holm oben;Weite\nMarsh;Ida;165;245;170\n"
        file.write_text(text, encoding="utf-8")
        before = rows_in(demo_club.data.where)
        open_still = run("import", "--unit", "cm", str(file))
        assert open_still.exit_code == 2
        assert "which of Hall frame A, Leaning frame C, Travel frame B" in open_still.output
        assert rows_in(demo_club.data.where) == before

        shown = run("import", "--unit", "cm", "--model", "hall frame a", str(file))
        assert shown.output == "1 added to the squad, 1 setting saved.\n"
        with demo_club.work() as session:
            [ida] = athletes.find(session, "marsh")
            assert settings.current(session, ida.id)[0].setting.axes["low_rail"] == Wanted(1650)

    def test_one_cell_in_doubt_keeps_a_whole_list_out(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        file = tmp_path / "list.csv"
        head = "Name;Vorname;Modell;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
        rows = "Marsh;Ida;Hall frame A;165;245;170\nOhm;Silke;Hall frame A;160-165;245;170\n"
        file.write_text(head + rows, encoding="utf-8")
        before = rows_in(demo_club.data.where)
        shown = run("import", str(file))

        assert shown.exit_code == 2
        assert "row 3, column D: '160-165': Several values or a range" in shown.output
        assert rows_in(demo_club.data.where) == before

    def test_a_model_that_is_not_known_is_named_with_those_that_are(
        self, run: Run, tmp_path: Path
    ) -> None:
        file = tmp_path / "list.csv"
        file.write_text("Name;Holm unten (cm)\nMarsh, Ida;165\n", encoding="utf-8")
        shown = run("import", "--preview", "--model", "Frame Z", str(file))

        assert shown.exit_code == 2
        assert "No model is called Frame Z: the models are Beam A, Guyed bar A" in shown.output

    def test_a_file_that_is_too_large_is_refused_unread(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "list.csv"
        with file.open("wb") as out:
            out.truncate(3_000_000_000)
        shown = run("import", str(file))

        assert shown.exit_code == 2
        assert "has 3000 MB" in shown.output

    def test_a_file_that_is_not_there_is_named(self, run: Run) -> None:
        shown = run("import", "nowhere.csv")

        assert shown.exit_code == 2
        assert "nowhere.csv cannot be read" in shown.output


class TestInPart:
    LIST = (
        "Name;Vorname;Holm unten (cm);Holm oben (cm);Weite (cm)\n"
        "Marsh;Ida;165;245;170\nQuell;Ada;16 5;245;170\n"
    )

    def test_of_a_list_what_is_clear_is_taken_where_somebody_says_yes(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        file = tmp_path / "list.csv"
        file.write_text(self.LIST, encoding="utf-8")
        words = ("import", str(file), "--model", "Hall frame A")
        refused = run(*words)
        assert refused.exit_code == 2
        assert "with --yes as far as it is clear" in refused.output

        taken = run(*words, "--yes")
        assert taken.exit_code == 0
        assert "row 3, column C: '16 5'" in taken.output
        assert taken.output.endswith("2 added to the squad, 1 setting saved, 1 place left out.\n")
        with demo_club.work() as session:
            names = [member.listed_name for member in athletes.find(session)]
        assert "Marsh, Ida" in names

    def test_a_sheet_of_our_own_columns_stays_all_or_nothing(
        self, run: Run, tmp_path: Path
    ) -> None:
        file = tmp_path / "squad.csv"
        run("export", str(file))
        text = file.read_text(encoding="utf-8").replace("178.0", "17 8.0", 1)
        file.write_text(text, encoding="utf-8")

        refused = run("import", "--yes", str(file))
        assert (refused.exit_code, "as a whole" in refused.output) == (2, True)
