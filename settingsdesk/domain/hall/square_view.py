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
from settingsdesk.domain.base.kinds import Kind
from settingsdesk.domain.hall.square import Footprint

DRAWN_SKEW = 0.12
"""A smaller skew is drawn as about this share of the frame's length, so that it can be seen."""


def drawn_times(taped: Footprint) -> int:
    """How many times as large as it is a skew is drawn; 1 where it is seen as it is."""
    offset_mm = abs(taped.offset_mm)
    return max(1, round(DRAWN_SKEW * taped.along_mm / offset_mm)) if offset_mm else 1


def square_view(taped: Footprint, kind: Kind) -> Drawing:
    """The four feet from above, the front at the bottom, with both diagonals.

    The sides are to scale; the skew is drawn ``drawn_times`` as large as it is, and the picture
    says so. The arrow shows which way the second side is taken up.
    """
    wide, deep = float(taped.across_mm), float(taped.along_mm)
    letter = max(wide, deep) / 20
    offset = taped.offset_mm
    way = (offset > 0) - (offset < 0)
    times = drawn_times(taped)
    up = times * offset
    first, second = kind.sides
    shapes: list[Line | Text | Triangle] = [
        Line(0, 0, 0, deep, Weight.HEAVY),
        Line(wide, up, wide, deep + up, Weight.HEAVY),
        Line(0, 0, wide, up),
        Line(0, deep, wide, deep + up),
        Line(0, 0, wide, deep + up, Weight.THIN, dashed=True),
        Line(0, deep, wide, up, Weight.THIN, dashed=True),
        Text(0, -1.6 * letter, first, Anchor.START),
        Text(wide, min(up, 0) - 1.6 * letter, second, Anchor.END),
        Text(wide / 2, max(deep, deep + up) + 0.8 * letter, "back"),
        Text(wide / 2, min(up, 0) - 3.2 * letter, "front"),
    ]
    if way:
        shapes += _arrow(wide + 1.5 * letter, deep / 2 + up, -way * 0.25 * deep, letter)
    words = f"The {second} is drawn too far to the {'back' if way > 0 else 'front'}"
    return Drawing(
        left_mm=-letter,
        bottom_mm=min(up, 0) - 4.2 * letter,
        width_mm=wide + 4 * letter,
        height_mm=deep + abs(up) + 6.8 * letter,
        letter_mm=letter,
        shapes=tuple(shapes),
        in_words=(
            f"The footprint from above: {words}, by {times} times as much as it is; the arrow"
            " shows the way to take it up."
            if way
            else "The footprint from above: it is square."
        ),
    )


def _arrow(x_mm: float, y_mm: float, by_mm: float, letter_mm: float) -> list[Line | Triangle]:
    tip, half = y_mm + by_mm, 0.6 * letter_mm
    back = tip - (letter_mm if by_mm > 0 else -letter_mm)
    return [
        Line(x_mm, y_mm - by_mm, x_mm, back, Weight.HEAVY, ink=Ink.ACCENT),
        Triangle(((x_mm, tip), (x_mm - half, back), (x_mm + half, back)), Ink.ACCENT),
    ]
