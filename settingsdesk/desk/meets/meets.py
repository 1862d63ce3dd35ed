"""Meets: another hall, its apparatus and sessions, and whoever is entered from whichever club."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.order_names import follow
from settingsdesk.desk.meets.refusals import (
    ApparatusHasOrders,
    NoSuchLevel,
    NoSuchRuleBook,
    NotATimeOfDay,
    NotOfThisMeet,
    NotOnADayOfTheMeet,
    SessionsOnOtherDays,
)
from settingsdesk.desk.squad.athletes import must_be_printable
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store import taking_away
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.taking_away import Hanging
from settingsdesk.store.work import ClubSession

HOUR_AND_MINUTE = re.compile(r"(\d{1,2})[:.h](\d{2})")


@dataclass(frozen=True, slots=True)
class MeetSession:
    """A part of a meet; ``begins_at`` as it is announced, "09:30", or empty."""

    id: int
    meet_id: int
    number: int
    name: str
    held_on: date
    begins_at: str

    @property
    def in_words(self) -> Sentence:
        """ "Session 2: Juniors", or "Session 2"."""
        if self.name:
            return Sentence("Session %(number)s: %(name)s", number=self.number, name=self.name)
        return Sentence("Session %(number)s", number=self.number)


@dataclass(frozen=True, slots=True)
class MeetPiece:
    """An apparatus in the meet's hall, with the rule book and level that hold there."""

    piece: Piece
    rule_book: str
    level: str


@dataclass(frozen=True, slots=True)
class Meet:
    """One meet with its sessions in order and its apparatus."""

    id: int
    facts: MeetFacts
    sessions: tuple[MeetSession, ...]
    pieces: tuple[MeetPiece, ...]
    created_by: str

    @property
    def days(self) -> tuple[date, ...]:
        """The days of its sessions; while it has none, all of its days."""
        first, last = self.facts.begins_on, self.facts.ends_on
        every = (first + timedelta(days=number) for number in range((last - first).days + 1))
        return tuple(sorted({part.held_on for part in self.sessions})) or tuple(every)

    def session(self, session_id: int) -> MeetSession:
        """The session of that number; ``NotOfThisMeet`` where it is another meet's."""
        found = next((part for part in self.sessions if part.id == session_id), None)
        if found is None:
            raise NotOfThisMeet("session", self.facts.name)
        return found

    def piece(self, apparatus_id: int) -> MeetPiece:
        """The apparatus of that number; ``NotOfThisMeet`` where it does not stand there."""
        found = next((piece for piece in self.pieces if piece.piece.id == apparatus_id), None)
        if found is None:
            raise NotOfThisMeet("apparatus", self.facts.name)
        return found


def add_meet(session: ClubSession, facts: MeetFacts) -> Meet:
    """A further meet, without sessions, apparatus and entries yet.

    The very same facts again are a second press of the button: the first is given back.
    """
    for known in kept_meets.all_meets(session):
        if all(getattr(known, key) == value for key, value in _columns(facts).items()):
            return meet(session, known.id)
    row = kept_meets.Meet(created_by=session.by, **_columns(facts))
    session.add(row)
    session.flush()
    return meet(session, row.id)


def change_meet(session: ClubSession, meet_id: int, facts: MeetFacts) -> Meet:
    """Another name, hall or days for a meet; ``SessionsOnOtherDays`` where some would be off it."""
    row = kept_meets.by_id(session, meet_id)
    off = [
        session_of(part).in_words
        for part in row.sessions
        if not facts.begins_on <= part.held_on <= facts.ends_on
    ]
    if off:
        raise SessionsOnOtherDays("; ".join(off))
    for column, value in _columns(facts).items():
        setattr(row, column, value)
    follow(session, row)
    session.flush()
    return meet(session, meet_id)


def all_meets(session: ClubSession) -> list[Meet]:
    """The meets that the club keeps, the latest first."""
    pieces = {piece.id: piece for piece in desk_apparatus.all_pieces(session)}
    return [_read(row, pieces) for row in kept_meets.all_meets(session)]


