"""Whether timed change-overs tell the times of operations apart, and what is missing if not.

Where every change-over moved the low rail, the time to unlock and lock it cannot be told from what
every change-over takes: only their sum shows. Such times are found by exact elimination, in
fractions, so that no tolerance decides.
"""

from collections.abc import Sequence
from fractions import Fraction

from settingsdesk.domain.kinds import AxisKind
from settingsdesk.domain.timeparts import EVERY, HANDLING, TimePart

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


def missing(rows: Sequence[Row], parts: Sequence[TimePart], together: set[TimePart]) -> list[str]:
    """What change-overs would tell those parts apart, each to be read after "change-overs"."""
    axes = [part.axis for part in parts if part in together and part.axis is not None]
    names = list(dict.fromkeys(axes))
    moves = {axis: _Moves(rows, parts, axis) for axis in names}
    found = []
    for axis, moved in moves.items():
        if EVERY in together and moved.always:
            found.append(f"in which the {axis.in_a_sentence} stays as it is")
        elif len(moved.by_stops) == 1:
            (stops,) = moved.by_stops
            found.append(
                f"in which the {axis.in_a_sentence} is moved by another number of stops than"
                f" {stops}"
            )
    if found:
        return found
    told = " and the ".join(axis.in_a_sentence for axis in names)
    return [f"that move the {told} by other numbers of stops, together and one without the other"]


class _Moves:
    """How one axis was moved in the change-overs of the rows."""

    def __init__(self, rows: Sequence[Row], parts: Sequence[TimePart], axis: AxisKind) -> None:
        handling = parts.index(TimePart(axis, HANDLING))
        moved = [row for row in rows if row[handling]]
        per_stop = [n for n, part in enumerate(parts) if part.axis == axis and n != handling]
        self.always = len(moved) == len(rows)
        self.by_stops = {sum(row[n] for n in per_stop) / row[handling] for row in moved}
