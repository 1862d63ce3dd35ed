"""The squad: who is in it, and by which name the cards call them."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from settingsdesk.cards.lettering import lettered
from settingsdesk.desk.clock import today
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.names import folded, usual_name
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import taking_away
from settingsdesk.store.athletes import Question
from settingsdesk.store.taking_away import Hanging
from settingsdesk.store.work import ClubSession

AT_ONCE = 60
"""So many names stand on one page."""
MOST_GROUPS = 200
"""With more groups than these nobody looks through a list of them."""
LONGEST_NAME = 80
_UNPRINTABLE = re.compile(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff]")
"""Control characters and halves of characters: the Unicode categories Cc and Cs, whole."""


@dataclass(frozen=True, slots=True)
class Person:
    """What the club keeps of an athlete's person, and no more than that.

    ``printed_name`` empty means the usual form: given name and initial.
    """

    family_name: str
    given_name: str
    printed_name: str = ""
    group_name: str = ""
    start_number: str = ""

    def __post_init__(self) -> None:
        if not self.given_name.strip() and not self.family_name.strip():
            raise PersonUnnamed
        for part in self._parts:
            must_be_printable(part)

    @property
    def listed_name(self) -> str:
        """The name in the coach's lists: "Nowak, Hana"."""
        return ", ".join(part for part in (self.family_name, self.given_name) if part)

    @property
    def usual_name(self) -> str:
        """The name that is printed unless the club chose another: given name and initial."""
        return usual_name(self.family_name, self.given_name)

    @property
    def _parts(self) -> tuple[str, ...]:
        return (
            self.family_name,
            self.given_name,
            self.printed_name,
            self.group_name,
            self.start_number,
        )


def must_be_printable(name: str) -> None:
    """Raise ``NameTooLong`` or ``NameNotPrintable`` where no card can carry the name."""
    if len(name) > LONGEST_NAME:
        raise NameTooLong(name)
    if _UNPRINTABLE.search(name):
        raise NameNotPrintable(name)


def must_have_letters(person: Person) -> None:
    """Raise ``CharacterNotInFont`` where cards and crew sheets cannot print the person's name.

    Asked where a name is typed in, so that it is settled there and not at the printer; lists that
    come in are taken as they are, and say it of each before the day.
    """
    lettered(person.printed_name or person.usual_name)


@dataclass(frozen=True, slots=True)
class Member:
    """An athlete of the club; ``left_on`` is empty while they are in it."""

    id: int
    person: Person
    left_on: date | None

    @property
    def listed_name(self) -> str:
        """The name in the coach's lists."""
        return self.person.listed_name

    @property
    def printed_name(self) -> str:
        """The name on cards and at the apparatus: as the club chose, or given name and initial."""
        return self.person.printed_name or self.person.usual_name


@dataclass(frozen=True, slots=True)
class ListPage:
    """One page of a list of athletes: who stands on it, how many the whole list has."""

    members: tuple[Member, ...]
    count: int
    number: int
    pages: int


def find(session: ClubSession, text: str = "", *, left: bool = False) -> list[Member]:
    """The athletes whose name, group or start number has every typed word, by family name."""
    return [member_of(row) for row in kept_athletes.search(session, text, left=left)]


