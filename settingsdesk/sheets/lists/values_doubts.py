"""Why a cell is not taken as a value, in one sentence that says what to do."""

import re
from fractions import Fraction
from math import ceil, floor

from settingsdesk.domain.base.figures import EIGHTH_INCH_UM, format_length, length_in_words
from settingsdesk.domain.base.kinds import Range
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import Length
from settingsdesk.sheets.lists.values_ranges import MM_IN, about_mm
from settingsdesk.sheets.lists.values_said import Said
from settingsdesk.sheets.lists.vocabulary import CellSays, cell_says
from settingsdesk.sheets.table import CellKind

NOT_A_VALUE = {
    CellKind.DATE: (
        "The cell is a date or time: a spreadsheet makes one of a pair such as 3/5,"
        " so ask which value is meant"
    ),
    CellKind.BOOLEAN: "The cell holds true or false: ask which value is meant",
    CellKind.FORMULA: "The cell is a formula without a result: have it calculated, and save again",
    CellKind.ERROR: "The cell shows an error: ask which value is meant",
}
TOO_LONG = "More is written in the cell than any value needs: type the value alone"
NO_UNIT = "No unit is stated in the cell, its column or the title: choose one for the column"
NOT_A_LABEL = "The column holds marks, and this is no label of a mark: type what is printed there"
MARK_FOR_LENGTH = "The cell names a mark, and its column holds lengths: ask which is meant"
LENGTH_FOR_MARK = "The cell states a length, and its column holds marks: ask which is meant"
ZERO = "The value is nought: type one that is above zero"
FRACTION_OF_METRIC = (
    "A fraction belongs to inches, and the unit here is metric: ask in which unit the value is"
)
_IN_WORDS = {
    CellSays.SAME: "The cell points to another value: type the value itself",
    CellSays.UNSETTLED: "The value is still to be settled: ask for it",
    CellSays.ABOUT: "The value is only approximate: ask for the exact one",
    CellSays.LIMIT: "The cell gives a limit and no value: ask for the value that is wanted",
    CellSays.BOOLEAN: NOT_A_VALUE[CellKind.BOOLEAN],
}
_SAME, _NONE = _IN_WORDS[CellSays.SAME], "The cell says that there is no value: ask for it"
_AN_ERROR, _ABOUT = NOT_A_VALUE[CellKind.ERROR], _IN_WORDS[CellSays.ABOUT]
_DATE = (
    "The cell reads like a date: a spreadsheet makes one of a pair such as 3/5,"
    " so ask which value is meant"
)
_MONTH = (
    "jan|feb|fev|fév|mar|mär|mrz|apr|abr|avr|mai|may|maj|mag|jun|jui|giu|jul|lug|aug|ago|aou|aoû"
    "|sep|set|oct|okt|ott|out|nov|dec|dez|déc|dic|gen|ene"
)

# The first that is found in the text says why. None has more than one part that may repeat before
# the next, so that no crafted text takes long.
_SIGNS = tuple(
    (re.compile(pattern, re.IGNORECASE), why)
    for pattern, why in (
        ("^[-., ]*(?:\"|'')[-., ]*$", _SAME),
        ("[?¿]", "A question mark stands in the cell: ask which value is meant"),
        ("^(?:[-./_ ]+|[x✓✔✗✘×]|n ?/ ?a)$", _NONE),
        ("^#(?![0-9 ])", _AN_ERROR),
        ("^[=@]", "A formula stands here as text, and none is worked out: type the value itself"),
        (
            "^(?:±|\\+ ?/ ?-)",
            "A deviation stands where a value is expected: type the value that is wanted",
        ),
        (
            "±|\\+ ?/ ?-|\\+-",
            "A value and a deviation stand in one cell: type the value alone here",
        ),
        ("[~≈≃≅∼]", _ABOUT),
        ("[<>≤≥]", _IN_WORDS[CellSays.LIMIT]),
        ("[*†‡]", "A footnote belongs to this value: read it, then type the value alone"),
        ("^[0-9]{1,4}([./-]) ?[0-9]{1,2}\\1 ?[0-9]{2,4}(?![0-9])", _DATE),
        (f"^[0-9]{{1,4}}[-./ ]{{1,2}}(?:{_MONTH})[^0-9]*", _DATE),
        (f"^(?:{_MONTH})[a-zéû]{{0,8}}[-./ ]{{1,2}}[0-9]", _DATE),
        ("^[0-9]{1,2}\\. ?[0-9]{1,2}\\.$", _DATE),
        ("%", "A percentage is no length and no mark: ask which value is meant"),
        ("^[0-9]{1,2}:[0-9]{2}", "The cell reads like a time: ask which value is meant"),
        ("^- ?[0-9]", "The value is below zero: type one that is above zero"),
        ("^\\+ ?[0-9]", "A plus sign stands before the value: type the whole value without it"),
        (
            "^[0-9]{1,3}(?:[.,'][0-9]{3})*[.,'][0-9]{3}[.,][0-9]|^[0-9]{1,3}(?:[.,'][0-9]{3}){2}",
            "The number has two points or commas: type it with one at most",
        ),
        ("^0[0-9]", "The number begins with a nought: type it without"),
        ("^[0-9]{8}", "The number is longer than that of any length: type it again"),
        ("[0-9]e[+-]?[0-9]", "The number is larger or smaller than any length: type it again"),
    )
)
_NUMBERS = re.compile("[0-9]+(?:[.,][0-9]+)?")


