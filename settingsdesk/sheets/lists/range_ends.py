"""Ranges: which end of one a header says that its column holds, and the middle of two ends."""

import re
from functools import lru_cache
from typing import NamedTuple

from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.settings import MOST_ACCEPTED_MM
from settingsdesk.sheets.lists.values_said import Doubt, Value

MARKS = "Marks have no middle: type both ends as lengths, or - to leave them out"
SWAPPED_ENDS = "The least is more than the most: ask which is which, and type both ends"
TOO_WIDE = (
    f"The ends are more than {2 * MOST_ACCEPTED_MM // 10} cm apart, more than anybody accepts: ask"
    " what is wanted, and type both ends"
)
_LEAST_WORDS = (
    "min minimum minimal from least lowest von ab mindestens minimo minima da desde mínimo mínima"
    " mín de dès od minim мин мін минимум мінімум от від thiểu tiểu az الأدنى 最小"
)
_MOST_WORDS = (
    "max maximum maximal to most highest bis höchstens massimo massima hasta máximo máxima máx até"
    " à a maks do maxim макс максимум до đa fazla الأقصى 最大"
)
_LEAST, _MOST = frozenset(_LEAST_WORDS.split()), frozenset(_MOST_WORDS.split())
_WORD = re.compile(r"最小|最大|[^\W\d_](?:(?!最小|最大)[^\W\d_])*")


class RangeEnd(NamedTuple):
    """One end of a range; ``of`` are the other words of the header, in their order."""

    is_least: bool
    of: tuple[str, ...]


@lru_cache(maxsize=4096)
def range_end(header: str) -> RangeEnd | None:
    """The end that a header names; None where it names none, or both."""
    words = _WORD.findall(header.casefold())
    ends = [word for word in words if word in _LEAST or word in _MOST]
    if len(ends) != 1:
        return None
    [end] = ends
    return RangeEnd(end in _LEAST, tuple(word for word in words if word is not end))


def middle_of(least: Value, most: Value) -> Value | Doubt:
    """The middle of two lengths, to the whole millimetre below, and in words what it is of."""
    if least.value_mm is None or most.value_mm is None:
        return Doubt(MARKS)
    if least.value_mm > most.value_mm:
        return Doubt(SWAPPED_ENDS)
    if most.value_mm - least.value_mm > 2 * MOST_ACCEPTED_MM:
        return Doubt(TOO_WIDE)
    middle_mm, left_over = divmod(least.value_mm + most.value_mm, 2)
    from_to = " and ".join(
        length_in_words(mm, Unit.CENTIMETRE) for mm in (least.value_mm, most.value_mm)
    )
    rounded = " (to the millimetre below)" if left_over else ""
    _, comma, points = least.converted.partition(", ")
    words = f"the middle of {from_to} = {length_in_words(middle_mm, Unit.CENTIMETRE)}{rounded}"
    return Value(middle_mm, None, least.unit, f"{words}{comma}{points}")
