"""The squad as a spreadsheet: looked at, taken whole or not at all, and given out again."""

from datetime import date

import pytest

from settingsdesk.desk.hall import models
from settingsdesk.desk.lists.template import (
    ImportHasFaults,
    ImportPreview,
    export_rows,
    preview_import,
    squad_columns,
    take_import,
)
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.typed_settings import Wish, setting_wished
from settingsdesk.domain.settings.settings import Wanted
from settingsdesk.resources import folder
from settingsdesk.sheets.squad import SquadSheet
from settingsdesk.sheets.squad_reading import read_squad_file
from settingsdesk.sheets.squad_writing import squad_csv, squad_xlsx
from tests.conftest import DemoClub

HEAD = (
    "Family name;Given name;Printed name;Group;Model;Low rail height (cm);Low rail height (mark);"
    "High rail height (cm);High rail height (mark);Rail spread (cm);Rail spread (mark);"
    "Rail spread accepts (± cm);Rail height (cm);Reason"
)

LONG = "A" * 81


def sheet(*rows: str) -> SquadSheet:
    """Rows as a coach's spreadsheet program writes them; short rows are filled up."""
    full = [row + ";" * (HEAD.count(";") - row.count(";")) for row in rows]
    content = "\r\n".join([HEAD, *full]).encode()
    return read_squad_file(content, "squad.csv", squad_columns().axes)


def look(club: DemoClub, *rows: str) -> ImportPreview:
    with club.work() as session:
        return preview_import(session, sheet(*rows))


def take(club: DemoClub, *rows: str) -> None:
    with club.work(writes=True) as session:
        take_import(session, sheet(*rows))


class TestLookingAtASheet:
    def test_the_sheet_the_club_began_with_changes_nothing(self, demo_club: DemoClub) -> None:
        content = (folder("seed") / "squad.csv").read_bytes()
        with demo_club.work() as session:
            preview = preview_import(
                session, read_squad_file(content, "squad.csv", squad_columns().axes)
            )

        assert (preview.changes, preview.faults) == ((), ())
        assert preview.unchanged_rows == len(preview.sheet.rows) == 30
        assert not preview.ready

    def test_each_row_says_what_it_would_change(self, demo_club: DemoClub) -> None:
        preview = look(
            demo_club,
            "Bąkiewicz;Jagna;;;Hall frame A;170;;;6;170",
            "Neu;Ana;Ana from Hill;Girls 2;Hall frame A;160;;240;;150;;2",
            "Neu;Ana;;;Leaning frame C;160;;240;;150",
            "Çelikbaş;Defne;;Girls 2",
        )

        assert preview.ready
        assert [(change.row, change.athlete, change.what) for change in preview.changes] == [
            (2, "Bąkiewicz, Jagna", "Changed"),
            (3, "Neu, Ana", "New athlete"),
            (4, "Neu, Ana", "New setting"),
            (5, "Çelikbaş, Defne", "Changed"),
        ]
        changed, new, _, moved = (change.details for change in preview.changes)
        assert changed == (
            "Hall frame A, high rail height: 250.0 cm ± 1.0 cm becomes 255.0 cm ± 1.0 cm (mark 6)",
        )
        assert new == (
            "Is added to the squad",
            "Printed name: 'Ana N.' becomes 'Ana from Hill'",
            "Group: 'Girls 2'",
            "Hall frame A, low rail height: 160.0 cm",
            "Hall frame A, high rail height: 240.0 cm",
            "Hall frame A, rail spread: 150.0 cm ± 2.0 cm",
        )
        assert moved == ("Group: 'Girls 1' becomes 'Girls 2'",)

    def test_the_fingerprint_changes_with_what_would_change(self, demo_club: DemoClub) -> None:
        """What was shown and what is kept are compared by it."""
        row = "Neu;Ana;;Girls 2"
        before = look(demo_club, row).fingerprint
        assert look(demo_club, row).fingerprint == before

        take(demo_club, row)

        assert look(demo_club, row).fingerprint != before


