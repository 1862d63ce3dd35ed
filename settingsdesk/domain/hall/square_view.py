"""The footprint of a frame from above, its skew drawn larger than it is, and where to take up."""

from settingsdesk.domain.base.drawing import (
    Anchor,
    Drawing,
    Ink,
    Line,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.domain.base.kinds import FRONT_AND_BACK, Kind
from settingsdesk.domain.hall.square import Footprint

DRAWN_SKEW = 0.12
"""A smaller skew is drawn as about this share of the frame's length, so that it can be seen."""
WIDE_LETTERS = 0.62
"""How wide a letter is, on the average, for each of its height."""


def drawn_times(taped: Footprint) -> int:
    """How many times as large as it is a skew is drawn; 1 where it is seen as it is."""
    offset_mm = abs(taped.offset_mm)
    return max(1, round(DRAWN_SKEW * taped.along_mm / offset_mm)) if offset_mm else 1


def square_view(taped: Footprint, kind: Kind, ends: tuple[str, str] = FRONT_AND_BACK) -> Drawing:
    """The four feet from above, the front at the bottom, with both diagonals.

    As in the end view one looks from the front end: the low rail, which the second side of
    uneven bars carries, is on the left. ``ends`` are what front and back are called. The sides
    are to scale; the skew is drawn ``drawn_times`` as large as it is, and the picture says so.
    The arrow shows which way the second side is taken up.
    """
    wide, deep = float(taped.across_mm), float(taped.along_mm)
    first, second = kind.sides
    # Both sides are named below the feet, and neither name may run into the other.
    letter = min(max(wide, deep) / 20, wide / (WIDE_LETTERS * (len(first) + len(second) + 2)))
    offset = taped.offset_mm
    way = (offset > 0) - (offset < 0)
    times = drawn_times(taped)
    up = times * offset
    front, back = ends
    shapes: list[Line | Text | Triangle] = [
        Line(wide, 0, wide, deep, Weight.HEAVY),
        Line(0, up, 0, deep + up, Weight.HEAVY),
        Line(0, up, wide, 0),
        Line(0, deep + up, wide, deep),
        Line(0, deep + up, wide, 0, Weight.THIN, dashed=True),
        Line(0, up, wide, deep, Weight.THIN, dashed=True),
        Text(wide, -1.6 * letter, first, Anchor.END),
        Text(0, min(up, 0) - 1.6 * letter, second, Anchor.START),
        Text(wide / 2, max(deep, deep + up) + 0.8 * letter, back),
        Text(wide / 2, min(up, 0) - 3.2 * letter, f"{front}: seen from here"),
    ]
    if way:
        shapes += _arrow(-1.5 * letter, deep / 2 + up, -way * 0.25 * deep, letter)
    words = f"The {second} is drawn too far to the {back if way > 0 else front}"
    seen = f"The footprint from above, seen from the {front} end"
    return Drawing(
        left_mm=-3 * letter,
        bottom_mm=min(up, 0) - 4.2 * letter,
        width_mm=wide + 4 * letter,
        height_mm=deep + abs(up) + 6.8 * letter,
        letter_mm=letter,
        shapes=tuple(shapes),
        in_words=(
            f"{seen}: {words}, by {times} times as much as it is; the arrow"
            " shows the way to take it up."
            if way
            else f"{seen}: it is square."
        ),
    )


def _arrow(x_mm: float, y_mm: float, by_mm: float, letter_mm: float) -> list[Line | Triangle]:
    tip, half = y_mm + by_mm, 0.6 * letter_mm
    back = tip - (letter_mm if by_mm > 0 else -letter_mm)
    return [
        Line(x_mm, y_mm - by_mm, x_mm, back, Weight.HEAVY, ink=Ink.ACCENT),
        Triangle(((x_mm, tip), (x_mm - half, back), (x_mm + half, back)), Ink.ACCENT),
    ]
