"""A card's page is kept while nothing was written that it shows, and not a moment longer."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import Engine, event
from sqlalchemy.orm import Session

from settingsdesk.desk.accounts import accounts
from settingsdesk.desk.cards import in_hand, issued, remarks
from settingsdesk.desk.checks import findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, calibrations, mats_of_day, models
from settingsdesk.desk.hall.calibrations import Taped
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day.cards import Choice
from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import Press
from settingsdesk.desk.squad import athletes, crew_notes, settings
from settingsdesk.desk.stations import confirming, stations
from settingsdesk.domain.checks.findings import Step
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.clubs import club_by_id
from settingsdesk.store.revisions import OF_NOTHING, OF_RUNS
from settingsdesk.store.work import Store
from tests.conftest import DemoClub
from tests.desk.sample_meet import BARS, BY, CODE_KEY, DAY, SmallMeet
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader

Change = Callable[[Session, "Held"], object]


@dataclass(frozen=True)
class Held:
    """A guest's card at a small meet, and the phone of whoever scans it."""

    club: DemoClub
    meet: SmallMeet
    code: str
    scanner: Reader

    @property
    def athlete_id(self) -> int:
        return self.meet.guests[0].member.id

    def seen(self) -> Page:
        return self.scanner.get(f"/C/{self.code}")

    def told(self) -> str:
        """The page as it was answered, less the time at which it was looked up."""
        return re.sub(r"Looked up on [^.]*", "", self.seen().response.text)

    def write(self, change: Change) -> None:
        with self.club.work(writes=True) as session:
            change(session, self)


@pytest.fixture
def card(demo_club: DemoClub, held: SmallMeet, scanner: Reader) -> Held:
    with demo_club.work(writes=True) as session:
        made = desk_cards.issue(session, CODE_KEY, held.meet_id, Choice())
    [code] = [
        one.url.rpartition("/")[2] for one in made.groups[0][1] if one.name.startswith("Almira")
    ]
    return Held(demo_club, held, code, scanner)


@contextmanager
def statements() -> Iterator[list[str]]:
    """What the database is asked in the block, less the beginnings of transactions."""
    asked: list[str] = []

    def note(_connection: Any, _cursor: Any, words: str, *_: Any) -> None:
        if not words.startswith("BEGIN"):
            asked.append(words)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)


def give_another_setting(session: Session, card: Held) -> None:
    piece = apparatus.piece(session, card.meet.apparatus_id)
    lengths_mm = (1700, 2400, 1650)
    axes = zip(piece.model.kind.axes, lengths_mm, strict=True)
    setting = Setting(piece.model.kind, {axis.key: Wanted(mm, 10) for axis, mm in axes})
    settings.keep_setting(session, card.athlete_id, piece.model_id, setting)


def rename_the_athlete(session: Session, card: Held) -> None:
    person = athletes.member(session, card.athlete_id).person
    athletes.change(session, card.athlete_id, replace(person, printed_name="Mirabel O."))


def calibrate(session: Session, card: Held) -> None:
    low_rail = (card.meet.apparatus_id, "low_rail")
    model = apparatus.piece(session, card.meet.apparatus_id).model
    scale = model.axis("low_rail").scale
    taped = [
        Taped(scale.label(stop), model.measures_mm((stop, 4, 4))["low_rail"] + 4)
        for stop in (0, 2, 4, 6)
    ]
    fitted = apparatus.try_on_piece(apparatus.piece(session, low_rail[0]), low_rail[1], taped)
    calibrations.keep_calibration(session, *low_rail, fitted, today())


def put_mats_under_it(session: Session, card: Held) -> None:
    piece = apparatus.piece(session, card.meet.apparatus_id)
    apparatus.change_piece(session, piece.id, piece.name, piece.place, piece.mat_mm + 40)


def rename_the_apparatus(session: Session, card: Held) -> None:
    piece = apparatus.piece(session, card.meet.apparatus_id)
    apparatus.change_piece(session, piece.id, "Bars at the stage", piece.place, piece.mat_mm)


def change_the_model(session: Session, card: Held) -> None:
    version = models.model(session, apparatus.piece(session, card.meet.apparatus_id).model_id)
    renamed = replace(version.model, name="Frame of another name")
    models.change_model(session, version.id, renamed, "misread", version.version)


def withdraw_the_apparatus(session: Session, card: Held) -> None:
    piece_id = card.meet.apparatus_id
    findings.add_finding(session, piece_id, "Rail cracked", withdraws=True, press_key="one")


def remark_and_answer(session: Session, card: Held) -> None:
    [told] = remarks.unanswered(session)
    remarks.answer(session, told.id, "Measured again, it was right")


