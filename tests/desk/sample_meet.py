"""A small meet in the demo club's hall, for the tests of whatever a meet needs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy.orm import Session

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.checks import check_lists, checks
from settingsdesk.desk.checks.checks import Circumstances
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet, MeetFacts
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs import run
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.squad import settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.changeover.happenings import AllDone, Happening, Rechecked, TurnOver
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.checks.checks import Answer, Occasion, Reply
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.made_once import made_once

BY = "Runa"
DAY = date(2026, 12, 5)
CODE_KEY = CodeKey(b"a secret of the tests", "http://desk.example:8000")
BARS = "Bars by the window"
GUESTS = (
    ("Tarn Hollow GC", "Almira", "Osterkamp", (1700, 2450, 1650)),
    ("Tarn Hollow GC", "Sunniva", "Bellaquer", (1600, 2350, 1600)),
    ("Wexlow Turners", "Noor", "Halvardsen", (1700, 2500, 1750)),
)


@dataclass(frozen=True)
class SmallMeet:
    """The numbers of what was set up."""

    meet_id: int
    session_id: int
    apparatus_id: int
    rotation_id: int
    guests: tuple[Entrant, ...]


def hold(club: DemoClub) -> SmallMeet:
    """A meet with one session on the bars by the window, three guests, and their start order."""
    return made_once(club.store, "a small meet", lambda: _hold(club))


def another_meet(session: Session, held: SmallMeet) -> Meet:
    """A second meet on the same days, with nothing in it."""
    facts = meets.meet(session, held.meet_id).facts
    return meets.add_meet(session, replace(facts, name="Other Cup"))


def grant_raise(club: DemoClub, held: SmallMeet, *, marks_include: bool | None = False) -> None:
    """The first guest's rails may be raised by 5 cm; the marks are without it."""
    entry_id, bars = held.guests[0].entry_id, held.apparatus_id
    with club.work(writes=True) as session:
        entries.tell_raise(session, entry_id, bars, "asked", 50, "her coach", DAY)
        entries.tell_raise(
            session, entry_id, bars, "granted", 0, "the jury", DAY, marks_include=marks_include
        )


def put_beam(club: DemoClub, held: SmallMeet) -> int:
    """The demo club's beam at the meet, with a setting of the second guest's alone: its number."""
    with club.work(writes=True) as session:
        [beam] = apparatus.pieces_of_kind(session, "balance_beam")
        meets.put_apparatus(session, held.meet_id, beam.id)
        setting = Setting(beam.model.kind, {"beam": Wanted(1250, 10)})
        settings.keep_setting(session, held.guests[1].member.id, beam.model_id, setting)
    return beam.id


def _hold(club: DemoClub) -> SmallMeet:
    with club.work(writes=True) as session:
        piece = next(one for one in apparatus.all_pieces(session) if one.name == BARS)
        facts = MeetFacts("Lantern Cup", "Main hall", DAY, DAY, MeetFacts.usual_end_of_cards(DAY))
        meet = meets.add_meet(session, facts)
        part = meets.add_session(session, meet.id, "Juniors", DAY, "09:30")
        meets.put_apparatus(session, meet.id, piece.id)
        guests = []
        for number, (from_club, given, family, lengths_mm) in enumerate(GUESTS, start=11):
            guest = entries.enter_guest(
                session, meet.id, Person(family, given), from_club, str(number)
            )
            wanted = {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(piece.model.kind.axes, lengths_mm, strict=True)
            }
            setting = Setting(piece.model.kind, wanted)
            settings.keep_setting(session, guest.member.id, piece.model_id, setting)
            guests.append(guest)
        order = [guest.member.id for guest in guests]
        line = start_orders.set_new(
            session, start_orders.Place(part.id, 1, piece.id), order, "typed"
        )
    return SmallMeet(meet.id, part.id, piece.id, line.rotation_id, tuple(guests))


def set_anew(
    session: ClubSession, rotation_id: int, athlete_ids: Sequence[int], came_by: str = "typed"
) -> OrderLine:
    """Another start order for a rotation, by somebody who has seen the one it has."""
    seen = start_orders.start_order(session, rotation_id).line.seen
    return start_orders.change_order(session, rotation_id, athlete_ids, came_by, 2, seen)


def begun(club: DemoClub, held: SmallMeet) -> int:
    """The start order's run, begun: its number."""
    with club.work(writes=True) as session:
        return run.begin(session, held.rotation_id, held.apparatus_id)


def press(club: DemoClub, run_id: int, what: Callable[[RunNow], Happening]) -> RunNow:
    """One confirmation, by somebody who sees the run as it is."""
    with club.work(writes=True) as session:
        now = run.loaded(session, run_id)
        return run.go_on(session, now, now.number, what(now))


def up(club: DemoClub, run_id: int) -> RunNow:
    """Set for and check whoever is next, so that they are on."""
    with club.work() as session:
        now = run.loaded(session, run_id)
    if now.run.stage is Stage.SETTING:
        now = press(club, run_id, lambda _: AllDone())
    if now.run.stage is Stage.CHECKING:
        now = press(club, run_id, lambda _: Rechecked(alone=True))
    return now


def had_a_turn(club: DemoClub, run_id: int) -> RunNow:
    """One turn from the change-over to its end."""
    up(club, run_id)
    return press(club, run_id, lambda _: TurnOver())


def checked_before_use(club: DemoClub, apparatus_id: int) -> None:
    """The check before use of today, with everything in order."""
    with club.work(writes=True) as session:
        piece = apparatus.piece(session, apparatus_id)
        asked = check_lists.check_list(session, piece.model.kind.key, Occasion.BEFORE_USE)
        checks.make_check(
            session,
            apparatus_id,
            Occasion.BEFORE_USE,
            asked.version,
            {item.key: Reply(Answer.IN_ORDER) for item in asked.items},
            Circumstances(today(), piece.place, BY),
            f"check before use {apparatus_id}",
        )
