"""Entries of a meet: whoever comes, from which club, under which number, and what was asked for."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.desk.meets.raise_requests import RaiseStep, steps_that_count
from settingsdesk.desk.meets.refusals import AlreadyEntered, EntryTooLong, NothingAsked
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member, Person, must_be_printable
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import taking_away
from settingsdesk.store.base import utc_now
from settingsdesk.store.rotations import RotationTurn
from settingsdesk.store.taking_away import Hanging, SomethingHangsOnIt
from settingsdesk.store.work import ClubSession

LONGEST_START_NUMBER, LONGEST_DIVISION = 12, 40


@dataclass(frozen=True, slots=True)
class Entrant:
    """One athlete entered for a meet. ``is_guest`` says that another club entered them.

    ``raises`` is the latest step of each request, by the apparatus's number; those that were
    dropped are left out. ``meet_id`` and ``entry_id`` are 0 for whoever stays on a list by a number
    alone.
    """

    entry_id: int
    member: Member
    from_club: str
    start_number: str
    division: str
    is_guest: bool
    withdrawn_at: datetime | None
    raises: Mapping[int, RaiseStep]
    meet_id: int = 0

    @property
    def is_in(self) -> bool:
        """Whether the entry still counts."""
        return self.withdrawn_at is None


@dataclass(frozen=True, slots=True)
class ClubEntered:
    """How many of a club's athletes are or were entered for a meet, and come.

    ``start_numbers`` are those of whoever comes and has one, as they were entered; ``withdrawn``
    the athletes who do not come.
    """

    from_club: str
    entered: int
    coming: int
    start_numbers: Sequence[str]
    withdrawn: Sequence[int]

    @property
    def without_number(self) -> int:
        """How many come and have no start number."""
        return self.coming - len(self.start_numbers)


def enter_guest(
    session: ClubSession,
    meet_id: int,
    person: Person,
    from_club: str,
    start_number: str = "",
    division: str = "",
) -> Entrant:
    """Enter an athlete of another club; twins of one name are two athletes."""
    kept_meets.by_id(session, meet_id)
    guest = desk_athletes.add(session, person, meet_id=meet_id)
    told = (from_club, start_number, division)
    return _enter(session, meet_id, [guest.id], *told)[0]


@dataclass(frozen=True, slots=True)
class Guest:
    """An athlete of another club who is to be entered."""

    person: Person
    from_club: str
    start_number: str = ""
    division: str = ""


def enter_guests(session: ClubSession, meet_id: int, guests: Sequence[Guest]) -> list[int]:
    """Enter several athletes of other clubs; their numbers, in that order."""
    members = desk_athletes.add_all(session, [guest.person for guest in guests], meet_id=meet_id)
    about = {"meet_id": meet_id, "entered_by": session.by}
    told = (_told(guest.from_club, guest.start_number, guest.division) for guest in guests)
    numbers = [member.id for member in members]
    kept_meets.add_entries(
        session,
        [
            {**about, **columns, "athlete_id": number}
            for number, columns in zip(numbers, told, strict=True)
        ],
    )
    return numbers


def enter_own(
    session: ClubSession,
    meet_id: int,
    athlete_id: int,
    start_number: str = "",
    division: str = "",
) -> Entrant:
    """Enter an athlete of the squad; ``AlreadyEntered`` where that was done."""
    kept_meets.by_id(session, meet_id)
    member = desk_athletes.member(session, athlete_id)
    if any(entrant.member.id == athlete_id for entrant in entrants(session, meet_id)):
        raise AlreadyEntered(member.listed_name)
    club = kept_clubs.this_club(session).name
    return _enter(session, meet_id, [athlete_id], club, start_number, division)[0]


def enter_squad(
    session: ClubSession, meet_id: int, athlete_ids: Iterable[int], division: str = ""
) -> list[Entrant]:
    """Enter several athletes of the squad; whoever is entered already stays as entered.

    Those are given back who were entered now.
    """
    entered = {entrant.member.id for entrant in entrants(session, meet_id)}
    wanted = [athlete_id for athlete_id in dict.fromkeys(athlete_ids) if athlete_id not in entered]
    club = kept_clubs.this_club(session).name
    return _enter(session, meet_id, wanted, club, "", division)


def change_entry(
    session: ClubSession, entry_id: int, from_club: str, start_number: str, division: str
) -> Entrant:
    """Another club, start number or division for an entry."""
    row = kept_meets.entry_by_id(session, entry_id)
    _set(row, from_club, start_number, division)
    session.flush()
    return _entrant(row)


def number_entries(session: ClubSession, meet_id: int, numbers: Mapping[int, str]) -> None:
    """Other start numbers for entries of a meet, by the entry's number."""
    for row in kept_meets.entries(session, meet_id):
        if row.id in numbers:
            _set(row, row.from_club, numbers[row.id], row.division)
    session.flush()


def withdraw_entry(session: ClubSession, entry_id: int) -> Entrant:
    """The athlete does not come; settings and history stay."""
    row = kept_meets.entry_by_id(session, entry_id)
    if row.withdrawn_at is None:
        row.withdrawn_at, row.withdrawn_by = utc_now(), session.by
        session.flush()
    return _entrant(row)


def hanging(session: ClubSession, entry_id: int) -> list[Hanging]:
    """What hangs on an entry, which therefore stays; of a guest, what hangs on the athlete too."""
    row = kept_meets.entry_by_id(session, entry_id)
    found = taking_away.hanging(session, row)
    if row.athlete.meet_id is not None:
        told = (kept_meets.Entry.athlete_id, RotationTurn.athlete_id)
        found += taking_away.hanging(session, row.athlete, besides=told)
    return found


