"""The command line, as somebody at a terminal meets it."""

import json
import os
import re
import signal
import socket
import sqlite3
import stat
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner, Result

from settingsdesk.cli import main
from settingsdesk.config import Front
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.checks.findings import add_finding
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.settings.settings import Wanted
from tests.conftest import DemoClub
from tests.sheets.books import book

Run = Callable[..., Result]


@pytest.fixture
def run(demo_club: DemoClub, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on the demo club, whose desk was started before."""
    card_keys.must_fit(demo_club.store, demo_club.data)
    monkeypatch.setenv("SETTINGSDESK_DATA", str(demo_club.data.path))

    def run_one(*words: str) -> Result:
        return CliRunner().invoke(main, list(words))

    return run_one


@pytest.fixture
def run_empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on a desk with nothing on it."""
    monkeypatch.setenv("SETTINGSDESK_DATA", str(tmp_path / "empty"))

    def run_one(*words: str, typed: str | None = None) -> Result:
        return CliRunner().invoke(main, list(words), input=typed)

    return run_one


class TestHelp:
    @pytest.mark.parametrize("command", [[], *[[name] for name in main.commands]])
    def test_every_command_explains_itself(self, command: list[str]) -> None:
        shown = CliRunner().invoke(main, [*command, "--help"])

        assert shown.exit_code == 0
        assert "Usage:" in shown.output

    def test_the_readme_shows_every_command(self) -> None:
        """A command that the README does not show is not there for a coach."""
        readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")

        for name in main.commands:
            assert f"settingsdesk {name}" in readme


class TestTheKeyOfTheCards:
    @pytest.mark.parametrize(
        "words",
        [
            ["cards", "1", "out.pdf"],
            ["demo"],
            ["init", "Another"],
            ["order"],
            ["serve", "--port", "0"],
        ],
        ids=lambda words: words[0],
    )
    def test_nothing_begins_without_it_and_the_way_out_is_named(
        self, run: Run, demo_club: DemoClub, words: list[str]
    ) -> None:
        """Cards whose codes open nothing are noticed at the meet, by somebody else."""
        (demo_club.data.path / "card.key").unlink()

        shown = run(*(str(unused_port()) if word == "0" else word for word in words))
        assert shown.exit_code == 2
        assert "Put the copy of it back" in shown.output
        assert "settingsdesk card-key change --until DAY" in shown.output
        assert not (demo_club.data.path / "card.key").exists()

    def test_a_new_one_is_made_with_the_day_until_which_old_cards_count(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        assert run("cards", "1", str(tmp_path / "before.pdf")).exit_code == 0
        shown = run("card-key", "change", "--until", "2999-12-31")

        assert shown.exit_code == 0, shown.output
        assert "Cards from before count until 31 December 2999" in shown.output
        assert (demo_club.data.path / "card.key.until-2999-12-31").exists()
        assert run("cards", "1", str(tmp_path / "after.pdf")).exit_code == 0

    def test_a_lost_one_is_replaced_and_what_that_means_is_said(
        self, run: Run, demo_club: DemoClub
    ) -> None:
        (demo_club.data.path / "card.key").unlink()

        assert "cannot be typed" in run("card-key", "change", "--until", "2999-12-31").output
        assert run("order").exit_code == 0

    def test_a_day_that_is_over_is_refused(self, run: Run) -> None:
        shown = run("card-key", "change", "--until", "2001-01-01")
        assert shown.exit_code == 2
        assert "1 January 2001 is over" in shown.output


class TestPrivateFiles:
    @pytest.fixture(autouse=True)
    def everybody_may_read_what_is_made(self) -> Iterator[None]:
        """As on most machines."""
        before = os.umask(0o022)
        yield
        os.umask(before)

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

    def test_an_open_folder_is_not_served(self, run: Run, demo_club: DemoClub) -> None:
        demo_club.data.path.chmod(0o750)
        shown = run("serve", "--port", str(unused_port()))
        assert shown.exit_code == 2
        assert "chmod -R go=" in shown.output
        assert "--open-folder" in shown.output

    def test_the_doctor_names_it_with_status_1(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        run("backup", str(tmp_path / "desk.zip"))
        for file in demo_club.data.path.rglob("*"):
            file.chmod(0o600)
        assert run("doctor").exit_code == 0
        demo_club.data.path.chmod(0o755)
        shown = run("doctor")
        assert shown.exit_code == 1
        assert f"NOT WELL  Others can read {demo_club.data.path}" in shown.output


def unused_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        return listening.getsockname()[1]


class TestDemo:
    def test_on_an_empty_desk_it_prints_the_order_the_cards_the_address_and_how_to_sign_in(
        self, run_empty: Run, tmp_path: Path
    ) -> None:
        shown = run_empty("demo")

        assert shown.exit_code == 0, shown.output
        assert "Tonight, bars, girls 1: Bars by the window, 12 athletes" in shown.output
        assert "A meet to come: Quillmoor Lantern Cup, " in shown.output
        assert re.search(r"saves \d+:\d\d min and \d+:\d\d min", shown.output)
        assert re.search(r"Sign in as runa with the password (\w{4}-){2}\w{4}", shown.output)
        assert "a phone that scans a card gets nothing" in shown.output
        pdf = tmp_path / "empty" / "cards-of-tonight.pdf"
        assert str(pdf) in shown.output
        assert len(pypdfium2.PdfDocument(pdf)) == 12

    def test_on_a_desk_with_data_it_changes_nothing(self, run: Run, demo_club: DemoClub) -> None:
        before = content(demo_club.data.database)
        shown = run("demo")

        assert shown.exit_code == 0
        assert "has data already; nothing was changed" in shown.output
        assert "settingsdesk coach password NAME" in shown.output
        assert content(demo_club.data.database) == before


class TestOrder:
    def test_without_a_number_it_lists_the_rotations(self, run: Run) -> None:
        assert "Tonight, parallel bars, boys 1" in run("order").output

    def test_with_one_it_shows_turns_moves_and_the_proof(self, run: Run) -> None:
        shown = run("order", "1").output

        assert "  1. Jagna B." in shown
        assert "proven best" in shown

    def test_an_unknown_rotation_is_one_line_and_status_2(self, run: Run) -> None:
        shown = run("order", "99")

        assert shown.exit_code == 2
        assert len(shown.output.strip().splitlines()) == 1

    def test_a_number_that_no_database_counts_to_is_refused(self, run: Run) -> None:
        shown = run("order", "9" * 20)

        assert shown.exit_code == 2
        assert "9" * 20 in shown.output

    def test_what_does_not_go_together_is_refused_and_not_ignored(self, run: Run) -> None:
        assert run("order", "--anew").exit_code == 2
        assert run("order", "1", "--problem", "problem.json").exit_code == 2

    def test_a_withdrawn_apparatus_is_not_ordered_on_and_said_to_be_so(
        self, run: Run, demo_club: DemoClub
    ) -> None:
        """The command line is no way round the coach who withdrew it."""
        with demo_club.work(writes=True) as session:
            add_finding(session, 1, "Rail split", withdraws=True, press_key="x")

        refused = run("order", "1", "--anew")
        assert refused.exit_code == 2
        assert "has been out of use since" in refused.output
        assert "! Bars by the window has been out of use since" in run("order", "1").output
        told = json.loads(run("order", "1", "--json").output)
        assert told["withdrawn"] == ["Bars by the window"]

    def test_ordering_anew_counts(self, run: Run) -> None:
        assert run("order", "1", "--anew").exit_code == 0


class TestConvert:
    def test_marks_of_one_apparatus_become_marks_of_another(self, run: Run) -> None:
        shown = run("convert", "Bars by the window", "bars by the door", "5", "5", "170.0").output

        assert "Low rail height: mark" in shown
        assert "Next closest:" in shown

    def test_what_nobody_stated_is_not_told_as_accepted(self, run: Run) -> None:
        """A setup says nothing of what an athlete accepts; how far off it is stands beside it."""
        shown = run("convert", "Bars by the window", "bars by the door", "5", "5", "170.0").output

        assert " cm)" in shown
        assert "accepted" not in shown

    def test_an_unknown_mark_names_the_range(self, run: Run) -> None:
        shown = run("convert", "Bars by the window", "Bars by the door", "55", "5", "170.0")

        assert shown.exit_code == 2
        assert "its 9 marks run from 1 to 9" in shown.output

    def test_too_few_marks_names_the_axes(self, run: Run) -> None:
        shown = run("convert", "Bars by the window", "Bars by the door", "5")

        assert shown.exit_code == 2
        assert "low rail height, high rail height, rail spread" in shown.output

    def test_an_unknown_apparatus_names_those_there_are(self, run: Run) -> None:
        shown = run("convert", "Bars in the attic", "Bars by the door", "5", "5", "170.0")

        assert shown.exit_code == 2
        assert "Bars by the window" in shown.output


class TestForPrograms:
    def test_the_rotations_are_told_by_number(self, run: Run) -> None:
        told = json.loads(run("order", "--json").output)

        assert {line["rotation"]: line["athletes"] for line in told} == {1: 12, 2: 8}

    def test_an_order_is_told_with_its_proof_and_every_turn(self, run: Run) -> None:
        told = json.loads(run("order", "1", "--json").output)["order"]

        assert told["proven"]
        assert told["change_over_s"] == told["bound_s"] < told["by_height_s"]
        turns = told["apparatus"][0]["turns"]
        assert len(turns) == 12
        assert sum(turn["change_over_s"] for turn in turns) == told["change_over_s"]

    def test_a_conversion_is_told_axis_by_axis(self, run: Run) -> None:
        shown = run(
            "convert", "Bars by the window", "Bars by the door", "5", "5", "170.0", "--json"
        )
        told = json.loads(shown.output)

        assert told["apparatus"] == "Bars by the door"
        assert set(told["best"]["axes"]) == {"low_rail", "high_rail", "spread"}
        assert told["runner_up"] is not None

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


class TestCards:
    @pytest.mark.parametrize(("size", "pages"), [("A6", 12), ("ID-1", 2), ("A4", 3)])
    def test_a_rotations_cards_are_printed_in_every_size(
        self, run: Run, tmp_path: Path, size: str, pages: int
    ) -> None:
        shown = run("cards", "1", str(tmp_path / "cards.pdf"), "--size", size)

        assert shown.exit_code == 0
        assert len(pypdfium2.PdfDocument(tmp_path / "cards.pdf")) == pages

    def test_codes_lead_to_where_the_pages_were_served_last(
        self, run: Run, tmp_path: Path, demo_club: DemoClub
    ) -> None:
        """Cards printed at the terminal open the same desk as those printed from a page."""
        file = str(tmp_path / "cards.pdf")
        assert "http://127.0.0.1:5000" in run("cards", "1", file).output

        demo_club.data.remember_served("127.0.0.1", 8123)
        assert "http://127.0.0.1:8123" in run("cards", "1", file).output
        assert "http://127.0.0.1:8200" in run("cards", "1", file, "--port", "8200").output

    def test_a_file_that_cannot_be_written_is_named(self, run: Run, tmp_path: Path) -> None:
        shown = run("cards", "1", str(tmp_path / "nowhere" / "cards.pdf"))

        assert shown.exit_code == 2
        assert "cannot be written" in shown.output


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
        before = content(demo_club.data.database)
        shown = run("import", str(file))

        assert shown.exit_code == 2
        assert "column L, Rail spread (cm): '17 8.0': There is a gap in the number" in shown.output
        assert content(demo_club.data.database) == before

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
        before = content(demo_club.data.database)
        shown = run("import", "--preview", str(file))

        assert "rail spread: 178.0 cm ± 2.0 cm becomes 179.0 cm ± 2.0 cm" in shown.output
        assert content(demo_club.data.database) == before

    def test_a_list_of_ones_own_is_taken_where_nothing_of_it_is_open(
        self, run: Run, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        file = tmp_path / "list.csv"
        text = "Name;Vorname;Holm unten;Holm oben;Weite\nMarsh;Ida;165;245;170\n"
        file.write_text(text, encoding="utf-8")
        before = content(demo_club.data.database)
        open_still = run("import", "--unit", "cm", str(file))
        assert open_still.exit_code == 2
        assert "which of Hall frame A, Leaning frame C, Travel frame B" in open_still.output
        assert content(demo_club.data.database) == before

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
        before = content(demo_club.data.database)
        shown = run("import", str(file))

        assert shown.exit_code == 2
        assert "row 3, column D: '160-165': Several values or a range" in shown.output
        assert content(demo_club.data.database) == before

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


class TestAClubOfOnesOwn:
    def test_a_club_and_its_coach_are_made_without_the_demo(self, run_empty: Run) -> None:
        assert run_empty("init", "Harbour Gymnastics").exit_code == 0
        words = "lanterns over seven wet roofs"
        shown = run_empty(
            "coach", "add", "edda", "--shown-name", "Edda Quill", typed=f"{words}\n{words}\n"
        )

        assert shown.exit_code == 0
        assert "Edda Quill can sign in as edda." in shown.output

    def test_a_second_club_on_one_desk_is_refused(self, run: Run) -> None:
        """Otherwise nobody could tell which of them a command means."""
        shown = run("init", "Another club")

        assert shown.exit_code == 2
        assert "Quillmoor Gymnastics Club is on this desk already" in shown.output

    def test_without_a_club_the_way_to_one_is_named(self, run_empty: Run) -> None:
        shown = run_empty("order")

        assert shown.exit_code == 2
        assert "settingsdesk init NAME" in shown.output

    def test_a_coach_without_a_name_to_be_seen_is_refused(self, run: Run) -> None:
        words = "lanterns over seven wet roofs"
        shown = run("coach", "add", "edda", "--shown-name", " ", "--password", words)

        assert shown.exit_code == 2
        assert "a name that others see" in shown.output

    def test_a_script_without_a_terminal_pipes_the_password_in(self, run_empty: Run) -> None:
        run_empty("init", "Harbour Gymnastics")
        words = "lanterns over seven wet roofs"
        edda = ("coach", "add", "edda", "--shown-name", "Edda Quill", "--password-from-stdin")
        assert run_empty(*edda, typed=f"{words}\n").exit_code == 0

        shown = run_empty("coach", "password", "edda", "--password-from-stdin", typed="short\n")
        assert shown.exit_code == 2
        assert "12 characters or more" in shown.output
        both = run_empty(*edda, "--password", words, typed=words)
        assert both.exit_code == 2

    def test_people_are_listed_given_a_role_disabled_and_signed_out(self, run: Run) -> None:
        """What an owner does on the page, for whoever lost the way to it."""
        words = "lanterns over seven wet roofs"
        added = ("coach", "add", "bo", "--shown-name", "Bo Larch", "--role", "helper")
        assert run(*added, "--password", words).exit_code == 0
        listed = run("coach", "list").output.splitlines()
        assert "bo  Bo Larch, helper" in listed
        assert any(line.startswith("runa  ") and line.endswith(", owner") for line in listed)

        assert run("coach", "role", "bo", "coach").output == "bo is a coach now.\n"
        assert run("coach", "disable", "bo").exit_code == 0
        assert "bo  Bo Larch, coach, disabled" in run("coach", "list").output
        assert run("coach", "enable", "bo").exit_code == 0
        assert "bo  Bo Larch, coach\n" in run("coach", "list").output
        assert run("coach", "sign-out", "bo").exit_code == 0

        last = run("coach", "disable", "runa")
        assert last.exit_code == 2
        assert "is the only owner" in last.output
        assert run("coach", "role", "nobody", "coach").exit_code == 2

    def test_a_new_password_for_nobody_is_refused(self, run: Run) -> None:
        shown = run("coach", "password", "nobody", "--password", "lanterns over seven wet roofs")

        assert shown.exit_code == 2
        assert "Nobody signs in as 'nobody' here" in shown.output


class TestSeveralClubs:
    def test_one_more_is_made_named_closed_and_opened(self, run: Run) -> None:
        """Whoever looks after the installation needs no page for it."""
        added = run("club", "add", "Lakeside", "--owner", "Ann Reed").output
        assert "send it to Ann Reed alone" in added
        assert "/invitation/" in added
        assert "Say which: settingsdesk --club NAME" in run("order").output

        made = run("--club", "lakeside", "coach", "list")
        assert (made.exit_code, made.output) == (0, "")
        assert "runa" in run("--club", "Quillmoor Gymnastics Club", "coach", "list").output
        assert run("--club", "Nowhere", "coach", "list").exit_code == 2

        assert run("club", "close", "LAKESIDE").exit_code == 0
        assert "closed since" in run("club", "list").output
        assert run("order").exit_code == 0
        assert run("club", "open", "Lakeside").output == "Lakeside is open again.\n"
        assert "closed" not in run("club", "list").output

    def test_who_makes_them_on_the_pages_is_said_here_too(self, run: Run) -> None:
        assert run("club", "owners").output == "runa\n"
        refused = run("club", "owners", "--take", "runa")
        assert (refused.exit_code, "only owner" in refused.output) == (2, True)
        password = "nine quiet otters juggling"
        run("coach", "add", "bo", "--shown-name", "Bo Larch", "--password", password)
        assert run("club", "owners", "--give", "bo", "--take", "runa").output == "bo\n"


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
        demo_club.store.close()
        with sqlite3.connect(demo_club.data.database) as database:
            database.execute("UPDATE alembic_version SET version_num = 'from_the_future'")
        database.close()
        shown = run("order")

        assert shown.exit_code == 2
        assert len(shown.output.strip().splitlines()) == 1
        assert "newer" in shown.output

    def test_a_port_in_use(self, run: Run) -> None:
        with socket.create_server(("127.0.0.1", 0)) as taken:
            port = taken.getsockname()[1]
            shown = run("serve", "--port", str(port))

        assert shown.exit_code == 2
        assert f"Port {port} of 127.0.0.1 cannot be used" in shown.output


class TestHowTheDeskIsReached:
    """``demo`` takes the same options as ``serve``, and ends by itself."""

    PUBLIC = ("--public-url", "https://desk.example.org")

    def test_what_is_told_once_is_remembered(self, run: Run, demo_club: DemoClub) -> None:
        run("demo", *self.PUBLIC, "--https", "--behind", "1", "--name", "Desk.Hall.example")
        run("demo", "--name", "192.0.2.7")

        names = frozenset({"desk.hall.example", "192.0.2.7"})
        assert demo_club.data.front() == Front(https=True, behind=1, names=names)

    def test_each_is_taken_back(self, run: Run, demo_club: DemoClub) -> None:
        """A desk goes back from a public name to the hall's own network."""
        run("demo", *self.PUBLIC, "--https", "--behind", "1", "--name", "desk.hall.example")
        back = ("--no-https", "--behind", "0", "--no-name", "desk.hall.example")
        shown = run("demo", *back, "--no-public-url")

        assert shown.exit_code == 0
        assert demo_club.data.front() == Front()
        assert demo_club.data.public_url() is None

    @pytest.mark.parametrize(
        ("words", "known"),
        [
            (["--https"], "none is known"),
            (["--https", "--public-url", "http://desk.example.org"], "http://desk.example.org"),
        ],
    )
    def test_https_needs_an_address_that_begins_so(
        self, run: Run, demo_club: DemoClub, words: list[str], known: str
    ) -> None:
        """Codes on cards would lead past the server that ends it."""
        shown = run("demo", *words)

        assert shown.exit_code == 2
        assert known in shown.output
        assert "--public-url https://desk.example.org" in shown.output
        assert "--no-https" in shown.output
        assert (demo_club.data.front(), demo_club.data.public_url()) == (Front(), None)

    def test_the_address_is_not_taken_from_under_https(self, run: Run, demo_club: DemoClub) -> None:
        run("demo", *self.PUBLIC, "--https")
        for words in (["--no-public-url"], ["--public-url", "http://desk.example.org"]):
            assert run("demo", *words).exit_code == 2

        assert demo_club.data.public_url() == "https://desk.example.org"

    def test_nothing_is_kept_of_what_is_refused(self, run: Run, demo_club: DemoClub) -> None:
        for words in (["--name", "a/b"], ["--public-url", "ftp://x"], ["--behind", "10"]):
            assert run("demo", "--name", "desk.example.org", *words).exit_code == 2

        assert demo_club.data.front() == Front()


class TestServing:
    def test_the_pages_are_served_until_an_end_signal_and_the_folder_is_private(
        self, demo_club: DemoClub
    ) -> None:
        """A service manager ends the desk with a plain signal; nothing in flight is dropped."""
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        command = [sys.executable, "-m", "settingsdesk", "serve", "--port", str(port)]
        environment = {**os.environ, "SETTINGSDESK_DATA": str(demo_club.data.path)}
        with subprocess.Popen(
            command, env=environment, stdout=subprocess.PIPE, text=True
        ) as server:
            assert server.stdout is not None
            told = server.stdout.readline()
            assert f"http://127.0.0.1:{port}" in told
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/") as page:
                assert "Sign in" in page.read().decode()
            server.send_signal(signal.SIGTERM)
            assert server.wait(timeout=60) == 0
        assert demo_club.data.last_served() == ("127.0.0.1", port)
        for file in demo_club.data.path.iterdir():
            assert not stat.S_IMODE(file.stat().st_mode) & 0o077


def content(database: Path) -> list[str]:
    """Everything in a database, to be compared."""
    opened = sqlite3.connect(database)
    lines = list(opened.iterdump())
    opened.close()
    return lines