def why_no_value(figure: str) -> str:
    """The doubt about a text in plain signs that is no value, as narrowly as it can be told."""
    if not figure:
        return "The cell is blank: ask for the value"
    for pattern, why in _SIGNS:
        if pattern.search(figure):
            return why
    said = cell_says(figure)
    return _IN_WORDS[said] if said else _why_not_one_number(figure)


def _why_not_one_number(figure: str) -> str:
    numbers = _NUMBERS.findall(figure)
    if not numbers:
        return "No number can be read here: type the value"
    if len(numbers) == 1:
        return (
            "More than a value stands in the cell: type the value alone, and the rest as a remark"
        )
    if figure == " ".join(numbers):
        return "There is a gap in the number: type it without, if it is one"
    return "Several values or a range stand in one cell: type the one that is meant"


def why_maybe_thousands(length: Length, unit: ListUnit, span: Range) -> str:
    """A point or comma before three digits: decimals, or thousands?"""
    whole = int(re.sub("[.,]", "", length.number))
    hint = f", {whole} if thousands are meant" if span.holds(about_mm(whole, unit)) else ""
    return (
        f"The point or comma in {length.number} may be that of thousands or of decimals:"
        f" type it without{hint}"
    )


def why_too_fine(length: Length, unit: ListUnit) -> str:
    """A length between two that are kept."""
    if unit is ListUnit.INCH:
        eighths = length.amount * 8
        below, above = (
            format_length(whole * EIGHTH_INCH_UM / 1000, Unit.INCH)
            for whole in (floor(eighths), ceil(eighths))
        )
        return f"{length.number} in is no eighth of an inch: type {below} or {above}"
    exact_mm = length.amount * MM_IN[unit]
    below, above = map(_cm, (floor(exact_mm), ceil(exact_mm)))
    return f"{length.number} {unit.value} is finer than a millimetre: type {below} or {above}"


def why_out_of_range(length: Length, unit: ListUnit, said: Said, span: Range) -> str:
    """A length that the axis cannot have, and which slip would explain it."""
    axis = said.axis_kind
    name = axis.name if axis else "A length"
    least, most = map(_cm, span)
    mm = about_mm(length.amount, unit)
    read = _cm(mm) if mm == int(mm) else length.written_in(unit)
    return (
        f"{name} lies between {least} and {most}, and {read} is read:"
        f" {explained(length.amount, unit, span)}"
    )


def explained(amount: Fraction, unit: ListUnit, span: Range) -> str:
    """What may have been meant by a number that is no length of that range."""
    mm = about_mm(amount, unit)
    if span.holds(mm * 10):
        return f"it is ten times too small if {_cm(mm * 10)} is meant, ask which is"
    if span.holds(mm / 10):
        return f"it is ten times too large if {_cm(mm / 10)} is meant, ask which is"
    for other in (ListUnit.MM, ListUnit.CM, ListUnit.M, ListUnit.INCH):
        if other is not unit and span.holds(about_mm(amount, other)):
            return (
                f"in {other.in_words} it would be {_cm(about_mm(amount, other))},"
                " ask in which unit it is"
            )
    return "ask which value is meant"


def _cm(mm: float) -> str:
    return length_in_words(mm, Unit.CENTIMETRE)


def why_two_units(unit: ListUnit, other: ListUnit) -> str:
    """The number could be right in the cell's unit and in its column's."""
    return (
        f"The cell says {unit.in_words} and its column {other.in_words}, and both could be:"
        " ask in which unit it is"
    )