FAULTS = [
    ("Bąkiewicz;Jagna;;;Hall frame X;170;;250;;170", "column E, Model: 'Hall frame X' was read"),
    ("Bąkiewicz;Jagna;;;Hall frame A;;66;250;;170", "column G, Low rail height (mark): '66'"),
    ("Bąkiewicz;Jagna;;;Hall frame A;;66;250;;170", "a mark from 1 to 9 is expected"),
    ("Bąkiewicz;Jagna;;;Hall frame A;170;;;;170", "column H, High rail height (cm): nothing was"),
    ("Bąkiewicz;Jagna;;;Hall frame A;1600;;250;;170", "more than 0 and at most 400 cm"),
    ("Bąkiewicz;Jagna;;;Hall frame A;0;;250;;170", "more than 0 and at most 400 cm"),
    ("Bąkiewicz;Jagna;;;Hall frame A;1,7;;250;;170", "in metres it would be 170.0 cm"),
    ("Bąkiewicz;Jagna;;;Hall frame A;66,9;;250;;170", "in inches it would be 169.9 cm"),
    ("Bąkiewicz;Jagna;;;Hall frame A;170;;25;;170", "a length from 100 to 300 cm is expected"),
    ("Bąkiewicz;Jagna;;;Hall frame A;170;;250;;16", "'16.0' was read; a length from 80 to 250 cm"),
    ("Bąkiewicz;Jagna;;;Hall frame A;255;;250;;170", "are the two swapped?"),
    ("Bąkiewicz;Jagna;;;Hall frame A;170;;250;;170;;88", "(± cm): '88.0' was read; at most 50 cm"),
    ("Bąkiewicz;Jagna;;;Hall frame A;170;5;250;;170", "a length or a mark and not both"),
    ("Bąkiewicz;Jagna;;;Hall frame A;5 ft 4;;250;;170", "'5 ft 4' was read"),
    ("Bąkiewicz;Jagna;;;Hall frame A;170;;250;;1 62", "a number has no gap, type 162"),
    ("Benhaddou;Ilyas;;;Parallel frame A;170;;;;45;;;195", "a blank cell: Parallel frame A is"),
    ("Bąkiewicz;;;;Hall frame A;170;;250;;170", "column B, Given name: nothing was read"),
]


