"""Who may be meant by a name that is none of those in full: as cards and start lists have it.

A coach's list often has "Ana N." or "A. Novak" where the squad has "Novak, Ana". Nobody is taken
for another by that: it is only offered.
"""

from collections.abc import Collection

from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.names_apart import listed_apart, names_apart
from settingsdesk.domain.base.names import bare, usual_name
from settingsdesk.sheets.lists.preview import PersonFound


class NearNames:
    """Those of a squad or of a club's entries, to be found by the names that are printed."""

    def __init__(self, members: Collection[Member]) -> None:
        called = names_apart(members)
        self._listed = listed_apart(members)
        self._by_words: dict[tuple[str, ...], list[int]] = {}
        for member in members:
            person = member.person
            printed = {
                member.printed_name,
                person.usual_name,
                usual_name(person.given_name, person.family_name),  # "Novak A."
                called[member.id].name,
                str(called[member.id]),
            }
            for words in set(map(_words, printed)):
                self._by_words.setdefault(words, []).append(member.id)

    def of(self, found: PersonFound) -> dict[int, str]:
        """Each who may be meant by a name of a list, by number, as coaches' lists have them."""
        name = found.full_name or f"{found.given_name} {found.family_name}"
        return self.listed(self._by_words.get(_words(name), ()))

    def listed(self, athlete_ids: Collection[int]) -> dict[int, str]:
        """How those stand on a coach's list, told apart from each other."""
        return {number: self._listed[number] for number in athlete_ids}


def _words(name: str) -> tuple[str, ...]:
    """The words of a name in no order, since lists have "Ana N." and "N., Ana"."""
    return tuple(sorted(bare(name.replace(".", " ")).split()))
