"""Notes for the crew: written once for a model, shown wherever it is set, gone with the athlete."""

import csv
from io import StringIO

import pytest

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets, printed_papers
from settingsdesk.desk.meets import erasing, kept_about, same_person
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, crew_notes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.crew_note import LONGEST, NoteTooLong
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.squad_writing import squad_csv
from settingsdesk.store import crew_notes as kept_notes
from tests.conftest import DemoClub
from tests.desk.cards.scanning import scanned
from tests.desk.cards.test_issued import CODE_KEY, code_of, issue
from tests.desk.sample_meet import hold

JAGNA, FRAME_A = 1, 1
BOARD = "Board on the left; block stays"


def write(club: DemoClub, words: str = BOARD, athlete: int = JAGNA, model: int = FRAME_A) -> None:
    with club.work(writes=True) as session:
        crew_notes.write(session, athlete, model, words)


def noted(club: DemoClub, athlete: int = JAGNA, model: int = FRAME_A) -> str:
    with club.work() as session:
        return crew_notes.note(session, athlete, model)


class TestWriting:
    def test_one_is_kept_on_one_line_changed_and_taken_away(self, demo_club: DemoClub) -> None:
        write(demo_club, " Board on\n the left ")
        assert noted(demo_club) == "Board on the left"
        write(demo_club, BOARD)
        assert noted(demo_club) == BOARD
        write(demo_club, "")
        assert noted(demo_club) == ""

    def test_nothing_of_one_that_was_changed_stays(self, demo_club: DemoClub) -> None:
        """What should never have been written is not kept as a version."""
        write(demo_club, "Something private")
        write(demo_club, BOARD)
        with demo_club.work() as session:
            rows = kept_notes.of_athletes(session, [JAGNA])
        assert [row.words for row in rows] == [BOARD]

    def test_a_long_one_or_one_that_no_card_has_letters_for_is_refused(
        self, demo_club: DemoClub
    ) -> None:
        write(demo_club, "x" * LONGEST)
        with pytest.raises(NoteTooLong, match="120 characters or fewer; this one has 121"):
            write(demo_club, "x" * (LONGEST + 1))
        with pytest.raises(CharacterNotInFont, match="cannot be printed"):
            write(demo_club, "Board left 🙂")

    def test_it_makes_no_version_of_the_setting(self, demo_club: DemoClub) -> None:
        write(demo_club)
        with demo_club.work() as session:
            kept = settings.latest(session, JAGNA, FRAME_A)
        assert kept is not None
        assert (kept.version, kept.crew_note) == (1, BOARD)


