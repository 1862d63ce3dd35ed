"""What only shows when all values of an athlete are seen together: rails swapped, values twice.

The rails of uneven bars are some 80 cm apart in height: two that are hardly apart are not those of
the two rails.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from settingsdesk.sheets.lists.preview import Accepted, Answers, Query, cell_key

SWAPPED = (
    "The low rail is as high as the high rail or higher: the two may be swapped, ask which is which"
)
NOT_APART = (
    "The high rail is hardly above the low rail: the values may have slipped by a column, ask which"
    " is which"
)
LEAST_APART_MM = 300  # common practice, no source
TWICE = (
    "The same athlete and adjustment stand twice with different values: ask which of them holds,"
    " and type it at one of the two"
)
_InFile = TypeVar("_InFile", Query, Accepted)
SETTLED = "What was typed at row {row} holds in its place"
AGAIN = "This is the same as in row {row}, and was taken there"


def without_doubles(
    accepted: Sequence[Accepted], answers: Answers
) -> tuple[list[Accepted], list[Query]]:
    """The values that hold, and a query for each that another one contradicts or repeats.

    A value that only repeats another one is said, and asks nobody anything; so is one in whose
    place somebody has typed another one, at either of the two.
    """
    queries: list[Query] = []
    out: set[int] = set()
    for alike in _alike(accepted):
        typed = [value for value in alike if cell_key(*value.place) in answers]
        if _differ(alike) and typed and not _differ(typed):
            others = [value for value in alike if value is not typed[0]]
            said = SETTLED.format(row=typed[0].row)
            queries += [replace(_query(value, said), is_only_said=True) for value in others]
            out |= {id(value) for value in others}
        elif _differ(alike):
            queries += [_query(value, TWICE) for value in alike]
            out |= {id(value) for value in alike}
        else:
            again = alike[1:]
            said = AGAIN.format(row=alike[0].row)
            queries += [replace(_query(value, said), is_only_said=True) for value in again]
            out |= {id(value) for value in again}
    return [value for value in accepted if id(value) not in out], queries


def _differ(values: Sequence[Accepted]) -> bool:
    return len({(value.value_mm, value.mark) for value in values}) > 1


def _alike(accepted: Sequence[Accepted]) -> Iterator[list[Accepted]]:
    """Two or more values of the same athlete and axis, one athlete after the other."""
    for values in _by_athlete(accepted):
        if len({_of_what(value) for value in values}) == len(values):
            continue
        by_axis: dict[tuple[str | None, ...], list[Accepted]] = {}
        for value in values:
            by_axis.setdefault(_of_what(value), []).append(value)
        yield from (alike for alike in by_axis.values() if len(alike) > 1)


def _of_what(value: Accepted) -> tuple[str | None, ...]:
    return value.axis, value.kind, value.model, value.purpose


def without_swapped(
    accepted: Sequence[Accepted], *, is_ours: bool
) -> tuple[list[Accepted], list[Query]]:
    """The values without pairs of rails of which the low one is not well below the high one.

    Where the columns are ours no value has slipped, and what is kept comes back however it is.
    """
    least_apart_mm = 1 if is_ours else LEAST_APART_MM
    heights = [
        value
        for value in accepted
        if value.axis in ("low_rail", "high_rail") and value.value_mm is not None
    ]
    swapped: dict[int, str] = {}
    for values in _by_athlete(heights):
        pairs: dict[tuple[str | None, ...], dict[str, Accepted]] = {}
        for value in values:
            pairs.setdefault(_of_what(value)[1:], {})[value.axis] = value
        for pair in pairs.values():
            if why := _why_not_both(pair, least_apart_mm):
                swapped |= {id(value): why for value in pair.values()}
    left = [value for value in accepted if id(value) not in swapped]
    queries = [(value, swapped[id(value)]) for value in accepted if id(value) in swapped]
    return left, [_query(value, why) for value, why in queries]


def _by_athlete(accepted: Sequence[Accepted]) -> Iterable[list[Accepted]]:
    by_athlete: dict[int, list[Accepted]] = {}
    for value in accepted:
        by_athlete.setdefault(value.person, []).append(value)
    return by_athlete.values()


def _why_not_both(pair: dict[str, Accepted], least_apart_mm: int) -> str:
    if len(pair) < 2:
        return ""
    apart_mm = (pair["high_rail"].value_mm or 0) - (pair["low_rail"].value_mm or 0)
    if apart_mm <= 0:
        return SWAPPED
    return NOT_APART if apart_mm < least_apart_mm else ""


def in_order(found: Iterable[_InFile], sheets: Sequence[str]) -> list[_InFile]:
    """Queries or values as they stand in the file."""
    places = {sheet: place for place, sheet in enumerate(sheets)}
    return sorted(
        found, key=lambda at: (places.get(at.sheet, 0), at.row, len(at.column), at.column)
    )


def _query(value: Accepted, why: str) -> Query:
    return Query(value.sheet, value.row, value.column, value.read, why, value.person)
