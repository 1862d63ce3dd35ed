"""Where the athletes of a coach's list go: among the entries of a meet, or into the squad."""

import re
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher
from functools import cached_property

from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.lists.listed_people import ListedPerson, SeveralOfThatName
from settingsdesk.desk.lists.near_names import NearNames
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import unsettled_lines
from settingsdesk.desk.meets.entries import Entrant, Guest
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member, Person
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.names import folded
from settingsdesk.sheets.lists.preview import PersonFound
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.work import ClubSession


class MeetEntries:
    """The entries of a meet; twins are told apart by their start numbers."""

    reason = "From the club's list"
    takes_ours = False
    takes_purposes = False
    has_our_marks = False

    def __init__(self, session: ClubSession, meet_id: int) -> None:
        self._meet_id = meet_id
        self._models_there = kept_meets.models_there(session, meet_id)
        self._entrants: dict[tuple[str, str, str], list[Entrant]] = {}
        for entrant in desk_entries.entrants(session, meet_id):
            key = (*_names(entrant.member.person), folded(entrant.from_club))
            self._entrants.setdefault(key, []).append(entrant)

    def known(self, person: Person, found: PersonFound) -> int | None:
        """Whoever is entered for that club; by the number where several have the name.

        Raises ``EntryTooLong`` too.
        """
        start_number = found.start_number
        desk_entries.must_fit(start_number, found.group)
        alike = self._entrants.get((*_names(person), folded(found.club)), [])
        if start_number:
            numbered = [entrant for entrant in alike if entrant.start_number == start_number]
            alike = numbered or [entrant for entrant in alike if not entrant.start_number]
        if len(alike) > 1:
            raise SeveralOfThatName(person, "start numbers")
        return alike[0].member.id if alike else None

    def may_be(self, found: PersonFound) -> Mapping[int, str]:
        """Whoever is entered for that club, and is printed so or has that name with others."""
        near = self._near.get(folded(found.club))
        if near is None:
            return {}
        names = folded(found.family_name), folded(found.given_name)
        alike = self._entrants.get((*names, folded(found.club)), [])
        return near.listed([one.member.id for one in alike]) if alike else near.of(found)

    @cached_property
    def _near(self) -> Mapping[str, NearNames]:
        by_club: dict[str, list[Member]] = {}
        for (*_, club), entrants in self._entrants.items():
            by_club.setdefault(club, []).extend(entrant.member for entrant in entrants)
        return {club: NearNames(members) for club, members in by_club.items()}

    def club_alike(self, name: str) -> str:
        """A club of the entries whose name differs by its signs, a letter or two, or a word."""
        clubs = {key[2]: entrants[0].from_club for key, entrants in self._entrants.items()}
        if folded(name) in clubs:
            return ""
        return next((known for known in clubs.values() if _names_alike(name, known)), "")

    def not_listed(self, people: Sequence[ListedPerson]) -> Iterator[str]:
        """Whoever that club had entered before, by the names of the list."""
        clubs = {folded(athlete.found.club) for athlete in people}
        listed = {athlete.known for athlete in people}
        named = {folded(athlete.person.listed_name) for athlete in people}
        for (*_, club), alike in self._entrants.items():
            for entrant in alike if club in clubs else ():
                name = entrant.member.person.listed_name
                if entrant.is_in and entrant.member.id not in listed and folded(name) not in named:
                    yield name

    def kept(self, athlete_id: int) -> Person | None:
        """None: a list's group is the entry's division, and nothing of the person changes."""
        del athlete_id
        return None

    def is_untried(self, found: PersonFound, model_name: str) -> bool:
        """No list says it."""
        del found, model_name
        return False

    def model_of(self, kind: str, versions: Sequence[ModelVersion], named: str) -> ModelVersion:
        """That of the hall's apparatus, else one of the club's."""
        del named  # a guest's own model stands in another hall
        of_kind = {version.id: version for version in versions if version.model.kind.key == kind}
        for number in (*self._models_there, *of_kind):
            if number in of_kind:
                return of_kind[number]
        raise NoModelOfThatKind

    def take_all(self, session: ClubSession, coming: Sequence[ListedPerson]) -> Sequence[int]:
        """Enter guests; the group of a list is the entry's division."""
        guests = [
            Guest(
                replace(athlete.person, group_name=""),
                athlete.found.club,
                athlete.found.start_number,
                athlete.found.group,
            )
            for athlete in coming
        ]
        return desk_entries.enter_guests(session, self._meet_id, guests)

    def keep_left_out(
        self, session: ClubSession, sent_by: str, layout_key: str, lines: Iterable[Line]
    ) -> None:
        """The host settles it with the club before the day."""
        unsettled_lines.keep(session, self._meet_id, sent_by, layout_key, lines)