class TestWhereItIsShown:
    def test_on_an_apparatus_of_that_model_and_on_no_other(self, demo_club: DemoClub) -> None:
        """A board side by the window says nothing of a frame that stands the other way round."""
        write(demo_club)
        with demo_club.work() as session:
            carried = settings.on_every_piece(session, settings.current(session, JAGNA))
        told = {one.piece.name: one.crew_note for one in carried}
        assert told["Bars by the window"] == BOARD
        assert not any(note for name, note in told.items() if name != "Bars by the window")

    def test_at_the_bars(self, demo_club: DemoClub) -> None:
        write(demo_club)
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            run_id = desk_run.begin(session, 1, view.piece.id)
        with demo_club.work() as session:
            assert desk_run.run(session, run_id).notes[JAGNA] == BOARD

    def test_on_cards_made_from_then_on_and_one_from_before_still_counts(
        self, demo_club: DemoClub
    ) -> None:
        """Its marks are the marks; the page behind its code says the note that counts now."""
        [before] = issue(demo_club)
        write(demo_club)
        [card] = issue(demo_club)
        assert (before.crew_note, card.crew_note) == ("", f"For the crew: {BOARD}")
        assert card.version == before.version + 1
        seen = scanned(demo_club, code_of(before))
        assert seen.current
        assert seen.now.crew_note == BOARD
        write(demo_club, "")
        with demo_club.work() as session:
            [again] = desk_issued.printed(session, CODE_KEY, 1, [JAGNA])
        assert again.crew_note == card.crew_note

    def test_on_the_crew_sheet_which_is_out_of_date_with_another_one(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        guest = held.guests[0].member.id
        write(demo_club, athlete=guest)
        with demo_club.work(writes=True) as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
            printed_papers.note_printed(session, [sheet])
            assert printed_papers.still_holds(session, sheet)
        [row] = [row for row in crew_sheet_words.paper(sheet).rows if row.notes]
        assert row.notes == (f"For the crew: {BOARD}",)
        write(demo_club, "Board on the right", athlete=guest)
        with demo_club.work() as session:
            now = crew_sheets.crew_sheet(session, held.rotation_id)
            assert not printed_papers.still_holds(session, now)


class TestLists:
    def test_it_goes_out_and_comes_back_in_a_column_and_a_blank_keeps_it(
        self, demo_club: DemoClub
    ) -> None:
        write(demo_club)
        with demo_club.work() as session:
            content = squad_csv(export_rows(session), squad_columns().axes)
        assert "Note for the crew" in content.decode().splitlines()[0]
        assert BOARD in content.decode()

        other = content.replace(BOARD.encode(), b"Board on the right")
        assert self.take(demo_club, other) == 1
        assert noted(demo_club) == "Board on the right"
        assert self.take(demo_club, other.replace(b"Board on the right", b"")) == 0
        assert noted(demo_club) == "Board on the right"

    @pytest.mark.parametrize(
        ("words", "why"), [("x" * 121, "has at most 120 characters"), ("🙂", "cannot be printed")]
    )
    def test_one_that_cannot_be_kept_is_asked_about_at_its_cell(
        self, demo_club: DemoClub, words: str, why: str
    ) -> None:
        write(demo_club)
        with demo_club.work() as session:
            content = squad_csv(export_rows(session), squad_columns().axes)
            sent = content.replace(BOARD.encode(), words.encode())
            seen = coach_lists.look(session, Squad(session), sent, "squad.csv")
        assert [why in query.why for query in seen.preview.queries] == [True]
        assert not seen.ready

    def test_a_sheet_from_before_changes_no_note(self, demo_club: DemoClub) -> None:
        write(demo_club)
        with demo_club.work() as session:
            content = squad_csv(export_rows(session), squad_columns().axes).decode("utf-8-sig")
        before = StringIO()
        csv.writer(before).writerows(row[:-1] for row in csv.reader(StringIO(content)))
        assert self.take(demo_club, before.getvalue().encode()) == 0
        assert noted(demo_club) == BOARD

    def test_it_comes_with_a_sheet_that_a_club_has_changed_the_columns_of(
        self, demo_club: DemoClub
    ) -> None:
        write(demo_club)
        with demo_club.work() as session:
            content = squad_csv(export_rows(session), squad_columns().axes).decode("utf-8-sig")
        rows = list(csv.reader(StringIO(content)))
        theirs = StringIO()
        csv.writer(theirs).writerows(
            [*row[:-1], "Kit bag" if at == 0 else "", row[-1].replace("left", "right")]
            for at, row in enumerate(rows)
            if at == 0 or BOARD in row
        )
        self.take(demo_club, theirs.getvalue().encode())
        assert noted(demo_club) == BOARD.replace("left", "right")

    def take(self, club: DemoClub, content: bytes) -> int:
        """How many rows changed something."""
        with club.work(writes=True) as session:
            taker = Squad(session)
            seen = coach_lists.look(session, taker, content, "squad.csv")
            if seen.ready:
                coach_lists.take(session, taker, seen)
            return len(seen.changing_rows)


class TestTheFamily:
    def test_reads_it_and_it_goes_with_the_athlete(self, demo_club: DemoClub) -> None:
        write(demo_club)
        with demo_club.work() as session:
            parts = kept_about.kept_about(session, JAGNA).parts(Unit.CENTIMETRE)
        [part] = [part for part in parts if part.heading == "Notes for the crew at the apparatus"]
        assert ("words", BOARD) in part.lines[0]
        with demo_club.work(writes=True) as session:
            erasing.erase(session, JAGNA)
        with demo_club.work() as session:
            assert kept_notes.of_athletes(session, [JAGNA]) == []

    def test_a_name_in_anothers_note_goes_too(self, demo_club: DemoClub) -> None:
        """Nobody is to write one there, and somebody will."""
        write(demo_club, "After Jagna Bąkiewicz, board left", athlete=2)
        with demo_club.work(writes=True) as session:
            erasing.erase(session, JAGNA)
        assert "Jagna" not in noted(demo_club, athlete=2)


class TestTwoEntriesOfOne:
    def test_what_only_one_has_stays_and_two_are_asked_about(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            other = athletes.add(session, Person("Bakiewicz", "Jagna")).id
            kept = settings.latest(session, JAGNA, FRAME_A)
            assert kept is not None
            settings.keep_setting(session, other, FRAME_A, kept.setting)
        write(demo_club, athlete=other)
        with demo_club.work() as session:
            both = same_person.compare(session, JAGNA, other)
        assert [(line.stays, line.taken, line.key) for line in self.notes(both)] == [
            ("", BOARD, "")
        ]
        write(demo_club, "Board on the right")
        with demo_club.work(writes=True) as session:
            both = same_person.compare(session, JAGNA, other)
            [line] = self.notes(both)
            takes = {question.key: question.key == line.key for question in both.questions}
            same_person.unite(session, both, takes, both.seen)
        assert noted(demo_club) == BOARD

    def notes(self, both):
        return [line for line in both.lines if line.about.startswith("Note for the crew")]