def page(
    session: ClubSession,
    words: str = "",
    group: str = "",
    *,
    left: bool = False,
    number: int = 1,
    narrowed: Callable[[Question], Question] | None = None,
) -> ListPage:
    """One page of those whom ``find`` finds, of one group or of all; the last where it is less.

    ``narrowed`` leaves some of them out.
    """
    asked = kept_athletes.of_squad(words, group, left=left)
    if narrowed is not None:
        asked = narrowed(asked)
    count = kept_athletes.count(session, asked)
    pages = max(1, -(-count // AT_ONCE))
    number = min(number, pages)
    rows = kept_athletes.by_name(session, asked, AT_ONCE, (number - 1) * AT_ONCE)
    return ListPage(tuple(member_of(row) for row in rows), count, number, pages)


def of_same_names(session: ClubSession, person: Person) -> list[Member]:
    """Who is in the squad with those given and family names; capitals and accents aside."""
    found = find(session, f"{person.given_name} {person.family_name}")
    return [member for member in found if names_of(member.person) == names_of(person)]


def of_one_name(session: ClubSession) -> frozenset[int]:
    """Everybody of the squad whose name others have too; capitals and accents aside."""
    first: dict[tuple[str, str], int] = {}
    several: set[int] = set()
    for athlete_id, *names in kept_athletes.names_of_squad(session):
        other = first.setdefault((folded(names[0]), folded(names[1])), athlete_id)
        if other != athlete_id:
            several |= {other, athlete_id}
    return frozenset(several)


def names_of(person: Person) -> tuple[str, str]:
    """The family and the given name as they are compared."""
    return folded(person.family_name), folded(person.given_name)


def member(session: ClubSession, athlete_id: int) -> Member:
    """One athlete; ``NotInThisClub``, ``TakenIn`` where another counts, or ``WasErased``."""
    return member_of(_counting(session, athlete_id))


def as_now(session: ClubSession, athlete_id: int) -> Member:
    """The same, or whoever that entry was taken in to."""
    row = kept_athletes.by_id(session, athlete_id)
    if row.taken_into_id is not None:
        row = kept_athletes.by_id(session, row.taken_into_id)
    return member_of(row)


def taken_in(session: ClubSession, athlete_id: int) -> list[Member]:
    """The other entries of the same person that were taken in to this one."""
    return [member_of(row) for row in kept_athletes.taken_in(session, athlete_id)]


def must_count(row: kept_athletes.Athlete) -> None:
    """Raise ``TakenIn`` for an entry that was taken in to another, ``WasErased`` for a number."""
    if row.erased_on is not None:
        raise WasErased(row.id, row.erased_on)
    if row.taken_into_id is not None:
        raise TakenIn(member_of(row).listed_name, row.id, row.taken_into_id)


def _counting(session: ClubSession, athlete_id: int) -> kept_athletes.Athlete:
    row = kept_athletes.by_id(session, athlete_id)
    must_count(row)
    return row


def members(session: ClubSession, athlete_ids: Iterable[int]) -> dict[int, Member]:
    """Those athletes by number, in one query."""
    found = kept_athletes.by_ids(session, list(athlete_ids))
    return {athlete_id: member_of(row) for athlete_id, row in found.items()}


def is_of_squad(session: ClubSession, athlete_id: int) -> bool:
    """Whether somebody is in the club's squad now."""
    return kept_athletes.count(session, kept_athletes.present_among([athlete_id])) == 1


def groups(session: ClubSession) -> Sequence[str]:
    """The names of the groups that athletes are in; none where they are too many to look through.

    Words that are searched for find a group's athletes all the same.
    """
    return kept_athletes.group_names(session, MOST_GROUPS)


def anybody(session: ClubSession) -> bool:
    """Whether anybody is in the squad."""
    return kept_athletes.anybody(session)


def add(session: ClubSession, person: Person, *, meet_id: int | None = None) -> Member:
    """A further athlete. Twins of one name are two athletes: nothing is merged.

    With ``meet_id`` one whom another club entered for that meet, and who is not of the squad.
    """
    return add_all(session, [person], meet_id=meet_id)[0]


def add_all(
    session: ClubSession, persons: Iterable[Person], *, meet_id: int | None = None
) -> list[Member]:
    """Further athletes, in their order, in as few statements as their number allows."""
    kept = [_columns(person) for person in persons]
    numbers = kept_athletes.add_all(session, session.by, kept, meet_id)
    return [
        Member(number, Person(**names), None) for number, names in zip(numbers, kept, strict=True)
    ]


def change(session: ClubSession, athlete_id: int, person: Person) -> Member:
    """Other names, group or start number for an athlete."""
    row = _counting(session, athlete_id)
    _set(row, person)
    session.flush()
    return member_of(row)


def change_all(session: ClubSession, persons: Mapping[int, Person]) -> None:
    """The same for several athletes, by their numbers."""
    rows = kept_athletes.by_ids(session, persons)
    for athlete_id, person in persons.items():
        _set(rows[athlete_id], person)
    session.flush()


def leave(session: ClubSession, athlete_id: int, on: date) -> Member:
    """Take an athlete who left on that day off the lists, at once; settings and history stay.

    ``StillHere`` where that day is to come: until then cards and lists must hold.
    """
    row = _counting(session, athlete_id)
    if on > today():
        raise StillHere(member_of(row).listed_name, on)
    row.left_on = on
    session.flush()
    return member_of(row)


def come_back(session: ClubSession, athlete_id: int) -> Member:
    """Put an athlete who had left back on the lists."""
    row = _counting(session, athlete_id)
    row.left_on = None
    session.flush()
    return member_of(row)


def hanging(session: ClubSession, athlete_id: int) -> list[Hanging]:
    """What hangs on an athlete, who therefore stays; nothing where they can be taken away."""
    return taking_away.hanging(session, kept_athletes.by_id(session, athlete_id))


def going_along(session: ClubSession, athlete_id: int) -> list[Hanging]:
    """What goes with an athlete who is taken away, and has to be named before: the settings."""
    return taking_away.going_along(session, kept_athletes.by_id(session, athlete_id))


def take_away(session: ClubSession, athlete_id: int) -> None:
    """Take an athlete away who was typed by mistake, with settings that nobody was set by.

    ``SomethingHangsOnIt`` where anything does: a card, a rotation, a run, an entry.
    """
    row = kept_athletes.by_id(session, athlete_id)
    taking_away.take_away(session, row, member_of(row).listed_name)


def _set(row: kept_athletes.Athlete, person: Person) -> None:
    for column, text in _columns(person).items():
        setattr(row, column, text)


def _columns(person: Person) -> dict[str, str]:
    """Composed characters (NFC), so that a name is found and matched however it was typed."""
    return {
        column: unicodedata.normalize("NFC", text.strip())
        for column, text in {
            "family_name": person.family_name,
            "given_name": person.given_name,
            "printed_name": person.printed_name,
            "group_name": person.group_name,
            "start_number": person.start_number,
        }.items()
    }


def member_of(row: kept_athletes.Athlete) -> Member:
    """The athlete as the desk speaks of them."""
    person = Person(
        family_name=row.family_name,
        given_name=row.given_name,
        printed_name=row.printed_name,
        group_name=row.group_name,
        start_number=row.start_number,
    )
    return Member(row.id, person, row.left_on)


class PersonUnnamed(SettingsDeskError):
    """An athlete was given neither a given nor a family name."""

    sentence = "Enter the athlete's given name or family name"


class TakenIn(SettingsDeskError):
    """An entry was meant that was merged into another one of the same athlete."""

    def __init__(self, name: str, athlete_id: int, into_id: int) -> None:
        self.name, self.athlete_id, self.into_id = name, athlete_id, into_id

    def __str__(self) -> str:
        return (
            f"The entry of {self.name} was merged into another one of the same athlete, and nothing"
            " was changed: open that one"
        )


class WasErased(SettingsDeskError):
    """An athlete was asked for whose data were erased."""

    def __init__(self, athlete_id: int, on: date) -> None:
        self.athlete_id, self.on = athlete_id, on

    def __str__(self) -> str:
        return (
            f"What was kept about athlete {self.athlete_id} was erased on {day_in_words(self.on)}."
            " Only the number is left, in lists and runs from before"
        )


class StillHere(SettingsDeskError):
    """An athlete was to be taken off the lists because of a day to come."""

    def __init__(self, name: str, on: date) -> None:
        self.name, self.on = name, on

    def __str__(self) -> str:
        return (
            f"{day_in_words(self.on)} is to come, and {self.name} is off the lists at once: enter"
            " today or a day before, or come back to this page on that day"
        )


class NameTooLong(SettingsDeskError):
    """A name longer than any card has room for."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return Sentence(
            "A name must have at most %(most)s characters; %(name)s has %(length)s",
            most=LONGEST_NAME,
            name=quoted(self.name),
            length=len(self.name),
        )


class NameNotPrintable(SettingsDeskError):
    """A name with control characters in it, as a copied text may bring along."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return Sentence(
            "The name %(name)s has signs in it that cannot be printed: type it again",
            name=quoted(self.name),
        )
