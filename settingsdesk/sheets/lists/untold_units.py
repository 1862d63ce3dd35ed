"""The unit of a column that states none: what its values leave possible, all of them together.

One number says little: 17 may be a mark, centimetres or inches. A whole column that is possible in
one unit alone is read in it, and that is said; every other is asked about once.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from settingsdesk.domain.base.kinds import Range
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_figures import read_label, read_length, read_mark
from settingsdesk.sheets.lists.values_ranges import about_mm, range_of
from settingsdesk.sheets.lists.values_said import Said
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.table import Cell, CellKind

LEAST_CELLS = 2  # one number alone settles nothing
_HIGHEST_HOLE = 60  # of a scale that is not known; no upright has so many holes
_LENGTHS = (ListUnit.MM, ListUnit.CM, ListUnit.M, ListUnit.INCH)


@dataclass(frozen=True, slots=True)
class Untold:
    """What the values of a column without a unit can be.

    ``unit`` is set where nothing else is possible; otherwise a person is asked, and ``likely`` is
    offered first. ``cells`` are the numbers that bear no unit, ``examples`` the first of them.
    """

    unit: ListUnit | None
    likely: ListUnit | None
    cells: int
    examples: tuple[str, ...]
    why: str


def untold_unit(cells: Sequence[Cell], said: Said, labels: Collection[str] | None) -> Untold | None:
    """What unit the cells of a column have; None where no number in it lacks one.

    ``labels`` are those of the marks that may be meant, None where no scale is known.
    """
    texts, has_mark = [], False
    amounts: list[Fraction] = []
    for cell in cells:
        if cell.kind not in (CellKind.TEXT, CellKind.NUMBER):
            continue
        figure = plain(cell.text)
        length = read_length(figure)
        if length is None:
            has_mark = has_mark or read_mark(figure) is not None or _is_lettered(figure)
        elif length.unit is None and length.amount:
            amounts.append(length.amount)
            texts.append(figure)
    if not texts:
        return None
    span = range_of(said.kind, said.axis)
    fitting = {unit: _fitting(amounts, unit, span) for unit in _LENGTHS}
    whole = [unit for unit, count in fitting.items() if count == len(amounts)]
    may_be_marks = has_mark or _may_be_marks(texts, amounts, labels)
    is_told = len(whole) == 1 and not may_be_marks and len(texts) >= LEAST_CELLS
    return Untold(
        unit=whole[0] if is_told else None,
        likely=whole[0] if whole else _likely(fitting, is_marks=may_be_marks),
        cells=len(texts),
        examples=tuple(dict.fromkeys(texts))[:3],
        why=_why(whole, span, len(texts), may_be_marks=may_be_marks),
    )


def _fitting(amounts: Sequence[Fraction], unit: ListUnit, span: Range) -> int:
    return sum(span.holds(about_mm(amount, unit)) for amount in amounts)


def _is_lettered(figure: str) -> bool:
    return not figure.isdecimal() and len(figure) <= 3 and read_label(figure) is not None


def _may_be_marks(
    texts: Sequence[str], amounts: Sequence[Fraction], labels: Collection[str] | None
) -> bool:
    if labels is not None:
        return all(text in labels for text in texts)
    return max(amounts) <= _HIGHEST_HOLE and all(read_label(text) for text in texts)


def _likely(fitting: dict[ListUnit, int], *, is_marks: bool) -> ListUnit | None:
    if is_marks:
        return ListUnit.MARK
    unit, count = max(fitting.items(), key=lambda item: item[1])
    return unit if count else None


def _why(whole: Sequence[ListUnit], span: Range, numbers: int, *, may_be_marks: bool) -> str:
    cm = f"{span.least_mm / 10:g} to {span.most_mm / 10:g} cm"
    if len(whole) == 1:
        told = f"all its numbers lie within {cm} in {whole[0].in_words} and in no other unit"
        if may_be_marks:
            return f"{told}, but they may be marks"
        return told if numbers >= LEAST_CELLS else f"{told}, but one number alone is no proof"
    if not whole:
        most = "they may be marks" if may_be_marks else "not all its numbers can be right"
        return f"in no unit do all its numbers lie within {cm}: {most}"
    return "its numbers can be " + " or ".join(unit.in_words for unit in whole)