def going_along(session: ClubSession, entry_id: int) -> list[Hanging]:
    """What goes with an entry that is taken away: the settings of a guest."""
    athlete = kept_meets.entry_by_id(session, entry_id).athlete
    return taking_away.going_along(session, athlete) if athlete.meet_id is not None else []


def take_away(session: ClubSession, entry_id: int) -> None:
    """Take an entry away that was typed by mistake; a guest goes with it, one of the squad stays.

    ``SomethingHangsOnIt`` where anything does: a place on a start order, a card, a request.
    """
    row = kept_meets.entry_by_id(session, entry_id)
    athlete, name = row.athlete, desk_athletes.member_of(row.athlete).listed_name
    found = hanging(session, entry_id)
    if found:
        raise SomethingHangsOnIt(name, found)
    taking_away.delete(session, *((row,) if athlete.meet_id is None else (row, athlete)))


def enter_again(session: ClubSession, entry_id: int) -> Entrant:
    """The athlete does come after all."""
    row = kept_meets.entry_by_id(session, entry_id)
    desk_athletes.must_count(row.athlete)
    row.withdrawn_at = row.withdrawn_by = None
    session.flush()
    return _entrant(row)


def entrants(
    session: ClubSession, meet_id: int, most: int | None = None, after: int = 0, club: str = ""
) -> list[Entrant]:
    """Whoever is or was entered for a meet, by club and name: all, or some; of one ``club``."""
    return [_entrant(row) for row in kept_meets.entries(session, meet_id, most, after, club)]


def clubs(session: ClubSession, meet_id: int) -> list[ClubEntered]:
    """The clubs whose athletes are or were entered for a meet, by name, and how many."""
    return [ClubEntered(*row) for row in kept_meets.entries_by_club(session, meet_id)]


def entered_for(session: ClubSession, athlete_id: int) -> list[tuple[Meet, Entrant]]:
    """The meets that an athlete is or was entered for, the latest first."""
    rows = kept_meets.entries_of_athletes(session, [athlete_id])
    return [(desk_meets.meet(session, row.meet_id), _entrant(row)) for row in rows]


def entered_of(session: ClubSession, athlete_ids: Iterable[int]) -> list[Entrant]:
    """The entries of those athletes for any meet, the latest first."""
    return [_entrant(row) for row in kept_meets.entries_of_athletes(session, athlete_ids)]


def entrant(session: ClubSession, entry_id: int) -> Entrant:
    """One entry; ``NotInThisClub`` where there is none."""
    return _entrant(kept_meets.entry_by_id(session, entry_id))


def meet_id_of_entry(session: ClubSession, entry_id: int) -> int:
    """The meet that an entry is for; ``NotInThisClub`` where there is no such entry."""
    return kept_meets.entry_by_id(session, entry_id).meet_id


def tell_raise(
    session: ClubSession,
    entry_id: int,
    apparatus_id: int,
    step: str,
    raise_mm: int,
    told_by: str,
    told_on: date,
    remark: str = "",
    marks_include: bool | None = None,
) -> Entrant:
    """A request to raise the rails: "asked", or what came of it: "granted", "refused", "dropped".

    It changes no setting: what is granted is entered there by a person, and ``marks_include`` says
    whether that is done; None where nobody said it. ``NothingAsked`` where something is settled
    that nobody asked for.
    """
    row = kept_meets.entry_by_id(session, entry_id)
    desk_apparatus.piece(session, apparatus_id)
    asked = _entrant(row).raises.get(apparatus_id)
    if step != "asked" and asked is None:
        raise NothingAsked
    for words in (told_by, remark):
        must_be_printable(words)
    row.raise_requests.append(
        kept_meets.RaiseRequest(
            apparatus_id=apparatus_id,
            step=step,
            raise_mm=raise_mm if step == "asked" or asked is None else asked.raise_mm,
            told_by=told_by.strip(),
            told_on=told_on,
            remark=remark.strip(),
            marks_include=marks_include if step == "granted" else None,
            recorded_by=session.by,
        )
    )
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


def _enter(
    session: ClubSession,
    meet_id: int,
    athlete_ids: Sequence[int],
    from_club: str,
    start_number: str,
    division: str,
) -> list[Entrant]:
    athletes = kept_athletes.by_ids(session, athlete_ids)
    rows = [
        kept_meets.Entry(
            meet_id=meet_id,
            athlete=athletes.get(athlete_id) or kept_athletes.by_id(session, athlete_id),
            athlete_id=athlete_id,
            entered_by=session.by,
            raise_requests=[],
        )
        for athlete_id in athlete_ids
    ]
    for row in rows:
        _set(row, from_club, start_number, division)
    session.add_all(rows)
    session.flush()
    return [_entrant(row) for row in rows]


def _set(row: kept_meets.Entry, from_club: str, start_number: str, division: str) -> None:
    for column, words in _told(from_club, start_number, division).items():
        setattr(row, column, words)


def _told(from_club: str, start_number: str, division: str) -> dict[str, str]:
    must_fit(start_number, division)
    for words in (from_club, start_number, division):
        must_be_printable(words)
    return {
        "from_club": from_club.strip(),
        "start_number": start_number.strip(),
        "division": division.strip(),
    }


def _entrant(row: kept_meets.Entry) -> Entrant:
    return Entrant(
        entry_id=row.id,
        meet_id=row.meet_id,
        member=desk_athletes.member_of(row.athlete),
        from_club=row.from_club,
        start_number=row.start_number,
        division=row.division,
        is_guest=row.athlete.meet_id is not None,
        withdrawn_at=row.withdrawn_at,
        raises=steps_that_count(row.raise_requests),
    )
