"""Who of those entered a line of a start list means, or why that is not certain.

A start number, a name, and a club where there is one have to agree. Nothing is guessed: where two
of them tell of different athletes, or a name is nobody's, a person has to look.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.names import bare, folded

_MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class Called:
    """What a line calls an athlete: cells that may be the number, the name, and the club.

    The same cell may stand in all three where no header says what it is. ``by_place`` says that
    the number may only count the rows; it then tells nothing where there is a name.
    """

    numbers: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    clubs: tuple[str, ...] = ()
    by_place: bool = False


@dataclass(frozen=True, slots=True)
class Meant:
    """The one entrant who is meant; or None, with ``why`` and what to do."""

    entrant: Entrant | None
    why: str = ""


class Roll:
    """The entrants who come, by start number and by name."""

    def __init__(self, entrants: Iterable[Entrant]) -> None:
        self._by_number: dict[str, list[Entrant]] = {}
        self._by_name: dict[str, list[Entrant]] = {}
        self._clubs: set[str] = set()
        for entrant in entrants:
            if entrant.is_in:
                self._add(entrant)

    def _add(self, entrant: Entrant) -> None:
        if entrant.start_number:
            self._by_number.setdefault(folded(entrant.start_number), []).append(entrant)
        if entrant.from_club:
            self._clubs.add(_key(entrant.from_club))
        person = entrant.member.person
        names = {
            _key(person.family_name, person.given_name),
            _key(person.given_name, person.family_name),
            _key(entrant.member.printed_name),
        }
        for name in names:
            self._by_name.setdefault(name, []).append(entrant)

    def has_number(self, text: str) -> bool:
        """Whether somebody who comes has this start number."""
        return folded(text) in self._by_number

    def meant_by(self, called: Called) -> Meant:
        """The entrant that a line means."""
        told = self._clubs & {_key(club) for club in called.clubs}
        named = self._named(called.names)
        of_the_club = [entrant for entrant in named if _key(entrant.from_club) in told]
        if named and told and not of_the_club:
            return Meant(None, f"{_listed(named)} is entered for another club: look at the entries")
        named = of_the_club or named
        numbered = self._numbered(called.numbers)
        if not named:
            return self._by_number_alone(called, numbered)
        if both := [entrant for entrant in named if entrant in numbered]:
            return _the_one(both)
        if called.by_place or not numbered:
            return self._by_name_alone(called, named)
        return Meant(
            None,
            f"the number is {_listed(numbered)} and the name is {_listed(named)}, so leave the one"
            " that is right",
        )

    def _by_number_alone(self, called: Called, numbered: Sequence[Entrant]) -> Meant:
        said = [name for name in called.names if name not in called.numbers or not _is_digits(name)]
        said = [name for name in said if not self.has_number(name)]
        found = _the_one(numbered)
        if found.entrant is None or not said or _is_like(found.entrant, said):
            return found
        return Meant(
            None,
            f"the number is {_listed(numbered)} and nobody entered is called"
            f" {quoted(' '.join(said))} in full: leave the number alone, or write both names",
        )

    def _by_name_alone(self, called: Called, named: Sequence[Entrant]) -> Meant:
        found = _the_one(named)
        said = [text for text in called.numbers if _is_digits(text)]
        if found.entrant is None or called.by_place or not said or not found.entrant.start_number:
            return found
        return Meant(
            None,
            f"{_listed(named)} is entered with another number, so leave the name alone or put the"
            " entry right",
        )

    def _numbered(self, texts: Iterable[str]) -> list[Entrant]:
        found = [entrant for text in texts for entrant in self._by_number.get(folded(text), [])]
        return [entrant for place, entrant in enumerate(found) if entrant not in found[:place]]

    def _named(self, texts: Sequence[str]) -> list[Entrant]:
        return next((self._by_name[key] for key in _keys(texts) if key in self._by_name), [])


def _the_one(found: Sequence[Entrant]) -> Meant:
    if len(found) == 1:
        return Meant(found[0])
    if not found:
        return Meant(
            None,
            "nobody entered has this number or whole name: write both names or the start number,"
            " or look at the entries",
        )
    return Meant(None, f"it may be {_listed(found)}: write the start number")


def _is_like(entrant: Entrant, said: Iterable[str]) -> bool:
    """Whether every word is the entrant's: of the name or its initial, whole club or division."""
    person = entrant.member.person
    names = _key(person.family_name, person.given_name, entrant.member.printed_name).split()
    beside = [_key(text) for text in (entrant.from_club, entrant.division) if text]
    words: set[str] = set()
    for text in said:
        left = f" {_key(text)} "
        for known in beside:
            left = left.replace(f" {known} ", " ")
        words.update(left.split())
    return all(any(_is_word(word, name) for name in names) for word in words)


def _is_word(said: str, name: str) -> bool:
    """Whether somebody means that word of a name: as it is, or by its first letter."""
    said = said.rstrip(".")
    return said == name.rstrip(".") or (len(said) == 1 and name.startswith(said))


def _listed(found: Sequence[Entrant]) -> str:
    names = [
        f"{entrant.member.listed_name} ({entrant.from_club or 'no club'}, number"
        f" {entrant.start_number or 'none'})"
        for entrant in found[:_MOST_NAMED]
    ]
    return "; ".join(names) + ("; and others" if len(found) > _MOST_NAMED else "")


def _is_digits(text: str) -> bool:
    return text.strip().isdecimal()


def _keys(texts: Sequence[str]) -> Iterator[str]:
    """What a name may be found by: each cell, and each two that stand beside each other."""
    yield from (_key(text) for text in texts)
    yield from (_key(former, two) for former, two in pairwise(texts))


def _key(*parts: str) -> str:
    return " ".join(bare(" ".join(parts)).split())