def ask_to_raise(session: Session, card: Held) -> None:
    about = (card.meet.guests[0].entry_id, card.meet.apparatus_id)
    entries.tell_raise(session, *about, "asked", 50, "her coach", date(2026, 12, 1))


def put_more_bars_at_the_meet(session: Session, card: Held) -> None:
    [door] = [one for one in apparatus.all_pieces(session) if one.name == "Bars by the door"]
    meets.put_apparatus(session, card.meet.meet_id, door.id)


def read_inches(session: Session, card: Held) -> None:
    club_by_id(session, card.club.account.club_id).length_unit = "in"


def print_a_newer_card(session: Session, card: Held) -> None:
    give_another_setting(session, card)
    desk_cards.issue(session, CODE_KEY, card.meet.meet_id, Choice())


def put_a_mat_more_for_today(session: Session, card: Held) -> None:
    mats_of_day.lie_on(session, card.meet.apparatus_id, today(), 100)


def write_a_note_for_the_crew(session: Session, card: Held) -> None:
    model_id = apparatus.piece(session, card.meet.apparatus_id).model_id
    crew_notes.write(session, card.athlete_id, model_id, "Board on the left")


CHANGES: dict[Change, str] = {
    give_another_setting: "240.0",
    rename_the_athlete: "Mirabel O.",
    calibrate: "",  # it was calibrated before
    put_a_mat_more_for_today: "10.0\u00a0cm more mat than usual",
    write_a_note_for_the_crew: "Board on the left",
    put_mats_under_it: "",  # only the drawing shows them
    rename_the_apparatus: "Bars at the stage",
    change_the_model: "Frame of another name",
    withdraw_the_apparatus: "is out of use",
    ask_to_raise: "to raise the rails by",
    put_more_bars_at_the_meet: "Bars by the door",
    read_inches: "\u00a0in, wanted",
    print_a_newer_card: "replaced by version 2",
}


