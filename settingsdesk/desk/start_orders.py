"""Start orders of a meet: typed, imported or drawn, and never re-arranged by the desk."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from random import SystemRandom

from sqlalchemy.orm import Session

from settingsdesk.desk import meets as desk_meets
from settingsdesk.desk import rotations as desk_rotations
from settingsdesk.desk.asked import Asked
from settingsdesk.desk.meets import Entrant, Meet, MeetSession
from settingsdesk.desk.ordered import RotationView
from settingsdesk.desk.rotations import ListedTwice, NobodyListed
from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now

MOST_ROTATIONS = 20

CAME_BY: Mapping[str, str] = {
    "typed": "typed in",
    "imported": "taken from a list",
    "drawn": "drawn by lot here",
}
"""How a start order came to be, in words."""


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One start order in a list: its place in the meet, and the entrants in their order.

    ``came_by`` is a key of ``CAME_BY``.
    """

    rotation_id: int
    session: MeetSession
    number: int
    apparatus_id: int
    apparatus: str
    came_by: str
    set_at: datetime
    set_by: str
    athlete_ids: tuple[int, ...]

    @property
    def in_words(self) -> str:
        """ "Session 1: Juniors, rotation 2"."""
        return f"{self.session.in_words}, rotation {self.number}"


@dataclass(frozen=True, slots=True)
class StartOrder:
    """One start order whole: its place in the meet, its rotation, and who is in it.

    ``entrants`` go by the athlete's number. ``without`` are those on the list who have no
    setting for the apparatus's kind: the run cannot begin before they have one.
    """

    line: OrderLine
    meet: Meet
    view: RotationView
    entrants: Mapping[int, Entrant]

    @property
    def without(self) -> tuple[Entrant, ...]:
        carried = self.view.carried[self.view.piece.id]
        return tuple(
            self.entrants[member.id] for member in self.view.listed if member.id not in carried
        )


def set_order(
    session: Session,
    by: str,
    session_id: int,
    number: int,
    apparatus_id: int,
    athlete_ids: Sequence[int],
    came_by: str,
    hands: int = 2,
) -> OrderLine:
    """The start order of one rotation of a session on one apparatus; it replaces an earlier one.

    Raises ``NobodyListed``, ``ListedTwice``, ``NotEntered``, ``NotOfThisMeet``,
    ``RotationUnderWay`` where a run of the earlier one was begun, or ``NotACrew``.
    """
    meet = desk_meets.meet_of_session(session, session_id)
    meet.piece(apparatus_id)
    if not 1 <= number <= MOST_ROTATIONS:
        raise NoSuchRotationNumber(number)
    _must_be_entered(session, meet, athlete_ids)
    asked = Asked(hands=hands, as_drawn=True)
    row = _row(session, session_id, number, apparatus_id)
    if row is None:
        row = _new(session, by, meet, session_id, number, apparatus_id, asked)
    elif kept_runs.of_rotation(session, row.rotation_id):
        raise RotationUnderWay(row.rotation.name)
    row.came_by, row.set_at, row.set_by = came_by, utc_now(), by
    row.rotation.asked = asked.to_data()
    kept.relist(session, row.rotation, athlete_ids)
    return _line(meet, row)


def draw(
    session: Session,
    by: str,
    session_id: int,
    number: int,
    apparatus_id: int,
    athlete_ids: Iterable[int],
    hands: int = 2,
) -> OrderLine:
    """Draw the start order by lot, every order being as likely as any other."""
    drawn = sorted(athlete_ids)
    SystemRandom().shuffle(drawn)
    return set_order(session, by, session_id, number, apparatus_id, drawn, "drawn", hands)


def take_away(session: Session, rotation_id: int) -> int:
    """Take a start order away, if no run of it was begun; the number of its session."""
    row = _of_rotation(session, rotation_id)
    if kept_runs.of_rotation(session, rotation_id):
        raise RotationUnderWay(row.rotation.name)
    session_id, rotation = row.session_id, row.rotation
    session.delete(row)
    session.flush()
    session.delete(rotation)
    session.flush()
    return session_id


def of_meet(session: Session, meet_id: int) -> list[OrderLine]:
    """Every start order of a meet, by session, number and apparatus."""
    meet = desk_meets.meet(session, meet_id)
    by_session = {one.id: one.number for one in meet.sessions}
    rows = kept.start_orders(session, by_session)
    return [
        _line(meet, row)
        for row in sorted(
            rows, key=lambda row: (by_session[row.session_id], row.number, row.apparatus_id)
        )
    ]


def at_station(session: Session, session_id: int, apparatus_id: int) -> list[OrderLine]:
    """The start orders of one session on one apparatus, in their order."""
    meet = desk_meets.meet_of_session(session, session_id)
    rows = kept.start_orders(session, [session_id])
    return [_line(meet, row) for row in rows if row.apparatus_id == apparatus_id]


