"""The squad as a spreadsheet: looked at, taken whole or not at all, and given out again."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as settings_of_tries
from hypothesis import strategies as st

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import models
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.coach_lists import Look, NotWhole
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.typed_settings import AsTyped, setting_typed
from settingsdesk.desk.terminal.as_text import change_lines, open_lines
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.resources import folder
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.squad_writing import squad_csv, squad_xlsx
from tests.conftest import DemoClub

HEAD = (
    "Family name;Given name;Printed name;Group;Model;Low rail height (cm);Low rail height (mark);"
    "High rail height (cm);High rail height (mark);Rail spread (cm);Rail spread (mark);"
    "Rail spread accepts (± cm);Rail height (cm);Reason"
)

LONG = "A" * 81


def sheet(*rows: str) -> bytes:
    """Rows as a coach's spreadsheet program writes them; short rows are filled up."""
    full = [row + ";" * (HEAD.count(";") - row.count(";")) for row in rows]
    return "\r\n".join([HEAD, *full]).encode()


def look(club: DemoClub, *rows: str, content: bytes = b"", name: str = "squad.csv") -> Look:
    with club.work() as session:
        return coach_lists.look(session, Squad(session), content or sheet(*rows), name)


def take(club: DemoClub, *rows: str) -> None:
    with club.work(writes=True) as session:
        taker = Squad(session)
        seen = coach_lists.look(session, taker, sheet(*rows), "squad.csv")
        coach_lists.take(session, taker, seen)


def faults(seen: Look) -> list[str]:
    assert seen.is_ours
    return list(open_lines(seen))


class TestLookingAtASheet:
    def test_the_sheet_the_club_began_with_changes_nothing(self, demo_club: DemoClub) -> None:
        seen = look(demo_club, content=(folder("seed") / "squad.csv").read_bytes())

        assert (list(change_lines(seen)), faults(seen)) == ([], [])
        assert seen.unchanged_rows == 30
        assert not seen.ready

    def test_each_row_says_what_it_would_change(self, demo_club: DemoClub) -> None:
        seen = look(
            demo_club,
            "Bąkiewicz;Jagna;;;Hall frame A;170;;;6;170",
            "Neu;Ana;Ana from Hill;Girls 2;Hall frame A;160;;240;;150;;2",
            "Neu;Ana;;;Leaning frame C;160;;240;;150",
            "Çelikbaş;Defne;;Girls 2",
        )

        becomes = "250.0 cm ± 1.0 cm becomes 255.0 cm ± 1.0 cm"
        assert seen.ready
        assert seen.changing_rows == {2, 3, 4, 5}
        assert list(change_lines(seen)) == [
            f"row 2: Bąkiewicz, Jagna: Hall frame A, high rail height: {becomes} (mark 6)",
            "row 3: Neu, Ana: Is added to the squad",
            "row 3: Neu, Ana: Printed name: 'Ana N.' becomes 'Ana from Hill'",
            "row 3: Neu, Ana: Group: 'Girls 2'",
            "row 3: Neu, Ana: Hall frame A, low rail height: 160.0 cm",
            "row 3: Neu, Ana: Hall frame A, high rail height: 240.0 cm",
            "row 3: Neu, Ana: Hall frame A, rail spread: 150.0 cm ± 2.0 cm",
            "row 4: Neu, Ana: Leaning frame C, low rail height: 160.0 cm",
            "row 4: Neu, Ana: Leaning frame C, high rail height: 240.0 cm",
            "row 4: Neu, Ana: Leaning frame C, rail spread: 150.0 cm",
            "row 5: Çelikbaş, Defne: Group: 'Girls 1' becomes 'Girls 2'",
        ]

    def test_the_fingerprint_changes_with_what_would_change(self, demo_club: DemoClub) -> None:
        """What was shown and what is kept are compared by it."""
        row = "Neu;Ana;;Girls 2"
        before = look(demo_club, row).fingerprint
        assert look(demo_club, row).fingerprint == before

        take(demo_club, row)

        assert look(demo_club, row).fingerprint != before


