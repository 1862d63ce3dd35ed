"""What one cell of a coach's list says: a length or a mark, or why a person has to settle it.

Nothing is guessed: what ``values_figures`` does not take as a whole is a doubt, and so is a length
that cannot be the axis's.
"""

import re
from dataclasses import replace
from fractions import Fraction

from settingsdesk.domain.base.figures import EIGHTH_INCH_UM
from settingsdesk.domain.base.kinds import Range
from settingsdesk.sheets.lists import values_doubts as doubts
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_datums import canonical, with_cell
from settingsdesk.sheets.lists.values_figures import Length, read_label, read_length, read_mark
from settingsdesk.sheets.lists.values_ranges import MM_IN, about_mm, range_of
from settingsdesk.sheets.lists.values_said import Doubt, Said, Value
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.table import CellKind

__all__ = ["Doubt", "ListUnit", "Said", "Value", "read_value"]

LONGEST_VALUE = 60  # characters; "2450 mm above the floor, upper edge of the rail" has 47
_THOUSANDS = re.compile(r"[0-9]{1,3}[.,][0-9]{3}")
_APART = re.compile(r"([1-9]) ([0-9]{3})( ?mm)?")
_SIGN_OF_TEXT = re.compile("^'(?=[0-9])")  # by which a spreadsheet is told to change nothing


def read_value(text: str, kind: CellKind, said: Said) -> Value | Doubt:
    """What the cell says, where its column says ``said``.

    A length comes in whole millimetres of the canonical datum. An eighth of an inch is taken to
    the nearest millimetre, as everywhere in the desk; nothing else is rounded, and a length that
    is finer is a doubt. The unit in a cell goes before that of its column, unless the number could
    be right in both. Thousands may be set apart in millimetres, where nothing else can be meant. A
    mark comes as its label; whether it is on a scale is not looked at here.
    """
    if len(text) > LONGEST_VALUE:
        return Doubt(doubts.TOO_LONG)
    if kind in doubts.NOT_A_VALUE:
        return Doubt(doubts.NOT_A_VALUE[kind])
    figure = _SIGN_OF_TEXT.sub("", plain(text))
    apart = _APART.fullmatch(figure)
    if apart and (apart[3] or said.unit is ListUnit.MM):
        figure = f"{apart[1]}{apart[2]} mm"
    if said.unit is ListUnit.MARK and (label := read_label(figure)):
        return _mark(label)
    if length := read_length(figure):
        return _length(length, kind, said)
    if label := read_mark(figure):
        return _mark(label) if said.unit in (None, ListUnit.MARK) else Doubt(doubts.MARK_FOR_LENGTH)
    return Doubt(doubts.why_no_value(figure))


def read_typed(text: str, said: Said) -> Value | Doubt:
    """What a person typed for one cell: a mark or a length that says so is one in any column."""
    if label := read_mark(plain(text)):
        return _mark(label)
    read = read_value(text, CellKind.TEXT, said)
    if isinstance(read, Doubt) and read.why is doubts.LENGTH_FOR_MARK:
        return read_value(text, CellKind.TEXT, replace(said, unit=None))
    return read


def _mark(label: str) -> Value:
    return Value(None, label, ListUnit.MARK, f"mark {label}")


def _length(length: Length, kind: CellKind, said: Said) -> Value | Doubt:
    unit = length.unit or said.unit
    if unit is None:
        return Doubt(doubts.NO_UNIT)
    if unit is ListUnit.MARK:
        return Doubt(doubts.NOT_A_LABEL)
    if said.unit is ListUnit.MARK:
        return Doubt(doubts.LENGTH_FOR_MARK)
    stated = with_cell(said, length.cell)
    if isinstance(stated, Doubt):
        return stated
    span = range_of(stated.kind, stated.axis)
    length = _in_thousands(length, unit, span)
    if why := _why_not_taken(length, unit, kind, span):
        return Doubt(why)
    taken = _taken(length, unit, stated)
    if not span.holds(about_mm(length.amount, unit)):
        why = doubts.why_out_of_range(length, unit, stated, span)
        return Doubt(why, taken if isinstance(taken, Value) else None)
    other = stated.unit if length.unit not in (None, stated.unit) else None
    if other and span.holds(about_mm(length.amount, other)):
        return Doubt(doubts.why_two_units(unit, other))
    return taken


def _in_thousands(length: Length, unit: ListUnit, span: Range) -> Length:
    """1.650 mm as what it is in thousands, and in metres too; a rail at 1.65 mm there is not."""
    if unit is not ListUnit.MM or not _THOUSANDS.fullmatch(length.number):
        return length
    whole = Fraction(re.sub("[.,]", "", length.number))
    can_be_decimals = span.holds(about_mm(length.amount, unit))
    if can_be_decimals or not span.holds(about_mm(whole, unit)):
        return length
    return replace(length, amount=whole, number=str(whole))


def _taken(length: Length, unit: ListUnit, said: Said) -> Value | Doubt:
    read_mm = _in_mm(length.amount, unit)
    if read_mm is None:
        return Doubt(doubts.why_too_fine(length, unit))
    kept = canonical(read_mm, said)
    if isinstance(kept, Doubt):
        return kept
    value_mm, in_words = kept
    written = "" if unit is ListUnit.CM else f"{length.written_in(unit)} = "
    return Value(value_mm, None, unit, written + in_words)


def _why_not_taken(length: Length, unit: ListUnit, kind: CellKind, span: Range) -> str:
    """Why the number is no length in that unit, whichever it is, or nothing."""
    if length.amount == 0:
        return doubts.ZERO
    if length.is_fraction and unit is not ListUnit.INCH:
        return doubts.FRACTION_OF_METRIC
    is_typed = kind is CellKind.TEXT and unit in (ListUnit.MM, ListUnit.CM)
    if is_typed and _THOUSANDS.fullmatch(length.number):
        return doubts.why_maybe_thousands(length, unit, span)
    return ""


def _in_mm(amount: Fraction, unit: ListUnit) -> int | None:
    """Whole millimetres, an eighth of an inch to the nearest; None for what is finer."""
    if unit is ListUnit.INCH:
        eighths = amount * 8
        return round(eighths * EIGHTH_INCH_UM / 1000) if eighths.denominator == 1 else None
    whole_mm, left_over = divmod(amount.numerator * MM_IN[unit], amount.denominator)
    return None if left_over else whole_mm
