"""What only shows when all values of an athlete are seen together: rails swapped, values twice."""

from collections.abc import Iterable, Iterator, Sequence

from settingsdesk.sheets.lists.preview import Accepted, Query

SWAPPED = (
    "The low rail is as high as the high rail or higher: the two may be swapped, ask which is which"
)
TWICE = "The same athlete and axis stand twice with different values: ask which of them holds"
AGAIN = "This is the same as in row {row}, and was taken there"


def without_doubles(accepted: Sequence[Accepted]) -> tuple[list[Accepted], list[Query]]:
    """The values that hold, and a query for each that another one contradicts or repeats."""
    queries: list[Query] = []
    out: set[int] = set()
    for alike in _alike(accepted):
        if len({(one.value_mm, one.mark) for one in alike}) > 1:
            queries += [_query(one, TWICE) for one in alike]
            out |= {id(one) for one in alike}
        else:
            again = alike[1:]
            queries += [_query(one, AGAIN.format(row=alike[0].row)) for one in again]
            out |= {id(one) for one in again}
    return [one for one in accepted if id(one) not in out], queries


def _alike(accepted: Sequence[Accepted]) -> Iterator[list[Accepted]]:
    """Two or more values of the same athlete and axis, one athlete after the other."""
    for values in _by_athlete(accepted):
        if len({(one.axis, one.kind, one.model) for one in values}) == len(values):
            continue
        by_axis: dict[tuple[str, str | None, str | None], list[Accepted]] = {}
        for one in values:
            by_axis.setdefault((one.axis, one.kind, one.model), []).append(one)
        yield from (alike for alike in by_axis.values() if len(alike) > 1)


def without_swapped(accepted: Sequence[Accepted]) -> tuple[list[Accepted], list[Query]]:
    """The values without pairs of rails of which the low one is not below the high one."""
    heights = [
        one
        for one in accepted
        if one.axis in ("low_rail", "high_rail") and one.value_mm is not None
    ]
    swapped: set[int] = set()
    for values in _by_athlete(heights):
        pairs: dict[tuple[str | None, str | None], dict[str, Accepted]] = {}
        for one in values:
            pairs.setdefault((one.kind, one.model), {})[one.axis] = one
        swapped |= {
            id(one) for pair in pairs.values() if _is_swapped(pair) for one in pair.values()
        }
    left = [one for one in accepted if id(one) not in swapped]
    return left, [_query(one, SWAPPED) for one in accepted if id(one) in swapped]


def _by_athlete(accepted: Sequence[Accepted]) -> Iterable[list[Accepted]]:
    by_athlete: dict[int, list[Accepted]] = {}
    for one in accepted:
        by_athlete.setdefault(one.person, []).append(one)
    return by_athlete.values()


def _is_swapped(pair: dict[str, Accepted]) -> bool:
    if len(pair) < 2:
        return False
    return (pair["low_rail"].value_mm or 0) >= (pair["high_rail"].value_mm or 0)


def in_order(queries: Iterable[Query], sheets: Sequence[str]) -> list[Query]:
    """The queries as they stand in the file."""
    places = {sheet: place for place, sheet in enumerate(sheets)}
    return sorted(
        queries,
        key=lambda one: (places.get(one.sheet, 0), one.row, len(one.column), one.column),
    )


def _query(one: Accepted, why: str) -> Query:
    return Query(one.sheet, one.row, one.column, one.read, why, one.person)
