"""Whether timed change-overs tell the times of operations apart, and what is missing if not.

Where every change-over moved the low rail, the time to unlock and lock it cannot be told from what
every change-over takes: only their sum shows. Such times are found by exact elimination, in
fractions, so that no tolerance decides.
"""

from collections.abc import Sequence
from fractions import Fraction

from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.times.time_parts import TimePart
from settingsdesk.domain.times.timed import TimedChangeOver

Row = tuple[Fraction, ...]


def alike(rows: Sequence[Row], parts: Sequence[TimePart]) -> list[set[TimePart]]:
    """Sets of parts that the rows show only together; empty where all can be told apart.

    The rows are brought to their reduced echelon form. A column that bears no leading entry is a
    sum of those leading columns for which it has an entry: together they could be exchanged.
    """
    leading = _reduced(rows)
    return [
        {part} | {parts[place] for place, row in leading.items() if row[column]}
        for column, part in enumerate(parts)
        if column not in leading
    ]


def _reduced(rows: Sequence[Row]) -> dict[int, list[Fraction]]:
    """The reduced echelon form: its rows by the column of their leading entry, which is 1."""
    leading: dict[int, list[Fraction]] = {}
    for row in rows:
        rest = list(row)
        for other, known in leading.items():
            rest = _less(rest, rest[other], known)
        place = next((place for place, value in enumerate(rest) if value), None)
        if place is None:
            continue
        rest = [value / rest[place] for value in rest]
        leading = {other: _less(known, known[place], rest) for other, known in leading.items()}
        leading[place] = rest
        if len(leading) == len(row):
            break
    return leading


def _less(row: list[Fraction], factor: Fraction, known: list[Fraction]) -> list[Fraction]:
    return [a - factor * b for a, b in zip(row, known, strict=True)] if factor else row


def missing(
    model: ApparatusModel, timed: Sequence[TimedChangeOver], together: set[TimePart]
) -> list[str]:
    """What change-overs would tell those parts apart, each to be read after "change-overs"."""
    moved = [
        (
            axis.kind.in_a_sentence,
            [abs(change_over.goal[place] - change_over.start[place]) for change_over in timed],
        )
        for place, axis in enumerate(model.axes)
        if any(part.axis == axis.kind for part in together)
    ]
    with_all = any(part.axis is None for part in together)
    found = []
    for name, stops in moved:
        if with_all and all(stops) and len(model.axes) > 1:
            found.append(f"in which the {name} stays as it is")
        elif len(set(stops) - {0}) == 1:
            found.append(
                f"in which the {name} is moved by another number of stops than {max(stops)}"
            )
    if found:
        return found
    told = " and the ".join(name for name, _ in moved)
    return [f"that move the {told} by other numbers of stops, together and one without the other"]
