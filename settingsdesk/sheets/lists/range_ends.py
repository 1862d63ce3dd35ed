"""Which end of a range a header says that its column holds: "Low bar min", "from", "höchstens"."""

import re
from functools import lru_cache
from typing import NamedTuple

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
