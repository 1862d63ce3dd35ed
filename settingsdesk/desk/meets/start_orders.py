"""Start orders of a meet: typed, imported or drawn, and never re-arranged by the desk."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from random import SystemRandom

from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet, MeetSession
from settingsdesk.desk.meets.order_names import order_name
from settingsdesk.desk.meets.refusals import (
    NobodyDrawn,
    NoSuchRotationNumber,
    NotAStartOrder,
    NotEntered,
    NotOfThisMeet,
    NotOnTheOrder,
    OrderChanged,
    OrderIsSet,
    RotationUnderWay,
)
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.rotation import ListedTwice, NobodyListed
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

MOST_ROTATIONS = 20

CAME_BY: Mapping[str, Sentence] = {
    "typed": Sentence("typed in"),
    "imported": Sentence("taken from a list"),
    "drawn": Sentence("drawn at random here"),
}
"""How a start order came to be, in words."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a meet a start order belongs: the how-manieth of a session on which apparatus."""

    session_id: int
    number: int
    apparatus_id: int


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
    def place(self) -> Place:
        """Where in the meet it belongs."""
        return Place(self.session.id, self.number, self.apparatus_id)

    @property
    def in_words(self) -> Sentence:
        """ "Session 1: Juniors, rotation 2"."""
        return Sentence(
            "%(session)s, rotation %(number)s", session=self.session.in_words, number=self.number
        )

    @property
    def where(self) -> str:
        """The same with the apparatus, which is one start order's alone."""
        return f"{self.in_words}, {self.apparatus}"

    @property
    def seen(self) -> str:
        """What tells this order from every other list: whoever changes it says what they saw."""
        return sha256(repr(self.athlete_ids).encode()).hexdigest()[:12]


@dataclass(frozen=True, slots=True)
class StartOrder:
    """One start order whole: its place in the meet, its rotation, and who is in it.

    ``entrants`` go by the athlete's number. ``without`` are those on the list who come and have no
    setting for the apparatus's kind: their turns wait for one. ``elsewhere``
    names the other apparatus of whoever is on two in the same rotation. ``run_id`` is the latest
    run of it, once one was begun.
    """

    line: OrderLine
    meet: Meet
    view: RotationView
    entrants: Mapping[int, Entrant]
    elsewhere: Mapping[int, str]
    run_id: int | None

    @property
    def without(self) -> tuple[Entrant, ...]:
        carried = self.view.carried[self.view.piece.id]
        listed = (
            self.entrants[member.id] for member in self.view.listed if member.id not in carried
        )
        return tuple(entrant for entrant in listed if entrant.is_in)

    def coming(self, athlete_ids: Iterable[int]) -> tuple[Entrant, ...]:
        """The entrants of those athletes who come, in that order, each once."""
        known = (self.entrants.get(number) for number in dict.fromkeys(athlete_ids))
        return tuple(entrant for entrant in known if entrant is not None and entrant.is_in)

    @property
    def withdrawn(self) -> tuple[Entrant, ...]:
        """Those on the list whose entry was withdrawn since."""
        listed = (self.entrants[member.id] for member in self.view.listed)
        return tuple(entrant for entrant in listed if not entrant.is_in)


def set_new(
    session: ClubSession,
    place: Place,
    athlete_ids: Sequence[int],
    came_by: str,
    hands: int = 2,
) -> OrderLine:
    """The start order of one rotation of a session on one apparatus, where none is set yet.

    ``OrderIsSet`` where another one is; the very same order is a second press of the button, and
    the first is given back. Raises ``NobodyListed``, ``ListedTwice``, ``NotEntered``,
    ``NotOfThisMeet`` or ``NotACrew`` too.
    """
    row = _row(session, place)
    if row is not None and _listed(row) != list(athlete_ids):
        raise _is_set(row)
    return _set(session, place, row, athlete_ids, came_by, hands)


