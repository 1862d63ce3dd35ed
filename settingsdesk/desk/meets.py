"""Meets: another hall, its apparatus and sessions, and whoever is entered from whichever club."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from settingsdesk.desk import apparatus as desk_apparatus
from settingsdesk.desk import athletes as desk_athletes
from settingsdesk.desk import rulebooks as desk_rulebooks
from settingsdesk.desk.apparatus import Piece
from settingsdesk.desk.athletes import Member, Person, must_be_printable
from settingsdesk.desk.meet_facts import MeetFacts
from settingsdesk.desk.meet_refusals import (
    AlreadyEntered,
    ApparatusHasOrders,
    EntryTooLong,
    NoSuchLevel,
    NoSuchRuleBook,
    NothingAsked,
    NotOfThisMeet,
    NotOnADayOfTheMeet,
    SessionsOnOtherDays,
)
from settingsdesk.desk.order_names import follow
from settingsdesk.desk.raising import RaiseStep, steps_that_count
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.base import utc_now


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
    def in_words(self) -> str:
        """ "Session 2: Juniors", or "Session 2"."""
        return f"Session {self.number}" + (f": {self.name}" if self.name else "")


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

    def session(self, session_id: int) -> MeetSession:
        """The session of that number; ``NotOfThisMeet`` where it is another meet's."""
        found = next((one for one in self.sessions if one.id == session_id), None)
        if found is None:
            raise NotOfThisMeet("session", self.facts.name)
        return found

    def piece(self, apparatus_id: int) -> MeetPiece:
        """The apparatus of that number; ``NotOfThisMeet`` where it does not stand there."""
        found = next((one for one in self.pieces if one.piece.id == apparatus_id), None)
        if found is None:
            raise NotOfThisMeet("apparatus", self.facts.name)
        return found


LONGEST_START_NUMBER, LONGEST_DIVISION = 12, 40


@dataclass(frozen=True, slots=True)
class Entrant:
    """One athlete entered for a meet. ``is_guest`` says that another club entered them.

    ``raises`` is the latest step of each request, by the apparatus's number; those that were
    dropped are left out.
    """

    entry_id: int
    member: Member
    from_club: str
    start_number: str
    division: str
    is_guest: bool
    withdrawn_at: datetime | None
    raises: Mapping[int, RaiseStep]

    @property
    def is_in(self) -> bool:
        """Whether the entry still counts."""
        return self.withdrawn_at is None


def add_meet(session: Session, by: str, facts: MeetFacts) -> Meet:
    """A further meet, without sessions, apparatus and entries yet.

    The very same facts again are a second press of the button: the first is given back.
    """
    for known in kept.all_meets(session):
        if all(getattr(known, key) == value for key, value in _columns(facts).items()):
            return meet(session, known.id)
    row = kept.Meet(created_by=by, **_columns(facts))
    session.add(row)
    session.flush()
    return meet(session, row.id)


def change_meet(session: Session, meet_id: int, facts: MeetFacts) -> Meet:
    """Another name, hall or days for a meet; ``SessionsOnOtherDays`` where some would be off it."""
    row = kept.by_id(session, meet_id)
    off = [
        _session(one).in_words
        for one in row.sessions
        if not facts.begins_on <= one.held_on <= facts.ends_on
    ]
    if off:
        raise SessionsOnOtherDays("; ".join(off))
    for column, value in _columns(facts).items():
        setattr(row, column, value)
    follow(session, row)
    session.flush()
    return meet(session, meet_id)


def all_meets(session: Session) -> list[Meet]:
    """The meets that the club keeps, the latest first."""
    pieces = {piece.id: piece for piece in desk_apparatus.all_pieces(session)}
    return [_read(row, pieces) for row in kept.all_meets(session)]


def meet(session: Session, meet_id: int) -> Meet:
    """One meet; ``NotInThisClub`` where there is none."""
    row = kept.by_id(session, meet_id)
    pieces = {
        one.apparatus_id: desk_apparatus.piece(session, one.apparatus_id) for one in row.apparatus
    }
    return _read(row, pieces)


def meet_of_session(session: Session, session_id: int) -> Meet:
    """The meet that a session belongs to; ``NotInThisClub`` where there is no such session."""
    return meet(session, kept.session_by_id(session, session_id).meet_id)