def listed_at_station(
    session: Session, session_id: int, apparatus_id: int
) -> dict[int, tuple[int, ...]]:
    """Who is on each of those start orders, by the rotation's number, in their order.

    The same as ``at_station`` says, for whoever asks every second.
    """
    return {
        row.rotation_id: tuple(turn.athlete_id for turn in row.rotation.turns)
        for row in kept.start_orders(session, [session_id])
        if row.apparatus_id == apparatus_id
    }


def start_order(session: Session, rotation_id: int) -> StartOrder:
    """One start order whole; ``NotAStartOrder`` where the rotation is no meet's."""
    row = _of_rotation(session, rotation_id)
    meet = desk_meets.meet_of_session(session, row.session_id)
    entrants = {one.member.id: one for one in desk_meets.entrants(session, meet.id)}
    view = desk_rotations.rotation(session, rotation_id)
    return StartOrder(_line(meet, row), meet, view, entrants)


def withdrawn(session: Session, rotation_id: int) -> list[int]:
    """Who stands on a start order and does not come; nobody for the club's own rotations."""
    row = kept.start_order_of(session, rotation_id)
    if row is None:
        return []
    meet_id = kept_meets.session_by_id(session, row.session_id).meet_id
    gone = {
        entry.athlete_id
        for entry in kept_meets.entries(session, meet_id)
        if entry.withdrawn_at is not None
    }
    return [turn.athlete_id for turn in row.rotation.turns if turn.athlete_id in gone]


def _row(
    session: Session, session_id: int, number: int, apparatus_id: int
) -> kept.StartOrder | None:
    rows = kept.start_orders(session, [session_id])
    return next(
        (row for row in rows if (row.number, row.apparatus_id) == (number, apparatus_id)), None
    )


def _of_rotation(session: Session, rotation_id: int) -> kept.StartOrder:
    kept.by_id(session, rotation_id)
    row = kept.start_order_of(session, rotation_id)
    if row is None:
        raise NotAStartOrder
    return row


def _new(
    session: Session,
    by: str,
    meet: Meet,
    session_id: int,
    number: int,
    apparatus_id: int,
    asked: Asked,
) -> kept.StartOrder:
    part, piece = meet.session(session_id), meet.piece(apparatus_id).piece
    rotation = kept.Rotation(
        apparatus_id=apparatus_id,
        name=f"{meet.facts.name}, session {part.number}, rotation {number}, {piece.name}",
        held_on=part.held_on,
        asked=asked.to_data(),
        created_by=by,
    )
    session.add(rotation)
    session.flush()
    row = kept.StartOrder(
        rotation=rotation,
        rotation_id=rotation.id,
        session_id=session_id,
        apparatus_id=apparatus_id,
        number=number,
        came_by="typed",
        set_by=by,
    )
    session.add(row)
    session.flush()
    return row


def _line(meet: Meet, row: kept.StartOrder) -> OrderLine:
    return OrderLine(
        rotation_id=row.rotation_id,
        session=meet.session(row.session_id),
        number=row.number,
        apparatus_id=row.apparatus_id,
        apparatus=meet.piece(row.apparatus_id).piece.name,
        came_by=row.came_by,
        set_at=row.set_at,
        set_by=row.set_by,
        athlete_ids=tuple(turn.athlete_id for turn in row.rotation.turns),
    )


def _must_be_entered(session: Session, meet: Meet, athlete_ids: Sequence[int]) -> None:
    if not athlete_ids:
        raise NobodyListed
    rows = {row.athlete_id: row for row in kept_meets.entries(session, meet.id)}
    for athlete_id in athlete_ids:
        row = rows.get(athlete_id)
        if row is None or row.withdrawn_at is not None:
            raise NotEntered(meet.facts.name)
        if list(athlete_ids).count(athlete_id) > 1:
            raise ListedTwice(f"{row.athlete.family_name}, {row.athlete.given_name}")


class NotAStartOrder(SettingsDeskError):
    """A rotation of the club's own training was asked for as a meet's start order."""

    def __str__(self) -> str:
        return "That rotation is no start order of a meet: look for it among the rotations"


class NotEntered(SettingsDeskError):
    """Somebody was listed who is not entered, or whose entry was withdrawn."""

    def __init__(self, meet: str) -> None:
        self.meet = meet

    def __str__(self) -> str:
        return f"Somebody on the list is not entered for {self.meet} any more: look at the entries"


class NoSuchRotationNumber(SettingsDeskError):
    """A session has not that many rotations."""

    def __init__(self, number: int) -> None:
        self.number = number

    def __str__(self) -> str:
        return f"The rotations of a session are numbered from 1 to {MOST_ROTATIONS}"


class RotationUnderWay(SettingsDeskError):
    """A start order was to be changed that is carried out already."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"{self.name} has been begun: change the order at the apparatus, on the page of the"
            " station or of the run"
        )
