"""Tables that become blocks where a screen is too narrow for their columns."""

import re
from collections.abc import Sequence

from markupsafe import Markup, escape

ROW_OR_CELL = re.compile(r"<(tr|th|td)\b")


def with_heads(rows: Markup, columns: Sequence[str]) -> Markup:
    """The rows of a table with the head of its column on each cell, which a block shows there.

    ``columns`` may be marked up; a cell has one column. Nothing else of the rows is changed.
    """
    heads = [str(escape(column).striptags()) for column in columns]
    place = -1

    def begin(element: re.Match[str]) -> str:
        nonlocal place
        place = -1 if element[1] == "tr" else place + 1
        if element[1] != "td" or not heads[place]:
            return element[0]
        return f'<td data-head="{escape(heads[place])}"'

    return Markup(ROW_OR_CELL.sub(begin, rows))  # noqa: S704  # the rows were escaped by Jinja
