"""How far a frame is out of square, which way it leans, and on which side it is taken up.

Take up on the side opposite to the lean (common practice, no source), never under tension.
"""

from dataclasses import dataclass
from math import asin, atan2, degrees, hypot

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import SaysLengths, length_in_words
from settingsdesk.domain.base.kinds import FRONT_AND_BACK, Kind
from settingsdesk.domain.base.units import Unit

TAPING_MM = 5
"""No single reading of a tape is taken to be farther off than this (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Lean:
    """What was found: ``by_mm`` and ``degrees`` without direction, the ways empty where it is 0.

    ``judged_mm`` is what the limit is compared with: the maker's or the club's own, None where
    neither is known. ``side`` is the place in the kind's sides of what pulls against the lean, and
    ``end`` at which end of it, 0 for the front; None where the whole side does.
    """

    by_mm: float
    degrees: float
    judged_mm: float
    where: str
    leans_to: str
    take_up_at: str
    limit_mm: float | None
    side: int
    end: int | None = None

    @property
    def is_within(self) -> bool | None:
        """Whether it may stay as it is; None where no limit is known."""
        return None if self.limit_mm is None else self.judged_mm <= self.limit_mm


@dataclass(frozen=True, slots=True)
class Footprint:
    """Four taped lengths between the feet.

    ``along_mm`` runs with the rails, ``across_mm`` from the first of the kind's sides to the
    second. ``to_back_mm`` is the diagonal from the front of the first side to the back of the
    second, ``to_front_mm`` the other one. ``NotAFootprint`` where no parallelogram has them, even
    with each reading off by ``TAPING_MM``: in any, d1² + d2² = 2 (a² + b²).
    """

    along_mm: int
    across_mm: int
    to_back_mm: int
    to_front_mm: int

    def __post_init__(self) -> None:
        sides = (self.along_mm, self.across_mm)
        diagonals = (self.to_back_mm, self.to_front_mm)
        if min(*sides, *diagonals) <= 0:
            raise NothingTaped
        gap = sum(d * d for d in diagonals) - 2 * sum(side * side for side in sides)
        may_be = 2 * TAPING_MM * (sum(diagonals) + 2 * sum(sides))
        if abs(gap) > may_be or abs(self.offset_mm) >= self.across_mm:
            raise NotAFootprint(self)

    @property
    def offset_mm(self) -> float:
        """How far the second side stands to the back against the first; to the front below 0."""
        return (self.to_back_mm**2 - self.to_front_mm**2) / (4 * self.along_mm)


def lean_of_footprint(
    taped: Footprint, kind: Kind, limit_mm: float | None, ends: tuple[str, str] = FRONT_AND_BACK
) -> Lean:
    """Out of square by the diagonals; the limit is for the difference between them.

    ``ends`` are what front and back are called.
    """
    offset_mm, second = taped.offset_mm, kind.sides[1]
    front, back = ends
    way, opposite = (back, front) if offset_mm > 0 else (front, back) if offset_mm < 0 else ("", "")
    return Lean(
        by_mm=abs(offset_mm),
        degrees=degrees(asin(abs(offset_mm) / taped.across_mm)),
        judged_mm=abs(taped.to_back_mm - taped.to_front_mm),
        where=second,
        leans_to=f"the {way}" if way else "",
        take_up_at=f"the {opposite} of the {second}" if way else "",
        limit_mm=limit_mm,
        side=1,
        end=0 if offset_mm > 0 else 1,
    )


def lean_of_upright(
    offset_mm: int, height_mm: int, to_second_side: bool, kind: Kind, limit_mm: float | None
) -> Lean:
    """Out of plumb by a plumb line: its offset at the foot, over the height it hangs.

    ``to_second_side`` says to which of the kind's sides the upright leans. ``NothingTaped``
    where there is no height.
    """
    if height_mm <= 0:
        raise NothingTaped
    toward, other = (kind.sides[::-1]) if to_second_side else kind.sides
    return Lean(
        by_mm=offset_mm,
        degrees=degrees(atan2(offset_mm, height_mm)),
        judged_mm=offset_mm,
        where="upright",
        leans_to=f"the {toward}" if offset_mm else "",
        take_up_at=f"the {other}" if offset_mm else "",
        limit_mm=limit_mm,
        side=0 if to_second_side else 1,
    )


class NothingTaped(SettingsDeskError):
    """A length of nothing was given."""

    sentence = "Each length that is taped, and the height of a plumb line, must be more than 0"


class NotAFootprint(SaysLengths):
    """Lengths that no four feet can have; the message says which tape reading to repeat."""

    def __init__(self, taped: Footprint) -> None:
        self.taped = taped

    @property
    def doubted(self) -> str:
        """Which reading to repeat: ``first`` or ``second`` of the diagonals, or the ``sides``."""
        taped, square_mm = self.taped, self._square_mm
        first_mm = abs(taped.to_back_mm - square_mm)
        second_mm = abs(taped.to_front_mm - square_mm)
        if max(first_mm, second_mm) <= 2 * min(first_mm, second_mm):
            return "sides"
        return "first" if first_mm > second_mm else "second"

    @property
    def _square_mm(self) -> float:
        """What both diagonals of a square frame with these sides would be."""
        return hypot(self.taped.along_mm, self.taped.across_mm)

    def told(self, unit: Unit) -> str:
        square_mm, which = self._square_mm, self.doubted
        repeat = (
            "tape both sides once more, then the diagonals"
            if which == "sides"
            else f"tape the {which} diagonal once more"
        )
        return (
            f"Four feet cannot stand like this: with these sides, both diagonals of a square frame"
            f" are {length_in_words(square_mm, unit)}, and where one is longer the other is"
            f" shorter; {repeat}"
        )