JAGNA = "Bąkiewicz;Jagna;;;"
FAULTS = [
    (f"{JAGNA}Hall frame X;170;;250;;170", "row 2, column E, Model: 'Hall frame X': "),
    (f"{JAGNA}Hall frame A;;66;250;;170", "row 2, column G, Low rail height (mark): '66': "),
    (f"{JAGNA}Hall frame A;;66;250;;170", "its 9 marks run from 1 to 9"),
    (f"{JAGNA}Hall frame A;170;;;;170", "row 2, column H, High rail height (cm): nothing: "),
    (f"{JAGNA}Hall frame A;1600;;250;;170", "between 100.0 cm and 300.0 cm, and 1600.0 cm is"),
    (f"{JAGNA}Hall frame A;0;;250;;170", "'0': The value is nought"),
    (f"{JAGNA}Hall frame A;1,7;;250;;170", "in metres it would be 170.0 cm"),
    (f"{JAGNA}Hall frame A;66,9;;250;;170", "in inches it would be 169.9 cm"),
    (
        f"{JAGNA}Hall frame A;170;;25;;170",
        "lies between 100.0 cm and 300.0 cm, and 25.0 cm is read",
    ),
    (f"{JAGNA}Hall frame A;170;;250;;16", "'16': Rail spread lies between 80.0 cm and 250.0 cm"),
    (
        f"{JAGNA}Hall frame A;255;;250;;170",
        "column F, Low rail height (cm): '255': The low rail is as",
    ),
    (
        f"{JAGNA}Hall frame A;;9;180;;170",
        "row 2: 'Hall frame A': High rail height: 180.0 cm is more",
    ),
    (f"{JAGNA}Hall frame A;170;;250;;170;;88", "(± cm): '88': A deviation that is accepted is at"),
    (f"{JAGNA}Hall frame A;170;5;250;;170", "leave a length or a mark, and not both"),
    (f"{JAGNA}Hall frame A;5 ft 4;;250;;170", "Low rail height (cm): '5 ft 4': "),
    (f"{JAGNA}Hall frame A;170;;250;;1 62", "There is a gap in the number"),
    (
        "Benhaddou;Ilyas;;;Parallel frame A;170;;;;45;;;195",
        "has no such adjustment: clear the cell",
    ),
    (
        "Bąkiewicz;;;;Hall frame A;170;;250;;170",
        "row 2, column B, Given name: 'Bąkiewicz': somebody",
    ),
]


