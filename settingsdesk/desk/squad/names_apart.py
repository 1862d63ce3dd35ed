"""The names of a list's athletes, so that no two of them can be taken for each other.

Whoever alone has a printed name keeps it. Of namesakes the start number is said, and the club
where that does not tell; where there is neither, the names are made longer.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from settingsdesk.desk.squad.athletes import Member, member_of
from settingsdesk.domain.base.names import folded, heard
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class EnteredAs:
    """What a meet knows of an athlete besides the name; both may be empty."""

    start_number: str = ""
    club: str = ""


@dataclass(frozen=True, slots=True)
class Called:
    """How an athlete of a list is called: the name, and what is said beside it of namesakes.

    On a sheet that has start number and club in columns of their own the name alone is enough.
    """

    name: str
    beside: str = ""

    def __str__(self) -> str:
        return f"{self.name}, {self.beside}" if self.beside else self.name


def names_apart(
    members: Iterable[Member], entered: Mapping[int, EnteredAs] | None = None
) -> dict[int, Called]:
    """How each is called, by number; the same whatever their order, and no two alike.

    ``entered`` is what their meet knows of them; of others the squad's start number counts.
    """
    known = entered or {}
    called: dict[int, Called] = {}
    taken: set[str] = set()
    for alike in sorted(_alike(members), key=lambda alike: (len(alike) > 1, alike[0].id)):
        if len(alike) == 1:
            names = {alike[0].id: Called(alike[0].printed_name)}
        else:
            names = _apart([(member, _entered(member, known)) for member in alike], taken)
        taken |= {heard(str(name)) for name in names.values()}
        called |= names
    return called


def listed_apart(members: Iterable[Member]) -> dict[int, str]:
    """How each stands on a coach's list of names to choose from, by number.

    Of those whose listed names are the same it is said, too, how orders and cards call them.
    """
    everybody = list(members)
    how_many = Counter(heard(member.listed_name) for member in everybody)
    called = names_apart(everybody)
    return {
        member.id: f"{member.listed_name}: {called[member.id]}"
        if how_many[heard(member.listed_name)] > 1
        else member.listed_name
        for member in everybody
    }


def apart_in_squad(session: ClubSession, members: Iterable[Member]) -> dict[int, Called]:
    """How those are called, told apart from everybody in the squad and not from each other alone.

    So a name on paper is the same whoever else is printed beside it.
    """
    some = {member.id: member for member in members}
    everybody = dict(some)
    asked: set[str] = set()
    called: dict[int, Called] = {}
    said = {heard(member.printed_name) for member in some.values()}
    while said - asked:
        given = {member.person.given_name for member in everybody.values()}
        rows = kept_athletes.heard_as(session, given, said - asked)
        asked |= said
        everybody = {row.id: member_of(row) for row in rows} | everybody
        called = names_apart(everybody.values())
        # A name that was made longer may be how somebody else is called.
        said = {heard(str(name)) for name in called.values()}
    return {athlete_id: called[athlete_id] for athlete_id in some}


def namesakes(members: Iterable[Member]) -> list[tuple[Member, ...]]:
    """Those who have a printed name in common, name by name."""
    return [tuple(alike) for alike in _alike(members) if len(alike) > 1]


_Alike = Sequence[tuple[Member, EnteredAs]]


def _alike(members: Iterable[Member]) -> list[list[Member]]:
    by_name: dict[str, dict[int, Member]] = {}
    for member in members:
        by_name.setdefault(heard(member.printed_name), {})[member.id] = member
    return [[alike[number] for number in sorted(alike)] for alike in by_name.values()]


def _entered(member: Member, known: Mapping[int, EnteredAs]) -> EnteredAs:
    return known.get(member.id) or EnteredAs(member.person.start_number)


def _apart(alike: _Alike, taken: set[str]) -> dict[int, Called]:
    """The first way of calling them that tells them from each other and from all others."""
    return next(
        {member.id: called for (member, _), called in zip(alike, said, strict=True)}
        for said in _ways(alike)
        if len({heard(str(called)) for called in said} - taken) == len(alike)
    )


def _ways(alike: _Alike) -> Iterator[list[Called]]:
    """The ways of telling namesakes apart, the usual first; the last always does."""
    numbers = [known.start_number for _, known in alike]
    clubs = [known.club for _, known in alike]
    if _tell(numbers):
        yield [
            Called(athlete.printed_name, f"no. {known.start_number}") for athlete, known in alike
        ]
    if all(clubs) and _tell([" ".join(both) for both in zip(numbers, clubs, strict=True)]):
        yield [Called(athlete.printed_name, _number_and_club(known)) for athlete, known in alike]
    for letters in range(2, max(len(athlete.person.family_name) for athlete, _ in alike) + 1):
        yield [Called(_longer(athlete, letters)) for athlete, _ in alike]
    for first in count(1):
        yield [
            Called(f"{_whole(athlete)} ({place})")
            for place, (athlete, _) in enumerate(alike, start=first)
        ]


def _tell(words: Sequence[str]) -> bool:
    return all(words) and len({folded(word) for word in words}) == len(words)


def _number_and_club(known: EnteredAs) -> str:
    return f"no. {known.start_number}, {known.club}" if known.start_number else known.club


def _longer(member: Member, letters: int) -> str:
    """The given name with so many letters of the family name."""
    family = member.person.family_name
    if letters >= len(family):
        return _whole(member)
    return f"{member.person.given_name} {family[:letters]}.".strip()


def _whole(member: Member) -> str:
    return f"{member.person.given_name} {member.person.family_name}".strip()
