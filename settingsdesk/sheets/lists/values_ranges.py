"""How long a length of an axis can be, where the kind may not be known; and units in figures."""

from fractions import Fraction
from functools import cache

from settingsdesk.domain.base.kinds import KINDS, Range
from settingsdesk.domain.base.units import INCH_MM
from settingsdesk.sheets.lists.units import ListUnit

ANY_LENGTH = Range(100, 30_000)

MM_IN = {ListUnit.MM: 1, ListUnit.CM: 10, ListUnit.M: 1_000}


def about_mm(amount: Fraction | int, unit: ListUnit) -> float:
    """Millimetres to compare with a range; what is kept is worked out exactly elsewhere."""
    return float(amount) * (INCH_MM if unit is ListUnit.INCH else MM_IN[unit])


@cache
def range_of(kind: str | None, axis: str | None) -> Range:
    """The range of that axis; of all kinds that have such an axis where the kind is not known."""
    kinds = (
        KINDS.values() if kind is None else [known for known in KINDS.values() if known.key == kind]
    )
    found = [at.believed for each in kinds for at in each.axes if at.key == axis]
    if not found:
        return ANY_LENGTH
    return Range(min(span.least_mm for span in found), max(span.most_mm for span in found))