class TestFaults:
    @pytest.mark.parametrize(("row", "words"), FAULTS)
    def test_each_is_named_with_its_place_and_what_is_to_be_done(
        self, row: str, words: str, demo_club: DemoClub
    ) -> None:
        seen = look(demo_club, row)

        assert not seen.ready
        assert words in " | ".join(faults(seen))
        assert all(line.startswith("row 2") for line in faults(seen))

    def test_all_of_them_are_named_at_once(self, demo_club: DemoClub) -> None:
        """One look, one visit to the sheet."""
        rows = [row for row, _ in FAULTS]
        told = {line.partition(",")[0] for line in faults(look(demo_club, *rows))}

        assert told >= {f"row {at}" for at in range(2, len(rows) + 2)}

    def test_a_name_that_no_card_has_room_for_is_found_in_its_cell(
        self, demo_club: DemoClub
    ) -> None:
        [fault] = faults(look(demo_club, f"Zander;Ada;{LONG}"))

        assert fault.startswith("row 2, column C, Printed name: ")
        assert "at most 80 characters, and this one has 81" in fault

    def test_one_faulty_row_keeps_the_whole_sheet_out(self, demo_club: DemoClub) -> None:
        """Half a sheet taken is worse than none: nobody knows which half."""
        with pytest.raises(NotWhole, match="Nothing was saved"):
            take(demo_club, "Neu;Ana;;Girls 2", FAULTS[0][0])

        with demo_club.work() as session:
            assert athletes.find(session, "neu ana") == []

    def test_an_athlete_who_has_left_is_not_added_a_second_time(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            athletes.leave(session, athletes.find(session, "jagna")[0].id, date(2026, 3, 1))

        [fault] = faults(look(demo_club, "Bąkiewicz;Jagna;;Girls 1"))

        assert fault.startswith("row 2, column A, Family name: 'Bąkiewicz, Jagna': ")
        assert "put them back on the lists first" in fault

    def test_twins_of_one_name_are_told_apart_by_their_groups(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            twin = athletes.add(session, Person("Bąkiewicz", "Jagna", group_name="Girls 3"))

        assert "tell them apart" in faults(look(demo_club, "Bąkiewicz;Jagna;;"))[0]

        take(demo_club, "Bąkiewicz;Jagna;Jagna the second;Girls 3")
        with demo_club.work() as session:
            names = {one.id: one.printed_name for one in athletes.find(session, "jagna bak")}
        assert names.pop(twin.id) == "Jagna the second"
        assert list(names.values()) == ["Jagna B."]

    def test_one_athlete_in_two_groups_is_refused_where_nobody_is_known_so(
        self, demo_club: DemoClub
    ) -> None:
        """Which group is it? Or are they two of one name?"""
        told = faults(look(demo_club, "Neu;Ana;;Girls 1", "Neu;Ana;;Girls 2"))

        assert [line.partition(":")[0] for line in told] == [
            "row 2, column A, Family name",
            "row 3, column A, Family name",
        ]
        assert "row 2 is of the same athlete in another group" in told[1]

    def test_whoever_is_known_by_the_names_the_other_way_round_is_not_added_anew(
        self, demo_club: DemoClub
    ) -> None:
        [fault] = faults(look(demo_club, "Jagna;Bąkiewicz;;Girls 1"))

        assert "seem to be the other way round" in fault


class TestTakingASheet:
    def test_a_second_time_it_changes_nothing(self, demo_club: DemoClub) -> None:
        rows = [
            "Neu;Ana;;Girls 2;Hall frame A;;3;;3;150;;2;;Taken on the bars",
            "Bąkiewicz;Jagna;;;Hall frame A;171,5;;250;;170",
        ]
        take(demo_club, *rows)

        again = look(demo_club, *rows)

        assert (list(change_lines(again)), again.unchanged_rows) == ([], 2)
        with demo_club.work() as session:
            ana = athletes.find(session, "neu")[0]
            version = settings.current(session, ana.id)[0]
        assert version.setting.axes["low_rail"] == Wanted(1600)
        assert version.setting.axes["spread"] == Wanted(1500, 20)
        assert version.as_read["low_rail"] == "3 (mark 3)"
        assert version.as_read["spread"].startswith("150 (150.0 cm, shortest distance")
        assert (version.reason, version.recorded_by) == ("Taken on the bars", "Runa")

    def test_what_it_leaves_blank_of_deviation_and_weight_stays(self, demo_club: DemoClub) -> None:
        """The sheet has no column for how much an axis matters: it must not reset it."""
        with demo_club.work(writes=True) as session:
            jagna = athletes.find(session, "jagna")[0]
            version = models.model(session, settings.current(session, jagna.id)[0].model_id)
            wishes = {
                "low_rail": AsTyped(1700, None, 10, 1),
                "high_rail": AsTyped(2500, None, 10, 1),
                "spread": AsTyped(1700, None, 15, 4),
            }
            kept = setting_typed(version.model, wishes)
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


def wanted(model: ApparatusModel, more_mm: int) -> Setting:
    """A setting that is believed, a little lower for everybody who comes later."""
    lengths = {axis.key: axis.kind.believed.most_mm - 10 * more_mm for axis in model.axes}
    return Setting(model.kind, {key: Wanted(mm, more_mm) for key, mm in lengths.items()})


def must_come_back(club: DemoClub) -> None:
    """Written out in both forms and sent in as it is, the squad changes nothing."""
    with club.work() as session:
        rows = list(export_rows(session, athletes.of_one_name(session)))
    axes = squad_columns().axes
    for write, name in ((squad_xlsx, "squad.xlsx"), (squad_csv, "squad.csv")):
        seen = look(club, content=write(rows, axes, purposes=True, numbers=True), name=name)
        assert (list(change_lines(seen)), faults(seen)) == ([], [])
        assert seen.unchanged_rows == len(rows)


class TestTheWayOut:
    def test_what_goes_out_comes_in_again_and_changes_nothing(self, demo_club: DemoClub) -> None:
        axes = squad_columns().axes
        with demo_club.work() as session:
            rows = list(export_rows(session))
            files = {"squad.xlsx": squad_xlsx(rows, axes), "squad.csv": squad_csv(rows, axes)}
            for name, content in files.items():
                seen = coach_lists.look(session, Squad(session), content, name)
                assert (list(change_lines(seen)), faults(seen)) == ([], [])
                assert seen.unchanged_rows == len(rows)

    def test_it_does_so_whatever_the_athletes_and_models_are_called(
        self, demo_club: DemoClub
    ) -> None:
        """Twins, names that are only alike, one name alone, words that a list would ask about."""
        people = [
            Person("O'Shea", "Zoë", group_name="Girls 1"),
            Person("O'Shea", "Zoë", group_name="Girls 2"),
            Person("O’Shea", "Zoe", "Zoe?", "Total"),
            Person("Zoe", "O’Shea"),
            Person("", "Ana"),
            Person("Total", "12"),
        ]
        with demo_club.work(writes=True) as session:
            bars = models.all_models(session)[0]
            for at, person in enumerate(people):
                member = athletes.add(session, person)
                for model in (
                    bars,
                    *(
                        models.add_model(session, replace(bars.model, name=name))
                        for name in (["Frame-A", "Frame A"] if at == 0 else [])
                    ),
                ):
                    kept = Setting(
                        model.model.kind,
                        {
                            axis.key: Wanted(
                                axis.kind.believed.most_mm - 10 * (len(axis.key) % 3), at
                            )
                            for axis in model.model.axes
                        },
                    )
                    settings.keep_setting(session, member.id, model.id, kept, "outdated, ask?")
            rows = list(export_rows(session))

        axes = squad_columns().axes
        for name, content in {
            "squad.xlsx": squad_xlsx(rows, axes),
            "squad.csv": squad_csv(rows, axes),
        }.items():
            seen = look(demo_club, content=content, name=name)
            assert (list(change_lines(seen)), faults(seen)) == ([], [])
            assert seen.unchanged_rows == len(rows)

    @settings_of_tries(
        max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
    )
    @given(
        namesakes=st.lists(
            st.builds(
                Person,
                family_name=st.sampled_from(["Novak", "Nóvak", "NOVAK"]),
                given_name=st.sampled_from(["Ana", "ana"]),
                printed_name=st.sampled_from(["", "Ana N.", "Ana the second"]),
                group_name=st.sampled_from(["", "Girls 1", "Girls 2"]),
            ),
            min_size=2,
            max_size=4,
        ),
        with_settings=st.lists(st.booleans(), min_size=4, max_size=4),
    )
    def test_it_does_so_for_athletes_of_one_name_too(
        self, demo_club: DemoClub, namesakes: list[Person], with_settings: list[bool]
    ) -> None:
        """Whatever tells them apart, or nothing does; also after one of them has grown."""
        with demo_club.work(writes=True) as session:
            for old in athletes.find(session, "novak"):
                athletes.leave(session, old.id, today())
            bars = models.all_models(session)[0]
            came = athletes.add_all(session, namesakes)
            for at, member in enumerate(came):
                if with_settings[at]:
                    settings.keep_setting(session, member.id, bars.id, wanted(bars.model, at))
        must_come_back(demo_club)

        with demo_club.work(writes=True) as session:
            settings.keep_setting(session, came[0].id, bars.id, wanted(bars.model, 9), "grown")
        must_come_back(demo_club)

    def test_each_of_one_name_gets_what_stands_in_their_own_row(self, demo_club: DemoClub) -> None:
        """In any order of the rows, and with the group changed in the sheet."""
        with demo_club.work(writes=True) as session:
            bars = models.all_models(session)[0]
            twins = athletes.add_all(session, [Person("Novak", "Ana"), Person("Novak", "Ana")])
            for member in twins:
                settings.keep_setting(session, member.id, bars.id, wanted(bars.model, 1))
            rows = list(export_rows(session, athletes.of_one_name(session)))
        first, second = (
            next(row for row in rows if row.number_here == str(twin.id)) for twin in twins
        )
        higher = {axis: length_mm + 10 for axis, length_mm in second.wanted_mm.items()}
        changed = [replace(second, group="Girls 2", wanted_mm=higher), first]

        seen = look(demo_club, content=squad_csv(changed, squad_columns().axes, numbers=True))

        assert faults(seen) == []
        assert [(one.known, bool(one.becomes)) for one in seen.people] == [
            (twins[1].id, True),
            (twins[0].id, False),
        ]
        assert seen.changing_rows == {2}

    def test_a_number_of_nobody_of_that_name_is_refused(self, demo_club: DemoClub) -> None:
        """A squad of another desk has other numbers: nobody is taken for somebody else."""
        head, row = f"{HEAD};Number in settingsdesk", "Bąkiewicz;Jagna" + ";" * 13 + "999"
        (told,) = faults(look(demo_club, content=f"{head}\r\n{row}".encode()))
        assert "nobody called Bąkiewicz, Jagna has the number '999' in settingsdesk" in told

        new = [f"Neu;Ana{';' * 13}{number}" for number in (4, 7)]
        seen = look(demo_club, content="\r\n".join([head, *new]).encode())
        assert (len(seen.people), faults(seen), seen.ready) == (2, [], True)

    def test_a_column_beside_ours_leaves_them_apart(self, demo_club: DemoClub) -> None:
        """A sheet that a coach has added a column to is read as any list."""
        with demo_club.work(writes=True) as session:
            twins = athletes.add_all(session, [Person("Novak", "Ana"), Person("Novak", "Ana")])
        rows = [f"Novak;Ana{';' * 13}{twin.id};x" for twin in twins]
        content = "\r\n".join([f"{HEAD};Number in settingsdesk;Hair", *rows]).encode()

        seen = look(demo_club, content=content)

        assert not seen.is_ours
        assert [one.known for one in seen.people] == [twin.id for twin in twins]

    def test_a_length_that_is_kept_already_is_not_asked_about_again(
        self, demo_club: DemoClub
    ) -> None:
        """Somebody has typed it and meant it: the way out has to come back."""
        with demo_club.work(writes=True) as session:
            jagna = athletes.find(session, "jagna")[0]
            version = models.model(session, settings.current(session, jagna.id)[0].model_id)
            wishes = {"low_rail": AsTyped(990), "high_rail": AsTyped(2500), "spread": AsTyped(1700)}
            kept = setting_typed(version.model, wishes)
            settings.keep_setting(session, jagna.id, version.id, kept)

        row = "Bąkiewicz;Jagna;;;Hall frame A;{};;250;;170"
        assert faults(look(demo_club, row.format("99"))) == []
        assert len(faults(look(demo_club, row.format("98")))) == 1

    def test_who_has_no_setting_yet_goes_out_too(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            athletes.add(session, Person("Aaa", "Zoe"))
            first = next(export_rows(session))

        assert (first.family_name, first.model, first.wanted_mm) == ("Aaa", "", {})