def seem_elsewhere(
    session: ClubSession,
    meet: Meet,
    lines: Iterable[OrderLine],
    place: Place,
    athlete_ids: Collection[int],
) -> frozenset[int]:
    """Who of them has settings, and none for the kind there, or is in that rotation elsewhere.

    ``lines`` are the start orders of the meet.
    """
    kind = meet.piece(place.apparatus_id).piece.model.kind.key
    kinds = kept_settings.kinds_of(session, athlete_ids)
    others = frozenset(number for number in athlete_ids if kind not in kinds.get(number, {kind}))
    at_once = (
        number
        for line in lines
        if (line.session.id, line.number) == (place.session_id, place.number)
        and line.apparatus_id != place.apparatus_id
        for number in line.athlete_ids
    )
    return others | (frozenset(at_once) & frozenset(athlete_ids))


def draw(
    session: ClubSession, place: Place, athlete_ids: Iterable[int], hands: int = 2
) -> OrderLine:
    """Draw the start order by lot, every order being as likely as any other.

    A lot is drawn once: where these very athletes were drawn there, that order is given back, and
    ``OrderIsSet`` is raised where another is set. ``NobodyDrawn`` where nobody takes part.
    """
    drawn = sorted(athlete_ids)
    if not drawn:
        raise NobodyDrawn
    row = _row(session, place)
    if row is not None:
        _must_not_be_begun(session, row)
        if row.came_by != "drawn" or sorted(_listed(row)) != drawn:
            raise _is_set(row)
        return _line(row)
    SystemRandom().shuffle(drawn)
    return _set(session, place, None, drawn, "drawn", hands)


def change_order(
    session: ClubSession,
    rotation_id: int,
    athlete_ids: Sequence[int],
    came_by: str,
    hands: int,
    seen: str,
) -> OrderLine:
    """Another order for a rotation, by whoever saw the one that ``OrderLine.seen`` tells.

    The very same order again stays as it came. Whoever was withdrawn may stay on it, and nobody
    withdrawn comes to it. Raises ``OrderChanged`` where somebody has changed it since,
    ``RotationUnderWay`` where a run of it was begun, and what ``set_new`` raises of athletes.
    """
    return _change(session, _of_rotation(session, rotation_id), athlete_ids, came_by, hands, seen)


def move(
    session: ClubSession, rotation_id: int, athlete_id: int, place: int, seen: str
) -> OrderLine:
    """The jury's change: one athlete to that place, from 1; who stands there already stays.

    It counts as typed in. Raises ``NotOnTheOrder``, or what ``change_order`` raises.
    """
    row = _of_rotation(session, rotation_id)
    after, hands = _listed(row), OrderRequest.from_data(row.rotation.asked).hands
    if athlete_id not in after or not 1 <= place <= len(after):
        raise NotOnTheOrder(_line(row).where)
    after.remove(athlete_id)
    after.insert(place - 1, athlete_id)
    return _change(session, row, after, "typed", hands, seen)


def _change(
    session: ClubSession,
    row: kept_rotations.StartOrder,
    athlete_ids: Sequence[int],
    came_by: str,
    hands: int,
    seen: str,
) -> OrderLine:
    line = _line(row)
    if list(athlete_ids) != _listed(row) and seen != line.seen:
        raise OrderChanged(line.where, line.set_by)
    return _set(session, line.place, row, athlete_ids, came_by, hands)


def _set(
    session: ClubSession,
    place: Place,
    row: kept_rotations.StartOrder | None,
    athlete_ids: Sequence[int],
    came_by: str,
    hands: int,
) -> OrderLine:
    """The order at that place of a meet, where ``row`` is the one that stands there, if any."""
    asked = OrderRequest(hands=hands, as_drawn=True)
    if row is None:
        meet = kept_meets.by_session(session, place.session_id)
        if all(placed.apparatus_id != place.apparatus_id for placed in meet.apparatus):
            raise NotOfThisMeet("apparatus", meet.name)
        if not 1 <= place.number <= MOST_ROTATIONS:
            raise NoSuchRotationNumber(place.number, MOST_ROTATIONS)
        _must_be_entered(session, meet.id, athlete_ids)
        return _line(_new(session, meet, place, athlete_ids, came_by, asked))
    before = _listed(row)
    _must_be_entered(session, row.meet_session.meet_id, athlete_ids, before)
    _must_not_be_begun(session, row)
    row.rotation.asked = asked.to_data()
    if before != list(athlete_ids):
        row.came_by, row.set_at, row.set_by = came_by, utc_now(), session.by
        kept_rotations.relist(session, row.rotation, athlete_ids)
    return _line(row)


