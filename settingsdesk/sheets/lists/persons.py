"""Who a list is about: one athlete for all rows that can only mean the same one.

Two of the same name are one athlete only while nothing tells them apart: another club, group,
start number or birth year makes them two. The sign of an apostrophe or a hyphen tells nobody
apart; names that differ in accents or in their order may be one athlete's, and are asked about.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from settingsdesk.domain.base.names import bare, with_one_sign
from settingsdesk.sheets.lists.preview import Answers, PersonFound

MOST_OF_ONE_NAME = 60  # with more, nothing is compared: each is one more, and queried
_TELLS_APART = ("club", "group", "start_number", "birth_year", "number_here")
_SURELY_TELLS_APART = ("club", "birth_year")

SEVERAL = "Several athletes have this name and nothing tells which is meant: ask for the club"
SEVERAL_HERE = (
    "Several athletes have this name and nothing tells which is meant: write the group, or the"
    " number that the sheet has for the one who is meant"
)
_ALIKE = (
    "{other} in row {row} may be the same athlete, as the names differ only in their order, accents"
    " or signs: say whether they are one or two"
)
_NUMBER_TWICE = "{other} in row {row} has the start number {number} as well: ask whose it is"


@dataclass(frozen=True, slots=True)
class Doubtful:
    """Why it is not sure who a row is about, and the place of whoever else may be meant."""

    why: str
    other: int | None
    is_answerable: bool


@dataclass(slots=True)
class Persons:
    """The athletes of a file, in the order in which they first stand there.

    Where ``as_written``, names that differ in more than capitals are different names.
    """

    found: list[PersonFound] = field(default_factory=list)
    as_written: bool = False
    _by_name: dict[tuple[str, ...], list[int]] = field(default_factory=dict)
    _alike: dict[tuple[str, ...], list[int]] = field(default_factory=dict)
    _numbered: dict[tuple[str, str], int] = field(default_factory=dict)
    _rows: dict[int, set[tuple[str, int]]] = field(default_factory=dict)
    """The rows of those who have several: one athlete may have thousands in a file that is none."""

    def place_of(
        self, person: PersonFound, key: str = "", answers: Answers | None = None
    ) -> tuple[int, Doubtful | None]:
        """The place of whoever is meant, a new one for somebody new.

        The second says why it is not sure who that is. ``answers`` may have, by ``key``, that the
        two who are alike are the "same" athlete, or "two".
        """
        name = self._name_of(person)
        known = self._by_name.get(name, [])[:MOST_OF_ONE_NAME]
        same = [place for place in known if _same(self.found[place], person, _TELLS_APART)]
        if len(same) == 1:
            self._complete(same[0], person)
            return same[0], None
        answer = (answers or {}).get(key, "")
        loose = name if self.as_written else _loosely(person)
        other = self._may_be(person, loose, known)
        if other is not None and answer == "same":
            self._complete(other, person)
            return other, None
        self.found.append(person)
        place = len(self.found) - 1
        self._by_name.setdefault(name, []).append(place)
        self._alike.setdefault(loose, []).append(place)
        if same or len(known) == MOST_OF_ONE_NAME:
            why = SEVERAL_HERE if self.as_written else SEVERAL
            return place, Doubtful(why, None, is_answerable=False)
        return place, None if answer == "two" else self._doubtful(person, place, other)

    def _complete(self, place: int, more: PersonFound) -> None:
        """Add what a further row says of an athlete."""
        known = self.found[place]
        for name in (*_TELLS_APART, "printed_name", "raise_request"):
            if not getattr(known, name):
                setattr(known, name, getattr(more, name))
        if place not in self._rows:
            self._rows[place] = set(known.rows)
        rows = self._rows[place]
        known.rows += [row for row in more.rows if row not in rows]
        rows.update(more.rows)

    def _name_of(self, person: PersonFound) -> tuple[str, ...]:
        """What two names have in common that are taken for one."""
        if self.as_written:
            return person.family_name.casefold(), person.given_name.casefold()
        parts = (person.family_name, person.given_name, person.full_name)
        return (" ".join(with_one_sign(part) for part in parts),)

    def _doubtful(self, person: PersonFound, place: int, other: int | None) -> Doubtful | None:
        why = _ALIKE
        if other is None and person.start_number:
            numbered = (with_one_sign(person.club), person.start_number.strip())
            other = self._numbered.setdefault(numbered, place)
            why = _NUMBER_TWICE
        if other is None or other == place:
            return None
        named = self.found[other]
        row = named.rows[0][1] if named.rows else 0
        told = why.format(other=named.shown, row=row, number=person.start_number)
        return Doubtful(told, other, is_answerable=True)

    def _may_be(
        self, person: PersonFound, loose: tuple[str, ...], known: Sequence[int]
    ) -> int | None:
        """Somebody before whose name is nearly the same, and whom nothing surely tells apart."""
        for place in self._alike.get(loose, [])[:MOST_OF_ONE_NAME]:
            is_other_name = place not in known
            if is_other_name and _same(self.found[place], person, _SURELY_TELLS_APART):
                return place
        return None


def _same(known: PersonFound, other: PersonFound, by: Sequence[str]) -> bool:
    return all(
        not (a := getattr(known, name))
        or not (b := getattr(other, name))
        or a == b
        or with_one_sign(a) == with_one_sign(b)
        for name in by
    )


def _loosely(person: PersonFound) -> tuple[str, ...]:
    """The words of a name in no order, without accents, apostrophes and hyphens."""
    parts = f"{person.family_name} {person.given_name} {person.full_name}"
    return tuple(sorted(bare(parts).split()))


def split_full_name(text: str, names_first: str) -> tuple[str, str]:
    """Family and given name of a name in one cell; empty where nobody can tell which is which.

    A comma tells; otherwise ``names_first`` says which comes first, "family" or "given", and a
    name of two words is split there. A name of more words keeps all but one with the other part
    only where the first is the given name: "Ada de Vries" but not "de Vries Ada".
    """
    family, comma, given = (part.strip() for part in text.partition(","))
    if comma and family and given:
        return family, given
    words: Sequence[str] = text.split()
    if len(words) == 2 and names_first == "family":
        return words[0], words[1]
    if len(words) >= 2 and names_first == "given":
        return " ".join(words[1:]), words[0]
    return "", ""