class GuestsEntries(MeetEntries):
    """The same for what a club of this desk hands over: the host has said which club it is.

    ``untried`` are names and models of settings that the athlete has not tried.
    """

    def __init__(
        self, session: ClubSession, meet_id: int, untried: Container[tuple[str, str, str]]
    ) -> None:
        super().__init__(session, meet_id)
        self._untried = untried

    def is_untried(self, found: PersonFound, model_name: str) -> bool:
        """What the club knows of it."""
        names = (folded(found.family_name), folded(found.given_name))
        return (*names, model_name) in self._untried

    def may_be(self, found: PersonFound) -> Mapping[int, str]:
        """Nobody: the club itself says who they are."""
        del found
        return {}

    def club_alike(self, name: str) -> str:
        """None: the host named it when it was invited."""
        del name
        return ""


class Squad:
    """The club's own athletes; twins are told apart by their numbers here, or their groups."""

    reason = "From a list"
    takes_ours = True
    takes_purposes = True
    has_our_marks = True

    def __init__(self, session: ClubSession) -> None:
        self._squad = _by_names(desk_athletes.find(session))
        self._left = _by_names(desk_athletes.find(session, left=True))
        self._persons = {
            member.id: member.person for alike in self._squad.values() for member in alike
        }

    def known(self, person: Person, found: PersonFound) -> int | None:
        """Whoever of the squad has the name, first as it is written; by the group of several.

        Raises ``NoSuchNumberHere`` where the list says a number, and nobody of the name has it.
        """
        alike = self._squad.get(_names(person), [])
        if found.number_here and alike:
            return _numbered(person, alike, found.number_here)
        name = person.listed_name.casefold()
        alike = [member for member in alike if member.listed_name.casefold() == name] or alike
        if len(alike) > 1:
            group = folded(found.group)
            in_it = [member for member in alike if folded(member.person.group_name) == group]
            if len(in_it) != 1:
                raise SeveralOfThatName(person, "groups")
            alike = in_it
        if not alike and _names(person) in self._left:
            raise HasLeft(person)
        swapped = Person(person.given_name, person.family_name)
        if not alike and _names(swapped) in self._squad:
            raise NamesSwapped(swapped)
        return alike[0].id if alike else None

    def may_be(self, found: PersonFound) -> Mapping[int, str]:
        """Whoever of the squad is printed so, or has that name with others."""
        names = folded(found.family_name), folded(found.given_name)
        alike = self._squad.get(names, []) if found.is_split else []
        return self._near.listed([one.id for one in alike]) if alike else self._near.of(found)

    @cached_property
    def _near(self) -> NearNames:
        return NearNames([member for alike in self._squad.values() for member in alike])

    def club_alike(self, name: str) -> str:
        """None: it is our own list."""
        del name
        return ""

    def not_listed(self, people: Sequence[ListedPerson]) -> Iterable[str]:
        """Nobody: a list of one group is not that of the squad."""
        del people
        return ()

    def kept(self, athlete_id: int) -> Person | None:
        """Whoever of the squad has that number."""
        return self._persons[athlete_id]

    def is_untried(self, found: PersonFound, model_name: str) -> bool:
        """No list says it; what is so already stays so."""
        del found, model_name
        return False

    def model_of(self, kind: str, versions: Sequence[ModelVersion], named: str) -> ModelVersion:
        """The club's only one of that kind, and no other than a list names."""
        of_kind = [version for version in versions if version.model.kind.key == kind]
        if not of_kind:
            raise NoModelOfThatKind
        if named:
            raise ModelNotKnown(named, [version.model.name for version in of_kind])
        if len(of_kind) > 1:
            raise SeveralModels([version.model.name for version in of_kind])
        return of_kind[0]

    def take_all(self, session: ClubSession, coming: Sequence[ListedPerson]) -> Sequence[int]:
        """Add athletes to the squad."""
        return [
            member.id for member in desk_athletes.add_all(session, [new.person for new in coming])
        ]

    def keep_left_out(
        self, session: ClubSession, sent_by: str, layout_key: str, lines: Iterable[Line]
    ) -> None:
        """Nothing: whoever sent it has just seen it, and corrects the list."""
        del session, sent_by, layout_key, lines