def add_session(
    session: Session,
    meet_id: int,
    name: str,
    held_on: date,
    begins_at: str = "",
    after: int | None = None,
) -> MeetSession:
    """A further session, numbered after the last one; ``NotOnADayOfTheMeet`` where it is not.

    ``after`` is the number of the last one that was seen: the very same session after it is a
    second press of the button, and is given back.
    """
    row = kept.by_id(session, meet_id)
    _must_be_on_a_day(row, held_on)
    must_be_printable(name)
    must_be_printable(begins_at)
    told = (name.strip(), held_on, begins_at.strip())
    later = [one for one in row.sessions if after is not None and one.number > after]
    for one in later:
        if (one.name, one.held_on, one.begins_at) == told:
            return _session(one)
    added = kept.MeetSession(
        meet_id=meet_id,
        number=max((one.number for one in row.sessions), default=0) + 1,
        name=name.strip(),
        held_on=held_on,
        begins_at=begins_at.strip(),
    )
    session.add(added)
    session.flush()
    session.refresh(row)
    return _session(added)


def change_session(
    session: Session, session_id: int, name: str, held_on: date, begins_at: str = ""
) -> MeetSession:
    """Another name, day or hour for a session; its number stays."""
    row = kept.session_by_id(session, session_id)
    of_meet = kept.by_id(session, row.meet_id)
    _must_be_on_a_day(of_meet, held_on)
    must_be_printable(name)
    must_be_printable(begins_at)
    row.name, row.held_on, row.begins_at = name.strip(), held_on, begins_at.strip()
    follow(session, of_meet)
    session.flush()
    return _session(row)


def put_apparatus(
    session: Session, meet_id: int, apparatus_id: int, rule_book: str = "", level: str = ""
) -> Meet:
    """Say that an apparatus stands in the meet's hall, and which rule book holds there.

    ``NoSuchRuleBook`` where the club keeps none of that name, ``NoSuchLevel`` where that book has
    no such level for this kind of apparatus: none of its rules would hold.
    """
    row = kept.by_id(session, meet_id)
    kind = desk_apparatus.piece(session, apparatus_id).model.kind
    books = {book.name: book for book in desk_rulebooks.all_books(session)}
    if rule_book and rule_book not in books:
        raise NoSuchRuleBook(rule_book)
    levels = books[rule_book].levels_at_meets(kind) if rule_book else ()
    if level.strip() and rule_book and level.strip() not in levels:
        raise NoSuchLevel(level.strip(), rule_book, kind.name.lower(), levels)
    stands = next((one for one in row.apparatus if one.apparatus_id == apparatus_id), None)
    if stands is None:
        stands = kept.MeetApparatus(apparatus_id=apparatus_id)
        row.apparatus.append(stands)
    stands.rule_book, stands.level = rule_book, level.strip()
    session.flush()
    return meet(session, meet_id)


def take_apparatus_away(session: Session, meet_id: int, apparatus_id: int) -> Meet:
    """Say that an apparatus does not stand there; ``ApparatusHasOrders`` where it has some."""
    row = kept.by_id(session, meet_id)
    orders = kept_rotations.start_orders(session, [one.id for one in row.sessions])
    if any(order.apparatus_id == apparatus_id for order in orders):
        raise ApparatusHasOrders(desk_apparatus.piece(session, apparatus_id).name)
    row.apparatus = [one for one in row.apparatus if one.apparatus_id != apparatus_id]
    session.flush()
    return meet(session, meet_id)


def enter_guest(
    session: Session,
    by: str,
    meet_id: int,
    person: Person,
    from_club: str,
    start_number: str = "",
    division: str = "",
) -> Entrant:
    """Enter an athlete of another club; twins of one name are two athletes."""
    kept.by_id(session, meet_id)
    member = desk_athletes.add(session, by, person, meet_id=meet_id)
    return _enter(session, by, meet_id, member.id, from_club, start_number, division)


def enter_own(
    session: Session,
    by: str,
    meet_id: int,
    athlete_id: int,
    start_number: str = "",
    division: str = "",
) -> Entrant:
    """Enter an athlete of the squad; ``AlreadyEntered`` where that was done."""
    kept.by_id(session, meet_id)
    member = desk_athletes.member(session, athlete_id)
    if any(one.member.id == athlete_id for one in entrants(session, meet_id)):
        raise AlreadyEntered(member.listed_name)
    club = kept_clubs.all_clubs(session)[0].name
    return _enter(session, by, meet_id, athlete_id, club, start_number, division)


def change_entry(
    session: Session, entry_id: int, from_club: str, start_number: str, division: str
) -> Entrant:
    """Another club, start number or division for an entry."""
    row = kept.entry_by_id(session, entry_id)
    _set(row, from_club, start_number, division)
    session.flush()
    return _entrant(row)


def withdraw_entry(session: Session, by: str, entry_id: int) -> Entrant:
    """The athlete does not come; settings and history stay."""
    row = kept.entry_by_id(session, entry_id)
    if row.withdrawn_at is None:
        row.withdrawn_at, row.withdrawn_by = utc_now(), by
        session.flush()
    return _entrant(row)


def enter_again(session: Session, entry_id: int) -> Entrant:
    """The athlete does come after all."""
    row = kept.entry_by_id(session, entry_id)
    row.withdrawn_at = row.withdrawn_by = None
    session.flush()
    return _entrant(row)


