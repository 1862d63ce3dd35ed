"""A table in plain text whose columns are set apart by nothing but blanks, as mails have them.

Columns are told by where every line of the table is blank, and not by counting what stands in a
line: a place that is left out moves no value to another column.
"""

import re
from collections.abc import Iterator, Sequence

LEAST_BLANKS = 2  # between two columns; between two names is one
_LEAST_LINES = 2
_LONGEST_LINE = 400  # characters; a longer one is no line of a table
_GAP = re.compile(rf"(?<=\S) {{{LEAST_BLANKS},}}(?=\S)")


def score(lines: Sequence[str]) -> int:
    """By how many blanks the lines are divided, so that it can be compared with separators."""
    return sum(len(_GAP.findall(line)) for line in lines)


def aligned(lines: Sequence[str]) -> Iterator[list[str]]:
    """The cells of each line; one that stands across the gaps, such as a title, is one cell."""
    of_table = [line for line in lines if _is_of_table(line)]
    bounds = _bounds(of_table) if len(of_table) >= _LEAST_LINES else []
    for line in lines:
        if bounds and not _is_across(line, bounds):
            yield [line[start:end].strip() for start, end in bounds]
        else:
            yield [line.strip()]


def _is_of_table(line: str) -> bool:
    return len(line) <= _LONGEST_LINE and _GAP.search(line.strip()) is not None


def _is_across(line: str, bounds: Sequence[tuple[int, int]]) -> bool:
    ends = [0, *(end for _, end in bounds)]
    starts = [*(start for start, _ in bounds), len(line)]
    return any(line[end:start].strip() for end, start in zip(ends, starts, strict=True))


def _bounds(lines: Sequence[str]) -> list[tuple[int, int]]:
    """Where columns begin and end: each gap is blank in all lines."""
    width = max(map(len, lines))
    used = [
        any(not line[at : at + 1].isspace() for line in lines if at < len(line))
        for at in range(width)
    ]
    bounds: list[tuple[int, int]] = []
    for at in (place for place, is_used in enumerate(used) if is_used):
        if bounds and at - bounds[-1][1] < LEAST_BLANKS:
            bounds[-1] = (bounds[-1][0], at + 1)
        else:
            bounds.append((at, at + 1))
    return bounds