def take_off_withdrawn(session: ClubSession, rotation_id: int) -> OrderLine:
    """The start order without those whose entry was withdrawn; the others stay as they stand.

    How it came stays on record. ``NobodyListed`` where nobody would stay: take it away then.
    """
    row = _of_rotation(session, rotation_id)
    _must_not_be_begun(session, row)
    gone = withdrawn(session, rotation_id)
    left = [entrant for entrant in _listed(row) if entrant not in gone]
    if not left:
        raise NobodyListed
    kept_rotations.relist(session, row.rotation, left)
    return _line(row)


def take_away(session: ClubSession, rotation_id: int) -> int:
    """Take a start order away, if no run of it was begun; the number of its session."""
    row = _of_rotation(session, rotation_id)
    _must_not_be_begun(session, row)
    session_id, rotation = row.session_id, row.rotation
    session.delete(row)
    session.flush()
    session.delete(rotation)
    session.flush()
    return session_id


def orders_at(session: ClubSession, meet: Meet) -> list[OrderLine]:
    """Every start order of a meet, by session, number and apparatus."""
    by_session = {part.id: part.number for part in meet.sessions}
    rows = kept_rotations.start_orders(session, by_session)
    return [
        _line(row)
        for row in sorted(
            rows, key=lambda row: (by_session[row.session_id], row.number, row.apparatus_id)
        )
    ]


def listed_on(session: ClubSession, meet: Meet) -> Mapping[int, frozenset[int]]:
    """Who is on a start order of each apparatus of a meet, by the apparatus's number."""
    listed: dict[int, frozenset[int]] = {}
    for line in orders_at(session, meet):
        before = listed.get(line.apparatus_id, frozenset())
        listed[line.apparatus_id] = before.union(line.athlete_ids)
    return listed


def at_station(session: ClubSession, session_id: int, apparatus_id: int) -> list[OrderLine]:
    """The start orders of one session on one apparatus, in their order."""
    return [_line(row) for row in kept_rotations.start_orders(session, [session_id], apparatus_id)]


def start_order(session: ClubSession, rotation_id: int) -> StartOrder:
    """One start order whole; ``NotAStartOrder`` where the rotation is no meet's."""
    rows = kept_rotations.beside(session, rotation_id)
    row = next((row for row in rows if row.rotation_id == rotation_id), None)
    if row is None:
        raise _no_start_order(session, rotation_id)
    meet = desk_meets.meet(session, row.meet_session.meet_id)
    entrants = {entrant.member.id: entrant for entrant in desk_entries.entrants(session, meet.id)}
    runs = kept_runs.of_rotations(session, [rotation_id])
    at_hand = {stands.piece.id: stands.piece for stands in meet.pieces}
    view = desk_rotation.read(session, row.rotation, at_hand)
    erased = {one.id: _erased(one) for one in view.listed if one.id not in entrants}
    return StartOrder(
        line=_line(row),
        meet=meet,
        view=view,
        entrants=entrants | erased,
        elsewhere=_elsewhere(
            row, rows, {number for number, piece in at_hand.items() if piece.withdrawal}
        ),
        run_id=runs[0].id if runs else None,
    )


def _erased(member: Member) -> Entrant:
    """Who stays on a list by a number alone, the entry being erased: nobody comes."""
    return Entrant(0, member, "", "", "", False, utc_now(), {})


def withdrawn(session: ClubSession, rotation_id: int) -> list[int]:
    """Who stands on a start order and does not come; nobody for the club's own rotations."""
    return kept_rotations.withdrawn_from(session, rotation_id)


