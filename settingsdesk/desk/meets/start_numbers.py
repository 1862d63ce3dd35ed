"""Start numbers given out at once: by lot, or in the order of the list of entries.

A number that an entry has is left alone unless all are to be given anew, and none is given twice.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count
from random import SystemRandom

from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets.entries import ClubEntered
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.names import folded
from settingsdesk.store.work import ClubSession

HIGHEST_FIRST = 9000


@dataclass(frozen=True, slots=True)
class NumbersGiven:
    """How many got a number, and the first and last of them."""

    entrants: int
    first: str
    last: str


def give_numbers(
    session: ClubSession, meet_id: int, first: int, *, by_lot: bool, anew: bool
) -> NumbersGiven:
    """Give whoever comes and has none a start number from ``first`` on; ``anew``, everybody.

    Numbers that others have are passed over. ``NoSuchFirstNumber``, or ``AllHaveNumbers`` where
    nobody is left to get one.
    """
    if not 1 <= first <= HIGHEST_FIRST:
        raise NoSuchFirstNumber
    everybody = desk_entries.entrants(session, meet_id)
    getting = [
        entrant for entrant in everybody if entrant.is_in and (anew or not entrant.start_number)
    ]
    if not getting:
        raise AllHaveNumbers
    if by_lot:
        SystemRandom().shuffle(getting)
    taken = {folded(entrant.start_number) for entrant in everybody if entrant not in getting}
    free = (str(number) for number in count(first) if str(number) not in taken)
    given = dict(zip((entrant.entry_id for entrant in getting), free, strict=False))
    desk_entries.number_entries(session, meet_id, given)
    numbers = list(given.values())
    return NumbersGiven(len(numbers), numbers[0], numbers[-1])


def given_twice(clubs: Iterable[ClubEntered]) -> Sequence[str]:
    """The start numbers that several who come have."""
    seen: dict[str, list[str]] = {}
    for number in (number for club in clubs for number in club.start_numbers):
        seen.setdefault(folded(number), []).append(number)
    return [numbers[0] for numbers in seen.values() if len(numbers) > 1]


class NoSuchFirstNumber(SettingsDeskError):
    """A first start number that nobody would wear."""

    def __str__(self) -> str:
        return f"The first start number must be from 1 to {HIGHEST_FIRST}"


class AllHaveNumbers(SettingsDeskError):
    """Numbers were to be given out, and nobody is without."""

    sentence = "Everybody who comes has a start number: nothing was changed"
