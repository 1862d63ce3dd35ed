"""The sheet beside the template: what belongs in each column, and the models that are known."""

from collections.abc import Sequence
from itertools import zip_longest

from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.columns import Column, Role, SquadColumns
from settingsdesk.sheets.writing import Page

HELP_SHEET = "How to fill in"
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


def _sentence(column: Column) -> str:
    meaning = column.role.value
    if not column.axis:
        return f"{meaning[0].upper()}{meaning[1:]}."
    datum = _datum(column.axis) if column.role is Role.CENTIMETRES else ""
    return f"{column.axis}: {meaning}{datum}."


def _datum(axis_name: str) -> str:
    """Between what the length is measured, for each kind that has an axis of this name."""
    axes = [axis for kind in KINDS.values() for axis in kind.axes if axis.name == axis_name]
    in_words = dict.fromkeys(canonical_in_words(axis) for axis in axes)
    return f" ({'; or '.join(in_words)})" if in_words else ""
