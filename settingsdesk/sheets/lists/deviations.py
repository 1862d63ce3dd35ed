"""The deviation that a cell says an athlete accepts: "± 1 cm", "+/- 5 mm", "1,5" below "± cm"."""

from settingsdesk.domain.base.units import INCH_MM
from settingsdesk.domain.settings.settings import MOST_ACCEPTED_MM
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import read_length
from settingsdesk.sheets.lists.values_ranges import MM_IN
from settingsdesk.sheets.lists.values_text import plain

NOT_A_DEVIATION = "This is no deviation that can be accepted: write one like ± 1 cm"
TOO_LARGE = (
    f"A deviation that is accepted is at most {MOST_ACCEPTED_MM // 10} cm: write one like ± 1 cm"
)
NO_UNIT = (
    "No unit is stated for this deviation: choose one for the column, or write one like ± 1 cm"
)
_PLUS_OR_MINUS = ("±", "+/-", "+-", "+")


def read_deviation(text: str, unit: ListUnit | None) -> int | str:
    """Whole millimetres, or why it is none; ``unit`` is the column's, and a cell's goes before."""
    figure = plain(text)
    for sign in _PLUS_OR_MINUS:
        figure = figure.removeprefix(sign).strip()
    if figure == "0":
        return 0
    length = read_length(figure)
    if length is None:
        return NOT_A_DEVIATION
    stated = length.unit or unit
    if stated is None:
        return NO_UNIT
    if stated is ListUnit.MARK:
        return NOT_A_DEVIATION
    if stated is ListUnit.INCH:
        mm = round(float(length.amount) * INCH_MM)
    else:
        exact_mm = length.amount * MM_IN[stated]
        if exact_mm.denominator != 1:
            return NOT_A_DEVIATION
        mm = int(exact_mm)
    return mm if mm <= MOST_ACCEPTED_MM else TOO_LARGE
