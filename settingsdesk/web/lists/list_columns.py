"""What a person says of a list's columns: what each holds, in which unit, and between which points.

The form shows how the list is read now. What is said goes before what the list says of itself; a
field that is emptied lets the list speak again.
"""

from collections.abc import Iterator, Mapping

from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.domain.base.datums import Edge, Level, SpreadDatum, spread_in_words
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.lists.preview import ColumnFound, Mapped, TableFound
from settingsdesk.sheets.lists.reading import ACROSS
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.fields import ChoiceField, LengthField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import length

HOLDS = [
    *((f"role:{role.name.lower()}", role.value.capitalize()) for role in Role),
    *(
        (f"axis:{kind.key}/{axis.key}", f"{kind.name}: {axis.in_a_sentence}")
        for kind in KINDS.values()
        for axis in kind.axes
    ),
]
UNITS = [(unit.value, unit.in_words.capitalize()) for unit in ListUnit]
NAMES = [("family", "The family name"), ("given", "The given name")]
LEVELS = [(Level.FLOOR.value, "From the floor"), (Level.MAT.value, "From the mat")]
EDGES = [
    (Edge.UPPER.value, "To the upper edge"),
    (Edge.CENTRE.value, "To the centre"),
    (Edge.UNDERSIDE.value, "To the underside"),
]
SPREADS = [(datum.value, spread_in_words(datum).capitalize()) for datum in SpreadDatum]
OF_A_TABLE = {
    "names": "Which name comes first",
    "level": "Heights are taken",
    "mat_mm": "Thickness of the mat",
    "edge": "Heights go",
    "spread": "Spreads are taken as the",
    "rail_mm": "Diameter of the rail",
}
_CHOICES = {"names": NAMES, "level": LEVELS, "edge": EDGES, "spread": SPREADS}
_FIELDS = {key: key.removesuffix("_mm") for key in OF_A_TABLE}
_WITH_UNIT = {Role.VALUE, Role.ACCEPTS, Role.UNIT, None}


def columns_form(seen: Look) -> DeskForm:
    """For every column what it holds and in which unit; for every table names and datum.

    Before them, for every kind of apparatus of which the list names no model, which is meant.
    """
    fields: dict[str, object] = {}
    known: dict[str, object] = {}
    for kind in seen.kinds_unnamed:
        fields[f"model_{kind}"] = ChoiceField(
            f"Model of {KINDS[kind].name.lower()} where the list names none",
            choices=[(name, name) for name, key in seen.models.items() if key == kind],
            optional=True,
        )
        known[f"model_{kind}"] = seen.mapped.get(coach_lists.MODELS, {}).get(kind)
    for number, table in enumerate(seen.preview.tables):
        before = _said_of_table(seen, table)
        for key, words in _asked_of(table):
            name, label = f"{_FIELDS[key]}{number}", f"{words}{_of(seen, number)}"
            if choices := _CHOICES.get(key):
                fields[name] = ChoiceField(label, choices=choices, optional=True)
                known[name] = before.get(key) or None
            else:
                fields[name] = LengthField(label, optional=True)
                known[name] = int(before.get(key, 0)) or None
        if table.names_first:
            known[f"names{number}"] = table.names_first
        for column in table.columns:
            name = f"{number}_{column.line}"
            words = f"{column.line}{', ' + column.header if column.header else ''}"
            line = "Row" if table.layout == ACROSS else "Column"
            fields[f"holds{name}"] = ChoiceField(
                f"{line} {words}{_of(seen, number)} holds", choices=HOLDS, optional=True
            )
            known[f"holds{name}"] = _holds(column) or None
            if column.role in _WITH_UNIT:
                fields[f"unit{name}"] = ChoiceField(
                    f"Unit of {words}{_of(seen, number)}", choices=UNITS, optional=True
                )
                known[f"unit{name}"] = column.unit.value if column.unit else None
    return form_of(fields, DeskForm)(data=known)


def as_said(seen: Look, form: DeskForm) -> Mapped:
    """How the list is to be read by that form: what was said before, with what is said now."""
    mapped = {place: dict(told) for place, told in seen.mapped.items()}
    for number, table in enumerate(seen.preview.tables):
        common = {key: form[f"{_FIELDS[key]}{number}"].data for key, _ in _asked_of(table)}
        for column in table.columns:
            told = mapped.setdefault(_place(column), {})
            _say(told, {key: str(value or "") for key, value in common.items()})
            name = f"{number}_{column.line}"
            holds = form[f"holds{name}"].data or ""
            if holds != _holds(column):
                what, _, value = holds.partition(":")
                _say(told, {"role": "", "axis": ""} | ({what: value} if what else {}))
            if f"unit{name}" in form:
                unit = form[f"unit{name}"].data or ""
                if unit != (column.unit.value if column.unit else ""):
                    _say(told, {"unit": unit})
    models = {kind: form[f"model_{kind}"].data or "" for kind in seen.kinds_unnamed}
    mapped[coach_lists.MODELS] = {kind: name for kind, name in models.items() if name}
    return {place: told for place, told in mapped.items() if told}


def said_before(seen: Look) -> Iterator[str]:
    """What was said of the points between which lengths are taken, which shifts every number."""
    words = {key: dict(choices) for key, choices in _CHOICES.items() if key != "names"}
    for number, table in enumerate(seen.preview.tables):
        told = _said_of_table(seen, table)
        for key, asked in OF_A_TABLE.items():
            if key != "names" and key in told:
                value = words[key][told[key]] if key in words else length(int(told[key]))
                yield f"{asked}{_of(seen, number)}: {value[:1].lower()}{value[1:]}"


def _say(told: dict[str, str], more: Mapping[str, str]) -> None:
    for key, value in more.items():
        if value:
            told[key] = value
        else:
            told.pop(key, None)


def _asked_of(table: TableFound) -> Iterator[tuple[str, str]]:
    for key, words in OF_A_TABLE.items():
        if key != "names" or table.names_first is not None:
            yield key, words


def _said_of_table(seen: Look, table: TableFound) -> dict[str, str]:
    """What was said of all columns of a table."""
    told = (seen.mapped.get(_place(column), {}) for column in table.columns)
    return {key: column[key] for column in told for key in OF_A_TABLE if key in column}


def _holds(column: ColumnFound) -> str:
    if column.axis and column.kind and column.role is Role.VALUE:
        return f"axis:{column.kind}/{column.axis}"
    return f"role:{column.role.name.lower()}" if column.role else ""


def _place(column: ColumnFound) -> str:
    return f"{column.sheet}!{column.line}"


def _of(seen: Look, number: int) -> str:
    """Which table is meant, where there are several."""
    if len(seen.preview.tables) == 1:
        return ""
    table = seen.preview.tables[number]
    return f" in table {number + 1}" + (f" ({table.sheet})" if table.sheet else "")
