"""The sheet beside the template: what belongs in each column, and the models that are known."""

from collections.abc import Sequence
from itertools import zip_longest

from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.columns import HELP_SHEET, OurColumn, SquadColumns
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.writing import Page

_CAUTION = (
    "The maker's instructions, the federation's and the local rules come first. "
    "What is set from this sheet is measured with a tape before use."
)


def help_page(columns: SquadColumns, models: Sequence[str]) -> Page:
    """Headers and their explanations, with the models in a third column beside them."""
    lines = [(column.header, _sentence(column)) for column in columns]
    rows = zip_longest([*lines, ("", _CAUTION)], models, fillvalue="")
    return Page(
        name=HELP_SHEET,
        headers=("Column", "What to enter", "Models known here"),
        rows=tuple((*(line or ("", "")), model) for line, model in rows),
    )


def _sentence(column: OurColumn) -> str:
    if not column.axis:
        return f"{column.explained[0].upper()}{column.explained[1:]}."
    is_length = column.role is Role.VALUE and column.unit is ListUnit.CM
    datum = _datum(column.axis) if is_length else ""
    return f"{column.axis}: {column.explained}{datum}."


def _datum(axis_name: str) -> str:
    """Between what the length is measured, for each kind that has an axis of this name."""
    axes = [axis for kind in KINDS.values() for axis in kind.axes if axis.name == axis_name]
    in_words = dict.fromkeys(canonical_in_words(axis) for axis in axes)
    return f" ({'; or '.join(in_words)})" if in_words else ""