class TestFaults:
    @pytest.mark.parametrize(("row", "words"), FAULTS)
    def test_each_is_named_with_its_place_and_what_is_expected(
        self, row: str, words: str, demo_club: DemoClub
    ) -> None:
        preview = look(demo_club, row)

        assert not preview.ready
        assert words in " | ".join(str(fault) for fault in preview.faults)
        assert {fault.row for fault in preview.faults} == {2}

    @pytest.mark.parametrize(
        ("row", "cell"),
        [
            (f"{LONG};Ada", "row 2, column A, Family name"),
            (f"Zander;{LONG}", "row 2, column B, Given name"),
            (f"Zander;Ada;{LONG}", "row 2, column C, Printed name"),
            (f"Zander;Ada;;{LONG}", "row 2, column D, Group"),
        ],
    )
    def test_a_name_that_no_card_has_room_for_is_found_in_its_cell(
        self, demo_club: DemoClub, row: str, cell: str
    ) -> None:
        [fault] = look(demo_club, row).faults

        assert str(fault).casefold().startswith(cell.casefold())
        assert "at most 80 characters" in str(fault)
        assert "has 81" in str(fault)

    def test_one_faulty_row_keeps_the_whole_sheet_out(self, demo_club: DemoClub) -> None:
        """Half a sheet taken is worse than none: nobody knows which half."""
        with pytest.raises(ImportHasFaults, match="Nothing was kept"):
            take(demo_club, "Neu;Ana;;Girls 2", FAULTS[0][0])

        with demo_club.work() as session:
            assert athletes.find(session, "neu ana") == []

    def test_an_athlete_who_has_left_is_not_added_a_second_time(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            athletes.leave(session, athletes.find(session, "jagna")[0].id, date(2026, 3, 1))

        preview = look(demo_club, "Bąkiewicz;Jagna;;Girls 1")

        assert "put them back on the lists first" in str(preview.faults[0])

    def test_twins_of_one_name_are_told_apart_by_their_groups(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            twin = athletes.add(session, Person("Bąkiewicz", "Jagna", group_name="Girls 3"))

        assert "tell them apart" in str(look(demo_club, "Bąkiewicz;Jagna;;").faults[0])

        take(demo_club, "Bąkiewicz;Jagna;Jagna the second;Girls 3")
        with demo_club.work() as session:
            names = {one.id: one.printed_name for one in athletes.find(session, "jagna bak")}
        assert names.pop(twin.id) == "Jagna the second"
        assert list(names.values()) == ["Jagna B."]


class TestTakingASheet:
    def test_a_second_time_it_changes_nothing(self, demo_club: DemoClub) -> None:
        rows = [
            "Neu;Ana;;Girls 2;Hall frame A;;3;;3;150;;2;;Taken on the bars",
            "Bąkiewicz;Jagna;;;Hall frame A;171,5;;250;;170",
        ]
        take(demo_club, *rows)

        again = look(demo_club, *rows)

        assert (again.changes, again.unchanged_rows) == ((), 2)
        with demo_club.work() as session:
            ana = athletes.find(session, "neu")[0]
            version = settings.current(session, ana.id)[0]
        assert version.setting.axes["low_rail"] == Wanted(1600)
        assert version.setting.axes["spread"] == Wanted(1500, 20)
        assert version.as_read["low_rail"] == "mark 3"
        assert version.as_read["spread"].startswith("150.0 (cm, shortest distance")
        assert (version.reason, version.recorded_by) == ("Taken on the bars", "Runa")

    def test_what_it_leaves_blank_of_deviation_and_weight_stays(self, demo_club: DemoClub) -> None:
        """The sheet has no column for how much an axis matters: it must not reset it."""
        with demo_club.work(writes=True) as session:
            jagna = athletes.find(session, "jagna")[0]
            version = models.model(session, settings.current(session, jagna.id)[0].model_id)
            wishes = {
                "low_rail": Wish(1700, None, 10, 1),
                "high_rail": Wish(2500, None, 10, 1),
                "spread": Wish(1700, None, 15, 4),
            }
            kept = setting_wished(version.model, wishes)
            settings.keep_setting(session, jagna.id, version.id, kept)

        take(demo_club, "Bąkiewicz;Jagna;;;Hall frame A;170;;250;;172")

        with demo_club.work() as session:
            now = settings.latest(session, jagna.id, version.id)
        assert now is not None
        assert now.setting.axes["spread"] == Wanted(1720, 15, 4)

    def test_several_rows_of_one_athlete_add_up(self, demo_club: DemoClub) -> None:
        take(
            demo_club,
            "Neu;Ana;Ana the first;;Hall frame A;160;;240;;150",
            "Neu;Ana;;Girls 9",
        )

        with demo_club.work() as session:
            (ana,) = athletes.find(session, "neu ana")
        assert (ana.printed_name, ana.person.group_name) == ("Ana the first", "Girls 9")


class TestTheWayOut:
    def test_what_goes_out_comes_in_again_and_changes_nothing(self, demo_club: DemoClub) -> None:
        axes = squad_columns().axes
        with demo_club.work() as session:
            rows = list(export_rows(session))
            files = {"squad.xlsx": squad_xlsx(rows, axes), "squad.csv": squad_csv(rows, axes)}
            for name, content in files.items():
                preview = preview_import(session, read_squad_file(content, name, axes))
                assert (preview.changes, preview.faults) == ((), ())
                assert preview.unchanged_rows == len(rows)

    def test_a_length_that_is_kept_already_is_not_asked_about_again(
        self, demo_club: DemoClub
    ) -> None:
        """Somebody has typed it and meant it: the way out has to come back."""
        with demo_club.work(writes=True) as session:
            jagna = athletes.find(session, "jagna")[0]
            version = models.model(session, settings.current(session, jagna.id)[0].model_id)
            wishes = {"low_rail": Wish(990), "high_rail": Wish(2500), "spread": Wish(1700)}
            kept = setting_wished(version.model, wishes)
            settings.keep_setting(session, jagna.id, version.id, kept)

        row = "Bąkiewicz;Jagna;;;Hall frame A;{};;250;;170"
        assert look(demo_club, row.format("99")).faults == ()
        assert len(look(demo_club, row.format("98")).faults) == 1

    def test_who_has_no_setting_yet_goes_out_too(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            athletes.add(session, Person("Aaa", "Zoe"))
            first = next(export_rows(session))

        assert (first.family_name, first.model, first.wanted) == ("Aaa", "", {})
