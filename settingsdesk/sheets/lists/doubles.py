"""What only shows when all values of an athlete are seen together: rails swapped, values twice."""

from collections.abc import Iterable, Sequence

from settingsdesk.sheets.lists.preview import Accepted, Query

SWAPPED = (
    "The low rail is as high as the high rail or higher: the two may be swapped, ask which is which"
)
TWICE = "The same athlete and axis stand twice with different values: ask which of them holds"
AGAIN = "This is the same as in row {row}, and was taken there"


def without_doubles(accepted: Sequence[Accepted]) -> tuple[list[Accepted], list[Query]]:
    """The values that hold, and a query for each that another one contradicts or repeats."""
    first: dict[tuple[int, str | None, str | None, str], Accepted] = {}
    again: dict[tuple[int, str | None, str | None, str], list[Accepted]] = {}
    for one in accepted:
        key = (one.person, one.model, one.kind, one.axis)
        if first.setdefault(key, one) is not one:
            again.setdefault(key, []).append(one)
    if not again:
        return list(accepted), []
    queries: list[Query] = []
    out: set[int] = set()
    for key, others in again.items():
        alike = [first[key], *others]
        if len({(one.value_mm, one.mark) for one in alike}) > 1:
            queries += [_query(one, TWICE) for one in alike]
            out |= {id(one) for one in alike}
        else:
            queries += [_query(one, AGAIN.format(row=alike[0].row)) for one in others]
            out |= {id(one) for one in others}
    return [one for one in accepted if id(one) not in out], queries


def without_swapped(accepted: Sequence[Accepted]) -> tuple[list[Accepted], list[Query]]:
    """The values without pairs of rails of which the low one is not below the high one."""
    rails: dict[tuple[int, str | None, str | None], dict[str, Accepted]] = {}
    for one in accepted:
        if one.axis in ("low_rail", "high_rail") and one.value_mm is not None:
            rails.setdefault((one.person, one.model, one.kind), {})[one.axis] = one
    swapped = {id(one) for pair in rails.values() if _is_swapped(pair) for one in pair.values()}
    left = [one for one in accepted if id(one) not in swapped]
    return left, [_query(one, SWAPPED) for one in accepted if id(one) in swapped]


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
    return Query(one.sheet, one.row, one.column, one.read, why)