def from_day(session: ClubSession, day: date) -> list[tuple[int, MeetFacts]]:
    """The meets that are not over before that day, by number, the first to begin first."""
    return [(row.id, _facts(row)) for row in kept_meets.from_day(session, day)]


def meet(session: ClubSession, meet_id: int) -> Meet:
    """One meet; ``NotInThisClub`` where there is none."""
    return _whole(session, kept_meets.by_id(session, meet_id))


def announced(session: ClubSession, meet_id: int) -> MeetFacts:
    """What is announced of a meet; ``NotInThisClub`` where there is none."""
    return _facts(kept_meets.by_id(session, meet_id))


def meet_of_session(session: ClubSession, session_id: int) -> Meet:
    """The meet that a session belongs to; ``NotInThisClub`` where there is no such session."""
    return _whole(session, kept_meets.by_session(session, session_id))


def _whole(session: ClubSession, row: kept_meets.Meet) -> Meet:
    pieces = desk_apparatus.pieces(session, [placed.apparatus_id for placed in row.apparatus])
    return _read(row, pieces)


def add_session(
    session: ClubSession,
    meet_id: int,
    name: str,
    held_on: date,
    begins_at: str = "",
    after: int | None = None,
) -> MeetSession:
    """A further session, numbered after the last one; ``NotOnADayOfTheMeet``, ``NotATimeOfDay``.

    ``after`` is the number of the last one that was seen: the very same session after it is a
    second press of the button, and is given back.
    """
    row = kept_meets.by_id(session, meet_id)
    _must_be_on_a_day(row, held_on)
    must_be_printable(name)
    _must_be_a_beginning(begins_at)
    told = (name.strip(), held_on, begins_at.strip())
    later = [part for part in row.sessions if after is not None and part.number > after]
    for part in later:
        if (part.name, part.held_on, part.begins_at) == told:
            return session_of(part)
    added = kept_meets.MeetSession(
        meet_id=meet_id,
        number=max((part.number for part in row.sessions), default=0) + 1,
        name=name.strip(),
        held_on=held_on,
        begins_at=begins_at.strip(),
    )
    session.add(added)
    session.flush()
    session.refresh(row)
    return session_of(added)


def change_session(
    session: ClubSession, session_id: int, name: str, held_on: date, begins_at: str = ""
) -> MeetSession:
    """Another name, day or hour for a session; its number stays."""
    row = kept_meets.session_by_id(session, session_id)
    of_meet = kept_meets.by_id(session, row.meet_id)
    _must_be_on_a_day(of_meet, held_on)
    must_be_printable(name)
    _must_be_a_beginning(begins_at)
    row.name, row.held_on, row.begins_at = name.strip(), held_on, begins_at.strip()
    follow(session, of_meet)
    session.flush()
    return session_of(row)


def hanging(session: ClubSession, meet_id: int) -> list[Hanging]:
    """What hangs on a meet, which therefore stays; nothing where it can be taken away."""
    return taking_away.hanging(session, kept_meets.by_id(session, meet_id))


def take_away(session: ClubSession, meet_id: int) -> None:
    """Take a meet away, with what was said of the apparatus that stand there.

    ``SomethingHangsOnIt`` where it has a session, an entry or a guest.
    """
    row = kept_meets.by_id(session, meet_id)
    taking_away.take_away(session, row, row.name)


def hanging_on_session(session: ClubSession, session_id: int) -> list[Hanging]:
    """What hangs on a session, which therefore stays; nothing where it can be taken away."""
    return taking_away.hanging(session, _session_row(session, session_id))


def take_session_away(session: ClubSession, session_id: int) -> None:
    """Take a session away; ``SomethingHangsOnIt`` where it has a start order or a station."""
    row = _session_row(session, session_id)
    taking_away.take_away(session, row, session_of(row).in_words)


def _session_row(session: ClubSession, session_id: int) -> kept_meets.MeetSession:
    meet = kept_meets.by_session(session, session_id)
    return next(row for row in meet.sessions if row.id == session_id)


