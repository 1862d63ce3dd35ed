"""How long a length of each axis can be: generous, to catch slips and not to judge settings.

The desk judges settings by rule books. These ranges only have to be so wide that no hall falls
outside, and so narrow that ten times a length, or its figure in another unit, does.
"""

from fractions import Fraction
from functools import cache
from typing import NamedTuple

from settingsdesk.sheets.lists.units import ListUnit


class Range(NamedTuple):
    """From the least to the greatest length that is believed."""

    least_mm: int
    most_mm: int

    def holds(self, mm: float) -> bool:
        """Whether the length lies in the range, its ends included."""
        return self.least_mm <= mm <= self.most_mm


ANY_LENGTH = Range(100, 30_000)

# What the published heights and widths are, and where they are from, stands behind each.
RANGES: dict[tuple[str, str], Range] = {
    ("uneven_bars", "low_rail"): Range(1_000, 3_000),  # 170 cm; 150 above the mat
    ("uneven_bars", "high_rail"): Range(1_000, 3_000),  # 250 cm; 230 above the mat
    ("uneven_bars", "spread"): Range(800, 2_500),  # 130 to 190 cm; older 100 to 180; no maximum
    ("parallel_bars", "rails"): Range(1_000, 2_600),  # 200 cm; older 195; 175 above the mat
    ("parallel_bars", "spread"): Range(300, 800),  # 42 to 52 cm
    ("horizontal_bar", "rail"): Range(1_200, 3_200),  # 280 cm; 255 above the mat
    ("rings", "rings"): Range(1_200, 3_200),  # 280 cm; 255 above the mat
    ("pommel_horse", "body"): Range(600, 1_400),  # 115 cm; 105 above the mat
    ("pommel_horse", "pommels"): Range(300, 600),  # 40 to 45 cm
    ("balance_beam", "beam"): Range(600, 1_400),  # 100, 110 or 125 cm
    ("vault_table", "table"): Range(800, 1_500),  # 105 to 135 cm
    ("vault_table", "board"): Range(100, 3_000),  # common practice, no source
    ("vault_table", "run_up"): Range(3_000, 30_000),  # 25 m, from memory
}
MM_IN = {ListUnit.MM: 1, ListUnit.CM: 10, ListUnit.M: 1_000}
_MM_IN_INCH = 25.4


def about_mm(amount: Fraction | int, unit: ListUnit) -> float:
    """Millimetres to compare with a range; what is kept is worked out exactly elsewhere."""
    return float(amount) * (_MM_IN_INCH if unit is ListUnit.INCH else MM_IN[unit])


@cache
def range_of(kind: str | None, axis: str | None) -> Range:
    """The range of that axis; of all kinds that have such an axis where the kind is not known."""
    found = [
        span for (of, key), span in RANGES.items() if key == axis and (kind is None or of == kind)
    ]
    if not found:
        return ANY_LENGTH
    return Range(min(span.least_mm for span in found), max(span.most_mm for span in found))