class TestTheNextAnswer:
    @pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
    def test_shows_whatever_was_changed(self, card: Held, change: Change) -> None:
        """Somebody sets the bars by it: a page that is old by one answer could hurt them."""
        before = card.told()
        assert card.told() == before

        card.write(change)

        after = card.told()
        assert after != before
        assert CHANGES[change] in after
        assert not CHANGES[change] or CHANGES[change] not in before

    def test_shows_a_remark_and_then_its_answer(self, card: Held) -> None:
        card.told()
        remarks.receive(card.club.store, card.code, "The low rail felt high")
        assert "The low rail felt high" in card.told()

        card.write(remark_and_answer)

        assert "Measured again, it was right" in card.told()

    def test_shows_that_the_apparatus_is_in_use_again(self, card: Held) -> None:
        before = card.told()
        card.write(withdraw_the_apparatus)
        assert card.told() != before
        with card.club.work(writes=True) as session:
            [found] = [one for one in findings.unreleased(session) if one.words == "Rail cracked"]
            findings.take_step(session, found.id, Step.RELEASED, "rail changed, tried")

        assert card.told() == before

    def test_is_none_once_the_card_was_revoked(self, card: Held) -> None:
        assert card.seen().status == 200
        with card.club.work(writes=True) as session:
            [row] = issued.of_athlete(session, card.athlete_id)
            issued.revoke(session, row.id)

        assert card.seen().status == 404

    def test_is_none_once_the_athlete_has_left(self, card: Held) -> None:
        assert card.seen().status == 200
        card.write(lambda session, _: athletes.leave(session, card.athlete_id, today()))

        assert card.seen().status == 404

    def test_is_none_once_its_time_is_over(
        self, card: Held, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Nothing is written at that midnight: the clock alone ends a meet's card."""
        assert card.seen().status == 200
        monkeypatch.setattr(in_hand, "today", lambda: today() + timedelta(days=3650))

        assert card.seen().status == 404

    def test_shows_what_another_process_wrote(self, card: Held) -> None:
        """A desk behind several workers, and the command line beside them."""
        before = card.told()
        store = Store(card.club.data.where)
        with store.work(card.club.account.club_id, by=BY, writes=True) as session:
            give_another_setting(session, card)
        store.close()

        assert card.told() != before

    def test_in_another_process_shows_what_this_one_wrote(
        self, card: Held, demo_app: Flask
    ) -> None:
        card.told()
        card.write(give_another_setting)

        assert "240.0" in Reader(demo_app).get(f"/C/{card.code}").text

    def test_is_of_the_apparatus_that_was_asked_for(self, card: Held) -> None:
        card.write(put_more_bars_at_the_meet)
        door = card.seen().follow("Bars by the door")

        assert "Marks on Bars by the door" in door.text
        assert f"Marks on {BARS}" in card.seen().text
        assert door.reader.get(door.address).text == door.text

    def test_shows_that_the_work_is_stopped_until_it_goes_on(self, card: Held) -> None:
        """A frayed cable was seen at the apparatus: the card is no reason to set by it."""
        with card.club.work(writes=True) as session:
            run_id = desk_run.begin(session, card.meet.rotation_id, card.meet.apparatus_id)
        before = card.told()
        for goes_on in (desk_run.after_a_look, desk_run.end):
            with card.club.work(writes=True) as session:
                now = desk_run.loaded(session, run_id)
                desk_run.hold_up(session, now, "The cable at the front end frays")
            stopped = card.seen().text
            assert "The work at Bars by the window is stopped" in stopped
            assert "This card counts: version" not in stopped
            with card.club.work(writes=True) as session:
                goes_on(session, run_id)
            assert card.told() == before
        with card.club.work(writes=True) as session:
            desk_run.take_up(session, run_id)
        assert "is stopped" in card.seen().text


class TestWhatItReads:
    def test_is_nothing_whose_writing_it_would_not_hear_of(self, card: Held) -> None:
        """What stands on an apparatus is read with it, and no card shows it.

        Of runs it reads whether the work is stopped, which is told like a record.
        """
        with statements() as asked:
            card.seen()
        read = {table for words in asked for table in re.findall(r"(?:FROM|JOIN) (\w+)", words)}

        assert {"card", "setting", "calibration", "finding", "meet", "card_remark"} <= read
        assert read & (OF_RUNS | OF_NOTHING) <= {"apparatus_setup", "run_event", "run"}

    def test_shows_not_what_stands_there(self, card: Held) -> None:
        before = card.told()
        with card.club.work(writes=True) as session:
            apparatus.record_setup(session, card.meet.apparatus_id, (1, 2, 3), "read off")
            give_another_setting(session, card)  # so that it is read anew
        after = card.told()
        with card.club.work(writes=True) as session:
            apparatus.record_setup(session, card.meet.apparatus_id, (2, 3, 4), "read off")
            put_mats_under_it(session, card)  # and so that it is read anew once more
            session.flush()
            piece = apparatus.piece(session, card.meet.apparatus_id)
            apparatus.change_piece(session, piece.id, piece.name, piece.place, piece.mat_mm - 40)

        assert after != before
        assert card.told() == after


class TestWhatIsKept:
    def test_a_page_that_was_asked_for_before_takes_one_statement(self, card: Held) -> None:
        card.seen()
        with statements() as asked:
            card.seen()

        assert len(asked) == 1

    def test_the_time_at_which_it_was_looked_up_is_that_of_each_answer(self, card: Held) -> None:
        """The holder compares it with the clock of the hall."""
        first, again = card.seen(), card.seen()

        for page in (first, again):
            assert re.search(r"Looked up on \d+ \w+ \d{4}, \d\d:\d\d\.", page.text)
            assert "looked up -->" not in page.response.text

    def test_what_a_remark_says_cannot_stand_for_the_time(self, card: Held) -> None:
        remarks.receive(card.club.store, card.code, "<!-- looked up -->")

        assert "&lt;!-- looked up --&gt;" in card.seen().response.text

    def test_a_coach_sees_the_coachs_frame_and_a_stranger_does_not(
        self, card: Held, demo_app: Flask
    ) -> None:
        """What is kept is the page of somebody of whom nothing is known."""
        coach = signed_in(demo_app, card.club.account)
        for _ in range(2):
            assert "your account" in coach.get(f"/C/{card.code}").response.text
            assert "your account" not in card.seen().response.text

    def test_a_confirmation_at_a_station_leaves_it_alone(self, card: Held) -> None:
        """A step is confirmed every few seconds; the cards of a whole meet are not read anew."""
        with card.club.work(writes=True) as session:
            where = (card.meet.session_id, card.meet.apparatus_id)
            one = stations.open_station(session, CODE_KEY, *where)
            code = stations.codes(session, CODE_KEY, one.id).short_code
        card.seen()
        ivo = stations.let_in(card.club.store, CODE_KEY, code, "Ivo")
        with card.club.work(writes=True) as session:
            stands = apparatus.piece(session, card.meet.apparatus_id).setup
            begun = confirming.begin(session, ivo, card.meet.rotation_id, stands, of_day=str(DAY))
            press = Press("steps", 0, 1)
            confirming.confirm(session, ivo, begun.under_way[0].id, press)
        with card.club.work(writes=True) as session:
            stations.put_out(session, ivo.phone_id)
        with statements() as asked:
            card.seen()

        assert len(asked) == 1

    def test_signing_in_and_out_leaves_it_alone(self, card: Held) -> None:
        card.seen()
        account = card.club.account
        known = accounts.sign_in(card.club.store, account.sign_in_name, account.password)
        assert known
        with statements() as asked:
            card.seen()

        assert len(asked) == 1
