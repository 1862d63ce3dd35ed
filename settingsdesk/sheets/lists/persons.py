"""Who a list is about: one athlete for all rows that can only mean the same one.

Two of the same name are one athlete only while nothing tells them apart: another club, group,
start number or birth year makes them two.
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field

from settingsdesk.sheets.lists.preview import PersonFound

MOST_OF_ONE_NAME = 60  # with more, nothing is compared: each is one more, and queried
_TELLS_APART = ("club", "group", "start_number", "birth_year")


@dataclass(slots=True)
class Persons:
    """The athletes of a file, in the order in which they first stand there."""

    found: list[PersonFound] = field(default_factory=list)
    _by_name: dict[str, list[int]] = field(default_factory=dict)

    def place_of(self, person: PersonFound) -> tuple[int, bool]:
        """The place of whoever is meant, a new one for somebody new.

        The second says that several athletes could be meant, so that it stands as one more.
        """
        name = " ".join(
            unicodedata.normalize("NFKC", part).casefold()
            for part in (person.family_name, person.given_name, person.full_name)
        )
        known = self._by_name.get(name, [])[:MOST_OF_ONE_NAME]
        alike = [place for place in known if _same(self.found[place], person)]
        if len(alike) == 1:
            _complete(self.found[alike[0]], person)
            return alike[0], False
        self.found.append(person)
        self._by_name.setdefault(name, []).append(len(self.found) - 1)
        return len(self.found) - 1, bool(alike) or len(known) == MOST_OF_ONE_NAME


def _same(one: PersonFound, other: PersonFound) -> bool:
    return all(
        not (a := getattr(one, name)) or not (b := getattr(other, name)) or a == b
        for name in _TELLS_APART
    )


def _complete(known: PersonFound, more: PersonFound) -> None:
    for name in (*_TELLS_APART, "raise_request"):
        if not getattr(known, name):
            setattr(known, name, getattr(more, name))
    known.rows += [row for row in more.rows if row not in known.rows]


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
