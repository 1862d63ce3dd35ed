"""The crew sheet of a rotation at a meet: who, which marks, what to move, and whether it fits."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from io import BytesIO

import openpyxl
import pytest

from settingsdesk.cards.crew_sheet import crew_sheets_pdf
from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets, withdrawal
from settingsdesk.desk.meet_day.crew_sheets import CrewLine, CrewSheet
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.start_orders import NotAStartOrder
from settingsdesk.desk.rotations import order_paper
from settingsdesk.desk.runs import run
from settingsdesk.desk.runs.presses import next_up
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.changeover.changeover import change_over
from settingsdesk.domain.changeover.crew import NotACrew, crew_time_s
from settingsdesk.domain.changeover.happenings import NotHere, Repeated, StepDone
from settingsdesk.domain.changeover.moves import Move
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.sheets.writing import xlsx_bytes
from settingsdesk.words.language import ENGLISH
from tests.cards.reading import letter_sizes_pt, page_texts, tables
from tests.conftest import DemoClub
from tests.desk.sample_meet import (
    DAY,
    SmallMeet,
    begun,
    had_a_turn,
    hold,
    press,
    set_anew,
    up,
)

BOOK = "International, as quoted"


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    return hold(demo_club)


def sheet_of(club: DemoClub, held: SmallMeet, hands: int | None = None) -> CrewSheet:
    with club.work() as session:
        return crew_sheets.crew_sheet(session, held.rotation_id, hands)


def words(texts: list[str]) -> str:
    return " ".join(" ".join(texts).split())


def moves_from(sheet: CrewSheet, before: CrewLine, line: CrewLine) -> tuple[Move, ...]:
    assert before.setup is not None
    assert line.setup is not None
    return change_over(sheet.piece.model, before.setup, line.setup).ways


class TestWhatItSays:
    def test_everybody_in_start_order_with_marks_lengths_and_club(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        lines = sheet_of(demo_club, held).lines
        assert [(one.place, one.start_number, one.name, one.club) for one in lines] == [
            (1, "11", "Almira O.", "Tarn Hollow GC"),
            (2, "12", "Sunniva B.", "Tarn Hollow GC"),
            (3, "13", "Noor H.", "Wexlow Turners"),
        ]
        assert [mark.axis for mark in lines[0].marks] == [
            "Low rail height",
            "High rail height",
            "Rail spread",
        ]
        assert lines[0].marks[0].length.endswith(" cm")

    def test_marks_that_were_worked_out_from_another_model_say_so(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Paper and workbook have the line's notes: a crew takes no number for a tried one."""
        with demo_club.work(writes=True) as session:
            door = next(
                one for one in apparatus.all_pieces(session) if one.name == "Bars by the door"
            )
            meets.put_apparatus(session, held.meet_id, door.id)
            place = start_orders.Place(held.session_id, 2, door.id)
            ids = [guest.member.id for guest in held.guests]
            there = start_orders.set_new(session, place, ids, "typed").rotation_id
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, there)
        told = "Worked out from Hall frame A, not measured here"
        assert all(told in line.notes for line in sheet.lines)
        assert not any(told in line.notes for line in sheet_of(demo_club, held).lines)

    @pytest.mark.parametrize("hands", [1, 2, 4])
    def test_what_to_move_leads_from_one_setup_to_the_next_in_the_crews_time(
        self, demo_club: DemoClub, held: SmallMeet, hands: int
    ) -> None:
        sheet = sheet_of(demo_club, held, hands)
        model, here = sheet.piece.model, sheet.piece.setup
        for line in sheet.lines:
            assert here is not None
            assert line.setup is not None
            assert line.moves == change_over(model, here, line.setup).ways
            assert line.seconds == crew_time_s(model, here, line.setup, hands)
            here = line.setup
        assert sheet.seconds == sum(line.seconds for line in sheet.lines)

    def test_for_three_hands_there_is_none(self, demo_club: DemoClub, held: SmallMeet) -> None:
        with pytest.raises(NotACrew):
            sheet_of(demo_club, held, 3)

    def test_of_the_clubs_own_rotations_there_is_none(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session, pytest.raises(NotAStartOrder):
            crew_sheets.crew_sheet(session, 1)

    def test_a_request_to_raise_says_who_when_and_what_came_of_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        entry, bars = held.guests[2].entry_id, held.apparatus_id
        with demo_club.work(writes=True) as session:
            entries.tell_raise(session, entry, bars, "asked", 50, "her coach", DAY)
        [note] = sheet_of(demo_club, held).lines[2].notes
        assert note == (
            "Not settled yet: a request by her coach of 5 December 2026 to raise the rails by 5.0"
            " cm"
        )

    def test_who_is_withdrawn_is_named_and_nothing_is_moved_for_them(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[1].entry_id)
        gone = sheet_of(demo_club, held).lines[1]
        assert (gone.is_in, gone.moves, gone.seconds) == (False, None, None)
        assert gone.notes == ("Scratched: does not come",)

    def test_who_has_no_setting_is_named_and_the_next_is_set_from_the_one_before(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            late = entries.enter_guest(session, held.meet_id, Person("Ravn", "Liv"), "Wexlow")
            ids = [guest.member.id for guest in held.guests]
            listed = [ids[0], late.member.id, ids[1]]
            set_anew(session, held.rotation_id, listed)
        first, unset, last = sheet_of(demo_club, held).lines
        assert unset.marks == ()
        assert "No setting is entered" in unset.notes[0]
        assert last.moves is not None
        assert first.setup is not None
        assert last.moves[0].from_stop in first.setup

    def test_who_cannot_be_reached_is_told_by_how_much_and_against_which_limit(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Nobody accepted anything here: what is usual at the club is not the athlete's word."""
        first = held.guests[0]
        with demo_club.work(writes=True) as session:
            model = apparatus.piece(session, held.apparatus_id).model_id
            kept = settings.latest(session, first.member.id, model).setting
            spread = kept.kind.axes[-1]
            off = {**kept.axes, spread.key: Wanted(kept.axes[spread.key].wanted_mm + 2000)}
            settings.keep_setting(session, first.member.id, model, Setting(kept.kind, off))
        told = sheet_of(demo_club, held).lines[0].notes[-1]
        assert told.startswith(f"{spread.name}: this apparatus does not reach it; its last mark is")

    def test_it_begins_where_the_rotation_before_it_leaves_the_apparatus(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Printed the evening before, it is true when its rotation comes on."""
        ids = [guest.member.id for guest in held.guests]
        with demo_club.work(writes=True) as session:
            place = start_orders.Place(held.session_id, 2, held.apparatus_id)
            second = start_orders.set_new(session, place, ids[:1], "typed").rotation_id
        first = sheet_of(demo_club, held)
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, second)
            together = crew_sheets.of_session(session, held.session_id)
        assert sheet.begins.setup == first.lines[-1].setup
        assert sheet.lines[0].moves
        assert sheet.lines[0].moves == together[1].lines[0].moves
        [told] = [line for line in crew_sheet_words.facts(sheet) if "Begins from" in line]
        assert "where Session 1: Juniors, rotation 1 leaves it" in told

    def test_of_a_day_to_come_it_says_nothing_of_the_present_marks_and_keeps_its_version(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """What stands there now stands there no longer when the meet begins."""
        on_the_day = datetime.combine(DAY, time(9)).astimezone(UTC)
        sheets = [
            replace(sheet_of(demo_club, held), made_at=at)
            for at in (on_the_day - timedelta(days=2), on_the_day)
        ]
        before, then = (crew_sheet_words.begins_from(sheet) for sheet in sheets)
        assert before.startswith("Planned from ")
        assert before.endswith(": read the present marks before.")
        assert then.endswith("the present marks on record: compare before.")
        for told in (crew_sheet_words.version, crew_sheet_words.printed_version):
            assert told(sheets[0]) == told(sheets[1])

    def test_where_the_one_before_is_over_it_begins_from_what_stands_there(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            run_id = run.begin(session, held.rotation_id, held.apparatus_id)
            run.end(session, run_id)
            place = start_orders.Place(held.session_id, 2, held.apparatus_id)
            ids = [guest.member.id for guest in held.guests]
            second = start_orders.set_new(session, place, ids[:1], "typed").rotation_id
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, second)
        assert sheet.begins.left_by == ""
        assert sheet.begins.setup == sheet.piece.setup

    def test_where_nobody_knows_what_stands_there_every_axis_is_to_be_set(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            apparatus.record_at(session, piece, None, "moved")
        sheet = sheet_of(demo_club, held)
        first, second, _ = sheet.lines
        assert (first.moves, first.seconds) == (None, None)
        assert (
            "in all. The times are estimates. Without what comes before turn 1."
            in (crew_sheet_words.sums(sheet)[0])
        )
        assert "set every adjustment" in first.notes[0]
        assert second.moves

    def test_a_paper_that_says_a_note_in_words_of_before_still_says_what_counts(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Nobody is sent to print anew what is the same in other words."""
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            apparatus.record_at(session, piece, None, "moved")
            withdrawal.withdraw(session, held.guests[1].entry_id)
        sheet = sheet_of(demo_club, held)
        first, second, third = sheet.lines
        unknown, *others = first.notes
        assert second.notes == ("Scratched: does not come",)
        before = replace(
            sheet,
            lines=(
                replace(first, notes=(unknown.replace("adjustment", "axis"), *others)),
                replace(second, notes=("Withdrawn: does not come",)),
                third,
            ),
        )
        assert before != sheet
        now = crew_sheet_words.printed_version(sheet)
        assert crew_sheet_words.printed_version(before) == now

    @pytest.mark.parametrize(
        ("step", "said_then"),
        [
            ("asked", "{0}: asked for by the coach, 5 December 2026, not settled yet"),
            ("refused", "{0}: refused by the coach, 5 December 2026"),
            ("granted", "{0}: granted by the coach, 5 December 2026. These marks are without it"),
        ],
    )
    def test_so_does_one_that_has_a_request_in_words_of_before(
        self, demo_club: DemoClub, held: SmallMeet, step: str, said_then: str
    ) -> None:
        guest, bars = held.guests[2], held.apparatus_id
        with demo_club.work(writes=True) as session:
            for told in dict.fromkeys(("asked", step)):
                entries.tell_raise(session, guest.entry_id, bars, told, 50, "the coach", DAY)
        sheet = sheet_of(demo_club, held)
        *others, last = sheet.lines
        then = (said_then.format("Rails raised by 5.0 cm"),)
        assert last.notes != then
        before = replace(sheet, lines=(*others, replace(last, notes=then)))
        now = crew_sheet_words.printed_version(sheet)
        assert crew_sheet_words.printed_version(before) == now


class TestOnceItWasBegun:
    def test_it_has_the_turns_that_are_left_in_their_order_at_the_apparatus(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Whoever sets by the order of before starts from another mark."""
        first, second, third = (guest.member.id for guest in held.guests)
        going = begun(demo_club, held)
        whole = sheet_of(demo_club, held)
        had_a_turn(demo_club, going)
        press(demo_club, going, lambda now: next_up(now.run, third))
        sheet = sheet_of(demo_club, held)
        assert [line.athlete_id for line in whole.lines] == [first, second, third]
        assert [(line.place, line.athlete_id) for line in sheet.lines] == [(2, third), (3, second)]
        assert sheet.begins.setup == whole.lines[0].setup
        assert sheet.lines[0].moves == moves_from(sheet, whole.lines[0], sheet.lines[0])
        assert sheet.lines[1].moves == moves_from(sheet, sheet.lines[0], sheet.lines[1])
        assert "1 turn is over and left out" in words(crew_sheet_words.facts(sheet))
        book = openpyxl.load_workbook(BytesIO(xlsx_bytes(crew_sheet_words.pages([sheet]))))
        column = [row[0] for row in book.worksheets[0].iter_rows(values_only=True)]
        assert [place for place in column if isinstance(place, int)] == [2, 3]

    def test_a_repeat_who_is_not_here_and_who_is_on_are_said(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        first, second, third = (guest.member.id for guest in held.guests)
        going = begun(demo_club, held)
        up(demo_club, going)
        press(demo_club, going, lambda _: NotHere(second))
        press(demo_club, going, lambda _: Repeated())
        sheet = sheet_of(demo_club, held)
        assert [line.athlete_id for line in sheet.lines] == [first, third, second]
        on, _, away = sheet.lines
        assert (on.moves, on.notes) == ((), ("On now",))
        assert (away.is_in, away.moves) == (False, None)
        assert away.notes == ("Not here: comes after all others, once here",)

    def test_in_the_middle_of_a_change_over_it_says_what_that_one_began_with(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        before = sheet_of(demo_club, held)
        going = begun(demo_club, held)
        with demo_club.work() as session:
            now = run.loaded(session, going).run
        moving = next(place for place, step in enumerate(now.change.steps) if step.move)
        for place in range(moving + 1):
            press(demo_club, going, lambda _, place=place: StepDone(place))
        sheet = sheet_of(demo_club, held)
        assert sheet.begins.setup is None
        assert "read the present marks" in words(crew_sheet_words.facts(sheet))
        assert sheet.lines[0].moves == before.lines[0].moves
        assert "compare each mark before you move it" in sheet.lines[0].notes[0]

    def test_who_joined_at_the_apparatus_is_on_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        going = begun(demo_club, held)
        with demo_club.work(writes=True) as session:
            now = run.loaded(session, going)
            own = next(
                one.id
                for one in athletes.find(session)
                if settings.on_piece(session, [one.id], now.piece)
            )
            run.join(session, now, now.number, [own])
        last = sheet_of(demo_club, held).lines[-1]
        assert (last.athlete_id, last.club) == (own, "")
        assert last.marks
        assert last.moves is not None

    def test_stopped_or_out_of_use_the_paper_says_to_set_nothing_by_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """It is printed to go on without a phone: it must not go on where the phones stop."""
        going = begun(demo_club, held)
        with demo_club.work(writes=True) as session:
            run.hold_up(session, run.loaded(session, going), "The cable frays")
        sheet = sheet_of(demo_club, held)
        pdf = crew_sheets_pdf([crew_sheet_words.paper(sheet)], "", DAY, ENGLISH)
        assert "before a coach has looked" in words(page_texts(pdf))
        with demo_club.work(writes=True) as session:
            findings.add_finding(
                session, held.apparatus_id, "cable frayed", withdraws=True, press_key="a"
            )
        assert "before a coach has released it" in words(
            crew_sheet_words.facts(sheet_of(demo_club, held))
        )

    def test_over_or_ended_nothing_is_set_by_it(self, demo_club: DemoClub, held: SmallMeet) -> None:
        going = begun(demo_club, held)
        had_a_turn(demo_club, going)
        with demo_club.work(writes=True) as session:
            run.end(session, going)
        sheet = sheet_of(demo_club, held)
        assert len(sheet.lines) == 2
        assert all(line.moves is None for line in sheet.lines)
        assert "set nothing by this sheet" in words(crew_sheet_words.facts(sheet))
        assert page_texts(crew_sheets_pdf([crew_sheet_words.paper(sheet)], "", DAY, ENGLISH))

    def test_the_next_rotation_begins_where_the_order_at_the_apparatus_leaves_it(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        ids = [guest.member.id for guest in held.guests]
        with demo_club.work(writes=True) as session:
            place = start_orders.Place(held.session_id, 2, held.apparatus_id)
            after = start_orders.set_new(session, place, ids[:1], "typed").rotation_id
        going = begun(demo_club, held)
        had_a_turn(demo_club, going)
        press(demo_club, going, lambda now: next_up(now.run, ids[2]))
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, after)
        last = sheet_of(demo_club, held).lines[-1]
        assert last.athlete_id == ids[1]
        assert sheet.begins.setup == last.setup


class TestTheWarmUp:
    def put(self, club: DemoClub, held: SmallMeet) -> None:
        with club.work(writes=True) as session:
            meets.put_apparatus(session, held.meet_id, held.apparatus_id, BOOK)

    def test_without_a_rule_book_nothing_is_said(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        assert sheet_of(demo_club, held).warm_up is None

    def test_in_a_mixed_group_each_place_stands_alone(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        self.put(demo_club, held)
        sheet = sheet_of(demo_club, held, 1)
        assert sheet.warm_up is not None
        assert not sheet.is_team
        assert [one.place for one in sheet.warm_up.too_short] == [
            line.place for line in sheet.lines if line.seconds > 50
        ]
        assert sheet.short_at(2).startswith("The change-over takes ")

    def test_a_team_shares_its_time(self, demo_club: DemoClub, held: SmallMeet) -> None:
        self.put(demo_club, held)
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[2].entry_id)
        sheet = sheet_of(demo_club, held)
        assert sheet.is_team
        assert sheet.warm_up is not None
        assert sheet.warm_up.has_s == 100
        assert "Together 1:40 min" in words(crew_sheet_words.sums(sheet))


class TestOnPaperAndAsASpreadsheet:
    def test_paper_has_every_name_mark_and_box(self, demo_club: DemoClub, held: SmallMeet) -> None:
        sheet = sheet_of(demo_club, held)
        pdf = crew_sheets_pdf([crew_sheet_words.paper(sheet)], "Crew sheets", DAY, ENGLISH)
        text = words(page_texts(pdf))
        for line in sheet.lines:
            assert line.name in text
            assert all(mark.mark in text and mark.length in text for mark in line.marks)
        assert "Set Check" in text
        assert order_paper.CAUTIONS in text

    def test_forty_turns_run_over_pages_that_repeat_their_head(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        paper = crew_sheet_words.paper(sheet_of(demo_club, held))
        long = crew_sheets_pdf(
            [type(paper)(paper.title, paper.above, paper.axes, paper.rows * 14, (), "")],
            "",
            DAY,
            ENGLISH,
        )
        texts = page_texts(long)
        assert len(texts) > 1
        assert all("Move before the turn" in text for text in texts)

    def test_read_aloud_it_is_a_table_on_every_page(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Whose marks they are, and of which axis, is told by row and column."""
        sheet = sheet_of(demo_club, held)
        paper = crew_sheet_words.paper(sheet)
        pdf = crew_sheets_pdf([replace(paper, rows=paper.rows * 8)], "", DAY, ENGLISH)
        heads = ["Athlete", *paper.axes, "Move before the turn", "Seconds", "Set", "Check"]
        rows = []
        for page_number in range(len(page_texts(pdf))):
            [(head, *some)] = tables(pdf, page_number)
            assert [(cell.kind, cell.words) for cell in head] == [("TH", said) for said in heads]
            rows += some
        assert len(rows) == 8 * len(sheet.lines)
        for row, line in zip(rows, 8 * sheet.lines, strict=True):
            kinds = [cell.kind for cell in row[: len(heads)]]
            assert kinds == ["TH", *["TD"] * (len(heads) - 1)]
            assert line.name in row[0].words
            for cell, mark in zip(row[1:], line.marks, strict=False):
                assert cell.words.split()[0] == mark.mark

    def test_a_name_without_letters_is_left_to_be_written_in(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A row of boxes is nobody's name; a line can be written on."""
        paper = crew_sheet_words.paper(sheet_of(demo_club, held))
        nameless = replace(paper, rows=(replace(paper.rows[0], name="李 明"), *paper.rows[1:]))
        text = words(page_texts(crew_sheets_pdf([nameless], "", DAY, ENGLISH)))
        assert "□" not in text
        assert "Name:" in text
        assert "No. 11" in text
        assert "write it in before the first turn" in text

    def test_every_page_says_which_it_is_of_how_many_and_of_which_version(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        paper = crew_sheet_words.paper(sheet_of(demo_club, held))
        texts = page_texts(crew_sheets_pdf([replace(paper, rows=paper.rows * 8)], "", DAY, ENGLISH))
        for number, text in enumerate(texts, start=1):
            assert f"page {number} of {len(texts)}" in words([text])
            assert f"version {crew_sheet_words.version(sheet_of(demo_club, held))}" in text
        assert "Checked by" in texts[-1]

    def test_the_version_is_another_once_a_mark_or_the_order_is(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Two papers of one version say the same, whenever they were printed."""
        before = crew_sheet_words.version(sheet_of(demo_club, held))
        assert crew_sheet_words.version(sheet_of(demo_club, held)) == before
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[1].entry_id)
        assert crew_sheet_words.version(sheet_of(demo_club, held)) != before

    def test_letters_are_large_enough_and_nothing_is_torn_in_brackets(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Read at arm's length: 9 points at least, marks in 20."""
        sheet = sheet_of(demo_club, held)
        paper = crew_sheet_words.paper(sheet)
        sizes = letter_sizes_pt(crew_sheets_pdf([paper], "", DAY, ENGLISH))
        assert min(sizes) >= 9
        assert max(sizes) >= 20
        text = page_texts(crew_sheets_pdf([paper], "", DAY, ENGLISH))[0]
        for line in text.splitlines():
            assert line.count("(") == line.count(")")

    def test_the_first_page_says_what_comes_before_every_turn_and_whence_lengths_are(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """It is the one that is held at the apparatus."""
        paper = crew_sheet_words.paper(sheet_of(demo_club, held))
        first, *_ = page_texts(
            crew_sheets_pdf([replace(paper, rows=paper.rows * 12)], "", DAY, ENGLISH)
        )
        said = words([first])
        assert order_paper.CAUTIONS in said
        assert "low rail height and high rail height, upper edge of the rail, above the" in said
        assert "shortest distance between the rails' inner faces" in said
        assert "seen from the front end" in said

    def test_a_mark_is_never_cut(self, demo_club: DemoClub, held: SmallMeet) -> None:
        """Half of "oben" is half of "offen", too."""
        paper = crew_sheet_words.paper(sheet_of(demo_club, held))
        marks = (("Position 12 oben", "185.0 cm"), ("Position 13 offen", "245.0 cm"))
        row = replace(paper.rows[0], marks=(*marks, ("Querstange links", "158.0 cm")))
        pdf = crew_sheets_pdf([replace(paper, rows=(row, *paper.rows[1:]))], "", DAY, ENGLISH)
        said = words(page_texts(pdf))
        assert "…" not in said
        for whole in ("oben", "offen", "links"):
            assert whole in said

    def test_what_has_no_letter_is_a_box_and_is_said(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            entries.change_entry(session, held.guests[0].entry_id, "体操クラブ", "11", "")
        pdf = crew_sheets_pdf([crew_sheet_words.paper(sheet_of(demo_club, held))], "", DAY, ENGLISH)
        assert "no letter for" in words(page_texts(pdf))

    def test_the_workbook_says_the_same_and_text_stays_text(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            entries.change_entry(session, held.guests[0].entry_id, "=1+1", "11", "")
        sheet = sheet_of(demo_club, held)
        book = openpyxl.load_workbook(BytesIO(xlsx_bytes(crew_sheet_words.pages([sheet, sheet]))))
        assert len(set(book.sheetnames)) == 2
        page = book.worksheets[0]
        rows = list(page.iter_rows(values_only=True))
        assert rows[0][0] == sheet.title
        told = " ".join(str(row[0]) for row in rows)
        assert all(line in told for line in crew_sheet_words.facts(sheet))
        assert order_paper.CAUTIONS in told
        first = next(number for number, row in enumerate(rows) if row[0] == 1)
        assert rows[first][:4] == (1, "11", "Almira O.", "=1+1")
        assert page.cell(first + 1, 4).data_type == "s"

    def test_the_workbook_prints_a4_across_in_letters_that_can_be_read(
        self, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Fitted to one page's width, A4 across takes some 175 characters at 9 points."""
        sheet = sheet_of(demo_club, held)
        book = openpyxl.load_workbook(BytesIO(xlsx_bytes(crew_sheet_words.pages([sheet]))))
        page = book.worksheets[0]
        head = next(row for row in range(1, 20) if page.cell(row, 1).value == "Turn")
        assert page.print_title_rows == f"${head}:${head}"
        assert (page.page_setup.paperSize, page.page_setup.orientation) == (9, "landscape")
        assert page.sheet_properties.pageSetUpPr.fitToPage
        assert sum(column.width for column in page.column_dimensions.values()) <= 175
        assert all(cell.alignment.wrap_text for cell in page[head + 1] if cell.value)