def entrants(session: Session, meet_id: int) -> list[Entrant]:
    """Whoever is or was entered for a meet, by club and name."""
    return [_entrant(row) for row in kept.entries(session, meet_id)]


def entered_for(session: Session, athlete_id: int) -> list[tuple[Meet, Entrant]]:
    """The meets that an athlete is or was entered for, the latest first."""
    rows = kept.entries_of_athletes(session, [athlete_id])
    return [(meet(session, row.meet_id), _entrant(row)) for row in rows]


def entrant(session: Session, entry_id: int) -> Entrant:
    """One entry; ``NotInThisClub`` where there is none."""
    return _entrant(kept.entry_by_id(session, entry_id))


def meet_id_of_entry(session: Session, entry_id: int) -> int:
    """The meet that an entry is for; ``NotInThisClub`` where there is no such entry."""
    return kept.entry_by_id(session, entry_id).meet_id


def tell_raise(
    session: Session,
    by: str,
    entry_id: int,
    apparatus_id: int,
    step: str,
    raise_mm: int,
    told_by: str,
    told_on: date,
    remark: str = "",
) -> Entrant:
    """A request to raise the rails: "asked", or what came of it: "granted", "refused", "dropped".

    It changes no setting: what is granted is entered there by a person. ``NothingAsked`` where
    something is settled that nobody asked for.
    """
    row = kept.entry_by_id(session, entry_id)
    desk_apparatus.piece(session, apparatus_id)
    asked = _entrant(row).raises.get(apparatus_id)
    if step != "asked" and asked is None:
        raise NothingAsked
    for words in (told_by, remark):
        must_be_printable(words)
    row.raise_requests.append(
        kept.RaiseRequest(
            apparatus_id=apparatus_id,
            step=step,
            raise_mm=raise_mm if step == "asked" or asked is None else asked.raise_mm,
            told_by=told_by.strip(),
            told_on=told_on,
            remark=remark.strip(),
            recorded_by=by,
        )
    )
    session.flush()
    return _entrant(row)


def _enter(
    session: Session,
    by: str,
    meet_id: int,
    athlete_id: int,
    from_club: str,
    start_number: str,
    division: str,
) -> Entrant:
    row = kept.Entry(meet_id=meet_id, athlete_id=athlete_id, entered_by=by)
    _set(row, from_club, start_number, division)
    row.athlete = kept_athletes.by_id(session, athlete_id)
    session.add(row)
    session.flush()
    return _entrant(row)


def must_fit(start_number: str, division: str) -> None:
    """Raise ``EntryTooLong`` where cards and sheets have no room for one of them."""
    told = {
        "start number": (start_number, LONGEST_START_NUMBER),
        "division": (division, LONGEST_DIVISION),
    }
    for what, (words, most) in told.items():
        if len(words.strip()) > most:
            raise EntryTooLong(what, words, most)


def _set(row: kept.Entry, from_club: str, start_number: str, division: str) -> None:
    must_fit(start_number, division)
    for words in (from_club, start_number, division):
        must_be_printable(words)
    row.from_club = from_club.strip()
    row.start_number = start_number.strip()
    row.division = division.strip()


def _columns(facts: MeetFacts) -> dict[str, str | date]:
    return {
        "name": facts.name.strip(),
        "hall": facts.hall.strip(),
        "begins_on": facts.begins_on,
        "ends_on": facts.ends_on,
        "cards_until": facts.cards_until,
        "note": facts.note.strip(),
    }


def _read(row: kept.Meet, pieces: Mapping[int, Piece]) -> Meet:
    facts = MeetFacts(row.name, row.hall, row.begins_on, row.ends_on, row.cards_until, row.note)
    stands: Sequence[MeetPiece] = [
        MeetPiece(pieces[one.apparatus_id], one.rule_book, one.level) for one in row.apparatus
    ]
    sessions = tuple(_session(one) for one in row.sessions)
    return Meet(row.id, facts, sessions, tuple(stands), row.created_by)


def _session(row: kept.MeetSession) -> MeetSession:
    return MeetSession(row.id, row.meet_id, row.number, row.name, row.held_on, row.begins_at)


def _entrant(row: kept.Entry) -> Entrant:
    return Entrant(
        entry_id=row.id,
        member=desk_athletes.member_of(row.athlete),
        from_club=row.from_club,
        start_number=row.start_number,
        division=row.division,
        is_guest=row.athlete.meet_id is not None,
        withdrawn_at=row.withdrawn_at,
        raises=steps_that_count(row.raise_requests),
    )


def _must_be_on_a_day(row: kept.Meet, held_on: date) -> None:
    if not row.begins_on <= held_on <= row.ends_on:
        raise NotOnADayOfTheMeet(row.begins_on, row.ends_on)
