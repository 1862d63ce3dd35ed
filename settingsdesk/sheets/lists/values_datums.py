"""A length in the datum that the list states, as the desk keeps it; without guessing a mat."""

from dataclasses import replace
from functools import cache

from settingsdesk.domain.base.datums import (
    Edge,
    HeightDatum,
    Level,
    SpreadDatum,
    canonical_in_words,
    height_in_words,
    spread_in_words,
)
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import AxisKind, Quantity
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.lists.values_said import Doubt, Said
from settingsdesk.sheets.lists.vocabulary import HeaderMeaning

_NOT_STATED = " (taken so, as the list states nothing else)"


def with_cell(said: Said, cell: HeaderMeaning) -> Said | Doubt:
    """What is said where the cell states a datum as well; a doubt where the two contradict."""
    if not (cell.levels or cell.edges or cell.spreads):
        return said
    header = said.datum
    if header and any(level is not header.level for level in cell.levels):
        return Doubt(
            "The cell states another level for the height than its column or title does:"
            " ask whether it is taken from the floor or from the mat"
        )
    if header and any(edge is not header.edge for edge in cell.edges):
        return Doubt(
            "The cell states another edge of the rail than its column or title does:"
            " ask to which edge the height is taken"
        )
    if said.spread and any(spread is not said.spread for spread in cell.spreads):
        return Doubt(
            "The cell says that the spread is taken between other points than its column or title"
            " does: ask which is meant"
        )
    return replace(said, datum=header or cell.datum, spread=said.spread or cell.spread)


def canonical(read_mm: int, said: Said) -> tuple[int, str] | Doubt:
    """The length as it is kept, and between which points, in words.

    A centre of a rail may lie between two millimetres; it is taken to the nearest, half a
    millimetre to the even one, and the words show both lengths.
    """
    axis = said.axis_kind
    if axis is None:
        return read_mm, length_in_words(read_mm, Unit.CENTIMETRE)
    if axis.quantity is Quantity.HEIGHT:
        return _height(read_mm, axis, said)
    if axis.quantity is Quantity.SPREAD:
        return _spread(read_mm, axis, said)
    return read_mm, f"{length_in_words(read_mm, Unit.CENTIMETRE)}, {canonical_in_words(axis)}"


def _height(read_mm: int, axis: AxisKind, said: Said) -> tuple[int, str] | Doubt:
    datum = said.datum or HeightDatum()
    if datum.edge is not Edge.UPPER and not said.has_rails:
        return Doubt(
            f"{axis.name} is stated to the {datum.edge.value}, and there is no rail: ask to which"
            " point it is taken"
        )
    if datum.edge is not Edge.UPPER and said.section is None:
        return Doubt(
            f"The height is taken to the rail's {datum.edge.value}: give the height of its upper"
            " edge, or say how thick the rail is"
        )
    if datum.level is Level.MAT and said.mat_mm is None:
        return Doubt(
            "The height is taken from the mat: give the height above the floor, or say how thick"
            " the mat is"
        )
    kept_mm = round(datum.to_canonical_mm(read_mm, said.section, said.mat_mm or 0))
    read_as = _height_as(datum, axis)
    return kept_mm, _in_words(read_mm, read_as, kept_mm, axis, said.datum is not None)


def _spread(read_mm: int, axis: AxisKind, said: Said) -> tuple[int, str] | Doubt:
    datum = said.spread or SpreadDatum.INNER
    is_level = said.kind == "parallel_bars"
    if datum is SpreadDatum.CENTRES_HORIZONTAL and not is_level:
        return Doubt(
            "The spread is the rails' horizontal distance: give the shortest distance between"
            " their inner faces, as the two differ with the heights"
        )
    if datum is not SpreadDatum.INNER and said.section is None:
        return Doubt(
            "The spread is taken between the rails' centres: give the distance between their inner"
            " faces, or say how thick the rails are"
        )
    width_mm = said.section.width_mm if said.section and datum is not SpreadDatum.INNER else 0.0
    kept_mm = round(read_mm - width_mm)
    return kept_mm, _in_words(
        read_mm, spread_in_words(datum), kept_mm, axis, said.spread is not None
    )


def _in_words(read_mm: int, read_as: str, kept_mm: int, axis: AxisKind, is_stated: bool) -> str:
    kept, kept_as = length_in_words(kept_mm, Unit.CENTIMETRE), _kept_as(axis)
    if read_as == kept_as:
        return f"{kept}, {kept_as}{'' if is_stated else _NOT_STATED}"
    return f"{length_in_words(read_mm, Unit.CENTIMETRE)}, {read_as} = {kept}, {kept_as}"


@cache
def _kept_as(axis: AxisKind) -> str:
    return canonical_in_words(axis)


@cache
def _height_as(datum: HeightDatum, axis: AxisKind) -> str:
    return height_in_words(datum, axis.point)