def _names(person: Person) -> tuple[str, str]:
    """Family name and given name as they are compared."""
    return folded(person.family_name), folded(person.given_name)


def _numbered(person: Person, alike: Iterable[Member], number: str) -> int:
    """Whoever of those has the number by which they were told apart when they were written out."""
    for member in alike:
        if str(member.id) == number:
            return member.id
    raise NoSuchNumberHere(person, number)


def _by_names(members: Iterable[Member]) -> dict[tuple[str, str], list[Member]]:
    by_names: dict[tuple[str, str], list[Member]] = {}
    for member in members:
        by_names.setdefault(_names(member.person), []).append(member)
    return by_names


NOT_A_WORD = re.compile(r"[\W_]+")
ALIKE = 0.8
"""So much of two names of clubs is the same where they may be one club: three letters of 15."""


def _names_alike(name: str, other: str) -> bool:
    """Whether two names of clubs may be the same club's: "TV Hill", "T.V. Hill", "TV Hill 1920"."""
    plain, other_plain = (NOT_A_WORD.sub("", folded(text)) for text in (name, other))
    words, other_words = (set(NOT_A_WORD.split(folded(text))) - {""} for text in (name, other))
    fewer, more = sorted((words, other_words), key=len)
    if plain == other_plain or (fewer and fewer <= more):
        return True
    compared = SequenceMatcher(None, plain, other_plain, autojunk=False)
    return compared.quick_ratio() >= ALIKE and compared.ratio() >= ALIKE


class NoSuchNumberHere(SettingsDeskError):
    """A line says which of several it is about by a number that none of them has."""

    def __init__(self, person: Person, number: str) -> None:
        self.person = person
        self.number = number

    def __str__(self) -> str:
        return (
            f"nobody called {self.person.family_name}, {self.person.given_name} has the number"
            f" {quoted(self.number)} in settingsdesk: clear the number, and write the group"
        )


class HasLeft(SettingsDeskError):
    """A line is about somebody who has left the club."""

    def __init__(self, person: Person) -> None:
        self.person = person

    def __str__(self) -> str:
        return (
            f"{self.person.family_name}, {self.person.given_name} has left: put them back on the"
            " lists first, or delete the line"
        )


class NamesSwapped(SettingsDeskError):
    """A line has the names of somebody known the other way round."""

    def __init__(self, person: Person) -> None:
        self.person = person

    def __str__(self) -> str:
        return (
            f"{self.person.family_name}, {self.person.given_name} is in the squad: the family name"
            " and the given name seem to be the other way round here"
        )


class NoModelOfThatKind(SettingsDeskError):
    """Lengths were given for a kind of apparatus that nobody has added a model of."""

    sentence = "no model of that kind of apparatus is known here: add it first"


class SeveralModels(SettingsDeskError):
    """Lengths were given for a kind of apparatus that several models are of."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = tuple(names)

    def __str__(self) -> str:
        return f"which of {', '.join(self.names)} is meant? Choose it, or name it in the list"


class ModelNotKnown(SettingsDeskError):
    """A list of one's own names a model that nobody has added."""

    def __init__(self, named: str, names: Sequence[str]) -> None:
        self.named = named
        self.names = tuple(names)

    def __str__(self) -> str:
        return (
            f"the model {quoted(self.named)} is not known here: add it, or write one of"
            f" {', '.join(self.names)} in the list"
        )