def _row(session: ClubSession, place: Place) -> kept_rotations.StartOrder | None:
    rows = kept_rotations.start_orders(session, [place.session_id], place.apparatus_id)
    return next((row for row in rows if row.number == place.number), None)


def _listed(row: kept_rotations.StartOrder) -> list[int]:
    return [turn.athlete_id for turn in row.rotation.turns]


def _is_set(row: kept_rotations.StartOrder) -> OrderIsSet:
    line = _line(row)
    return OrderIsSet(line.where, CAME_BY[line.came_by], line.set_by)


def _must_not_be_begun(session: ClubSession, row: kept_rotations.StartOrder) -> None:
    if kept_runs.of_rotations(session, [row.rotation_id]):
        raise RotationUnderWay(row.rotation.name)


def _elsewhere(
    row: kept_rotations.StartOrder,
    rows: Iterable[kept_rotations.StartOrder],
    out_of_use: Collection[int],
) -> dict[int, str]:
    """Who of an order stands on another apparatus too in the same rotation, and on which.

    On one that is out of use nobody goes up, so that who goes on elsewhere is not told twice.
    """
    listed = set(_listed(row))
    return {
        athlete_id: other.rotation.apparatus.name
        for other in rows
        if other.id != row.id and other.apparatus_id not in out_of_use
        for athlete_id in _listed(other)
        if athlete_id in listed
    }


def _of_rotation(session: ClubSession, rotation_id: int) -> kept_rotations.StartOrder:
    """The start order that a rotation is."""
    row = kept_rotations.start_order_of(session, rotation_id)
    if row is None:
        raise _no_start_order(session, rotation_id)
    return row


def _no_start_order(session: ClubSession, rotation_id: int) -> NotAStartOrder:
    """What to say of a rotation that is no meet's; ``NotInThisClub`` where there is none at all."""
    kept_rotations.by_id(session, rotation_id)
    return NotAStartOrder()


def _new(
    session: ClubSession,
    meet: kept_meets.Meet,
    place: Place,
    athlete_ids: Sequence[int],
    came_by: str,
    asked: OrderRequest,
) -> kept_rotations.StartOrder:
    part = next(part for part in meet.sessions if part.id == place.session_id)
    apparatus = kept_apparatus.by_id(session, place.apparatus_id)
    rotation = kept_rotations.Rotation(
        apparatus_id=place.apparatus_id,
        apparatus=apparatus,
        name=order_name(meet.name, part.number, place.number, apparatus.name),
        held_on=part.held_on,
        asked=asked.to_data(),
        created_by=session.by,
        turns=kept_rotations.listed(athlete_ids),
    )
    session.add(rotation)
    session.flush()
    row = kept_rotations.StartOrder(
        rotation=rotation,
        rotation_id=rotation.id,
        meet_session=part,
        session_id=place.session_id,
        apparatus_id=place.apparatus_id,
        number=place.number,
        came_by=came_by,
        set_by=session.by,
    )
    session.add(row)
    session.flush()
    return row


def _line(row: kept_rotations.StartOrder) -> OrderLine:
    return OrderLine(
        rotation_id=row.rotation_id,
        session=desk_meets.session_of(row.meet_session),
        number=row.number,
        apparatus_id=row.apparatus_id,
        apparatus=row.rotation.apparatus.name,
        came_by=row.came_by,
        set_at=row.set_at,
        set_by=row.set_by,
        athlete_ids=tuple(_listed(row)),
    )


def _must_be_entered(
    session: ClubSession, meet_id: int, athlete_ids: Sequence[int], before: Sequence[int] = ()
) -> None:
    if not athlete_ids:
        raise NobodyListed
    rows = {row.athlete_id: row for row in kept_meets.entries_of(session, meet_id, athlete_ids)}
    for athlete_id in athlete_ids:
        row = rows.get(athlete_id)
        if row is None or (row.withdrawn_at is not None and athlete_id not in before):
            raise NotEntered(kept_meets.by_id(session, meet_id).name)
        if list(athlete_ids).count(athlete_id) > 1:
            raise ListedTwice(f"{row.athlete.family_name}, {row.athlete.given_name}")
