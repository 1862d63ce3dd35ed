"""Whether the change-overs of a rotation fit into the warm-up time that a rule book gives.

A rule book's time is never changed, and nothing is ordered by it: it is only said where the time
is too short, so that the crew can be made larger or the jury be asked before the day.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.domain.hall.rule_books import WarmUp


@dataclass(frozen=True, slots=True)
class TooShort:
    """A place, counted from 1, at which preparing takes more than there is.

    ``needs_s`` is the change-over before that turn, or for a team all of them up to there;
    ``has_s`` what the rule gives for the same.
    """

    place: int
    needs_s: int
    has_s: int


@dataclass(frozen=True, slots=True)
class WarmUpSum:
    """The change-overs of a rotation beside its warm-up time, in seconds.

    ``left_s`` is what remains for the athletes on the apparatus, and is below zero where there
    is not enough; ``too_short`` are the places.
    """

    warm_up: WarmUp
    has_s: int
    needs_s: int
    too_short: tuple[TooShort, ...]

    @property
    def left_s(self) -> int:
        """What is left of all warm-up time together once the apparatus is prepared each time."""
        return self.has_s - self.needs_s


def warm_up_sum(changes_s: Sequence[int], warm_up: WarmUp) -> WarmUpSum:
    """The change-overs before each turn, in order, against a warm-up time.

    Where preparing is not part of the warm-up, nothing of it is used up and nothing is too short.
    A team shares: a place is too short there where all change-overs so far take more than the
    times of its athletes so far.
    """
    counted_s = list(changes_s) if warm_up.with_preparing else [0] * len(changes_s)
    places = []
    for place in range(1, len(counted_s) + 1):
        if warm_up.shared:
            needs_s, has_s = sum(counted_s[:place]), place * warm_up.seconds
        else:
            needs_s, has_s = counted_s[place - 1], warm_up.seconds
        if needs_s > has_s:
            places.append(TooShort(place, needs_s, has_s))
    has_s = len(counted_s) * warm_up.seconds
    return WarmUpSum(warm_up, has_s, sum(counted_s), tuple(places))