def put_apparatus(
    session: ClubSession, meet_id: int, apparatus_id: int, rule_book: str = "", level: str = ""
) -> Meet:
    """Say that an apparatus stands in the meet's hall, and which rule book holds there.

    ``NoSuchRuleBook`` where the club keeps none of that name, ``NoSuchLevel`` where that book has
    no such level for this kind of apparatus: none of its rules would hold.
    """
    row = kept_meets.by_id(session, meet_id)
    pieces = desk_apparatus.pieces(
        session, {apparatus_id, *(placed.apparatus_id for placed in row.apparatus)}
    )
    if apparatus_id not in pieces:
        raise NotInThisClub("apparatus", apparatus_id)
    kind = pieces[apparatus_id].model.kind
    books = {book.name: book for book in desk_rule_books.all_books(session)}
    if rule_book and rule_book not in books:
        raise NoSuchRuleBook(rule_book)
    levels = books[rule_book].levels_at_meets(kind) if rule_book else ()
    if level.strip() and rule_book and level.strip() not in levels:
        raise NoSuchLevel(level.strip(), rule_book, kind.name.lower(), levels)
    stands = next((placed for placed in row.apparatus if placed.apparatus_id == apparatus_id), None)
    if stands is None:
        stands = kept_meets.MeetApparatus(apparatus_id=apparatus_id)
        row.apparatus.append(stands)
    stands.rule_book, stands.level = rule_book, level.strip()
    session.flush()
    return _read(row, pieces)


def take_apparatus_away(session: ClubSession, meet_id: int, apparatus_id: int) -> Meet:
    """Say that an apparatus does not stand there; ``ApparatusHasOrders`` where it has some."""
    row = kept_meets.by_id(session, meet_id)
    rows = kept_rotations.start_orders(session, [part.id for part in row.sessions])
    orders = {
        order.rotation_id: f"{session_of(order.meet_session).in_words}, rotation {order.number}"
        for order in rows
        if order.apparatus_id == apparatus_id
    }
    if orders:
        begun = {run.rotation_id for run in kept_runs.of_rotations(session, orders)}
        name = desk_apparatus.piece(session, apparatus_id).name
        raise ApparatusHasOrders(name, orders, begun)
    row.apparatus = [placed for placed in row.apparatus if placed.apparatus_id != apparatus_id]
    session.flush()
    return meet(session, meet_id)


def _columns(facts: MeetFacts) -> dict[str, str | date]:
    return {
        "name": facts.name.strip(),
        "hall": facts.hall.strip(),
        "begins_on": facts.begins_on,
        "ends_on": facts.ends_on,
        "cards_until": facts.cards_until,
        "note": facts.note.strip(),
    }


def _read(row: kept_meets.Meet, pieces: Mapping[int, Piece]) -> Meet:
    stands: Sequence[MeetPiece] = [
        MeetPiece(pieces[placed.apparatus_id], placed.rule_book, placed.level)
        for placed in row.apparatus
    ]
    sessions = tuple(session_of(part) for part in row.sessions)
    return Meet(row.id, _facts(row), sessions, tuple(stands), row.created_by)


def _facts(row: kept_meets.Meet) -> MeetFacts:
    return MeetFacts(row.name, row.hall, row.begins_on, row.ends_on, row.cards_until, row.note)


def session_of(row: kept_meets.MeetSession) -> MeetSession:
    """The session of a row."""
    return MeetSession(row.id, row.meet_id, row.number, row.name, row.held_on, row.begins_at)


def _must_be_on_a_day(row: kept_meets.Meet, held_on: date) -> None:
    if not row.begins_on <= held_on <= row.ends_on:
        raise NotOnADayOfTheMeet(row.begins_on, row.ends_on)


def _must_be_a_beginning(begins_at: str) -> None:
    """Raise ``NotATimeOfDay`` for hours and minutes that no day has; words are as announced."""
    must_be_printable(begins_at)
    figures = HOUR_AND_MINUTE.fullmatch(begins_at.strip())
    if figures:
        hour, minute = map(int, figures.groups())
        try:
            time(hour, minute)
        except ValueError as error:
            raise NotATimeOfDay(begins_at.strip()) from error
