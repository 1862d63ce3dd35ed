"""What a person says of a list: what its columns hold, what is meant in a cell, who is taken.

The form shows how the list is read now. What is said goes before what the list says of itself; a
field that is emptied lets the list speak again.
"""

from collections.abc import Iterator, Mapping

from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers
from settingsdesk.desk.lists.coach_lists import Look
from settingsdesk.desk.lists.own_table import UNIT, Asked, SeenCell, SeenLine, SeenPage, SeenTable
from settingsdesk.domain.base.datums import Edge, Level, SpreadDatum, spread_in_words
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.lists.headings import LONGEST_GROUP
from settingsdesk.sheets.lists.preview import ColumnFound, Mapped, TableFound
from settingsdesk.sheets.lists.reading import ACROSS
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values import LONGEST_VALUE
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.fields import (
    CarriedField,
    ChoiceField,
    LengthField,
    TickField,
    WordsField,
)
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
MOST_ASKED = 60
"""So many questions about notes and columns stand on a page; more come as these are answered."""
_WITH_UNIT = {Role.VALUE, Role.ACCEPTS, Role.UNIT, None}


def answers_form(seen: Look, page: SeenPage) -> DeskForm:
    """Everything that can be said of a list on one of its pages.

    For every kind of apparatus of which the list names no model, which is meant; for every club
    that may have entered already, whether it is the same; the group; for every table that stands
    there names and datum, for its columns what they hold and in which unit; for every cell in
    doubt what is meant; for every athlete whether they are to be taken. Our own columns say
    themselves what they hold, and all athletes in them are taken or none.
    """
    fields: dict[str, object] = {"fingerprint": CarriedField(), "shown": CarriedField()}
    known: dict[str, object] = {
        "fingerprint": seen.fingerprint,
        "shown": " ".join(name for name, _ in _ticks(seen, page)),
        "group": seen.answers.group,
    }
    for kind in seen.kinds_unnamed:
        fields[f"model_{kind}"] = ChoiceField(
            f"Model of {KINDS[kind].name.lower()} where the list names none",
            choices=[(name, name) for name, key in seen.models.items() if key == kind],
            needed_at_times=True,
        )
        known[f"model_{kind}"] = seen.mapped.get(coach_lists.MODELS, {}).get(kind)
    for name, (club, alike) in _clubs(seen).items():
        fields[name] = ChoiceField(
            f"Is {quoted(club)} the same club as {quoted(alike)}?",
            choices=[(alike, f"Yes, it is {alike}"), (club, f"No, {club} is another club")],
            needed_at_times=True,
        )
        known[name] = seen.mapped.get(coach_lists.CLUBS, {}).get(club)
    for name, asked in _asked(page):
        fields[name] = ChoiceField(
            asked.label,
            choices=[
                (value, f"{label} (likely)" if value == asked.likely else label)
                for value, label in asked.choices
            ],
            needed_at_times=True,
        )
        known[name] = asked.answered or None
    if len(page.units_open) > 1:
        fields["unit_all"] = ChoiceField(
            "Unit of every column of which it is asked",
            choices=_units(page.likely_unit),
            needed_at_times=True,
        )
    if not seen.is_ours:
        fields["group"] = WordsField(
            "Group of everybody for whom the list names none",
            most=LONGEST_GROUP,
            width="w-16",
            optional=True,
        )
    for table in page.tables:
        if not seen.is_ours:
            _ask_of_table(seen, table, fields, known)
            _ask_of_columns(seen, table, fields, known)
        for name, cell in _cells(table):
            fields[name] = WordsField(
                f"What is meant in row {cell.row}, column {cell.column}",
                most=LONGEST_VALUE,
                width="w-4" if cell.asked_above else "w-16",
                needed_at_times=True,
            )
            known[name] = cell.typed
    for name, line in _ticks(seen, page):
        fields[name] = TickField(f"Take {line.person.person.listed_name if line.person else ''}")
        known[name] = line.person is None or line.person.is_ticked
    return form_of(fields, DeskForm)(data=known)


def _ask_of_table(
    seen: Look, table: SeenTable, fields: dict[str, object], known: dict[str, object]
) -> None:
    before = _said_of_table(seen, table.found)
    for key, words in _asked_of(table.found):
        name, label = f"{_FIELDS[key]}{table.number}", f"{words}{_of(seen, table.number)}"
        if choices := _CHOICES.get(key):
            fields[name] = ChoiceField(label, choices=choices, optional=True)
            known[name] = before.get(key) or None
        else:
            fields[name] = LengthField(label, optional=True)
            known[name] = int(before.get(key, 0)) or None
    if table.found.names_first:
        known[f"names{table.number}"] = table.found.names_first


def _ask_of_columns(
    seen: Look, table: SeenTable, fields: dict[str, object], known: dict[str, object]
) -> None:
    line = "Row" if table.found.layout == ACROSS else "Column"
    for shown in table.columns:
        if (column := shown.found) is None:
            continue
        name = f"{table.number}_{column.line}"
        words = f"{column.line}{', ' + column.header if column.header else ''}"
        fields[f"holds{name}"] = ChoiceField(
            f"{line} {words}{_of(seen, table.number)} holds", choices=HOLDS, needed_at_times=True
        )
        known[f"holds{name}"] = _holds(column) or None
        if column.role in _WITH_UNIT:
            fields[f"unit{name}"] = ChoiceField(
                f"Unit of {words}{_of(seen, table.number)}",
                choices=UNITS,
                needed_at_times=True,
            )
            known[f"unit{name}"] = column.unit.value if column.unit else None


def _units(likely: str) -> list[tuple[str, str]]:
    """All units, the likely one marked."""
    return [(key, f"{said} (likely)" if key == likely else said) for key, said in UNITS]


def as_said(seen: Look, page: SeenPage, form: DeskForm) -> tuple[Mapped, Answers]:
    """How the list is to be read by that form, and its answers to this file.

    What was said before stays, where the form's page says nothing of it. The unit of a column is
    said for all lists of the layout.
    """
    mapped = {place: dict(told) for place, told in seen.mapped.items()}
    for table in page.tables if not seen.is_ours else ():
        number, found = table.number, table.found
        common = {key: form[f"{_FIELDS[key]}{number}"].data for key, _ in _asked_of(found)}
        is_as_read = common.get("names") == (found.names_first or None)
        if is_as_read and "names" not in _said_of_table(seen, found):
            common.pop("names", None)  # it is as the list itself tells, so nobody has said it
        for column in found.columns:
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
    of_all = form["unit_all"].data if "unit_all" in form else None
    units = {
        asked.column: form[name].data or of_all
        for name, asked in _asked(page)
        if asked.about == UNIT
    }
    for place, unit in units.items():
        if unit:
            mapped.setdefault(place, {})["unit"] = unit
    models = {kind: form[f"model_{kind}"].data or "" for kind in seen.kinds_unnamed}
    mapped[coach_lists.MODELS] = {kind: name for kind, name in models.items() if name}
    clubs = {club: form[name].data or "" for name, (club, _) in _clubs(seen).items()}
    _say(mapped.setdefault(coach_lists.CLUBS, {}), clubs)
    shown = form["shown"].data.split()
    answers = seen.answers.with_page(
        said={
            **{
                asked.key: form[name].data or ""
                for name, asked in _asked(page)
                if asked.about != UNIT
            },
            **{cell.key: form[name].data for table in page.tables for name, cell in _cells(table)},
        },
        ticked={line.key: form[name].data for name, line in _ticks(seen, page) if name in shown},
        group="" if seen.is_ours else form["group"].data,
        out_unless_ticked={
            line.key
            for _, line in _ticks(seen, page)
            if line.person is not None and line.person.is_out_unless_ticked
        },
    )
    return {place: told for place, told in mapped.items() if told}, answers


def field_of_cell(table: SeenTable, cell: SeenCell) -> str:
    """The name of the field in which something is typed for a cell."""
    return f"cell{table.number}_{cell.row}_{cell.column}"


def field_of_tick(table: SeenTable, line: SeenLine) -> str:
    """The name of the box that is ticked for an athlete."""
    return f"take{table.number}_{line.number}"


def _cells(table: SeenTable) -> Iterator[tuple[str, SeenCell]]:
    for line in table.lines:
        for cell in line.cells:
            if cell.is_open:
                yield field_of_cell(table, cell), cell


def _ticks(seen: Look, page: SeenPage) -> Iterator[tuple[str, SeenLine]]:
    """The boxes of a page; a sheet of our own columns is taken whole, so it has none."""
    for table in page.tables if not seen.is_ours else ():
        for line in table.lines:
            if line.person is not None:
                yield field_of_tick(table, line), line


def asked_at(page: SeenPage, name: str) -> Asked:
    """The question of a field."""
    return dict(_asked(page))[name]


def _asked(page: SeenPage) -> Iterator[tuple[str, Asked]]:
    for at, asked in enumerate(page.asked[:MOST_ASKED]):
        yield f"asked{at}", asked


def _clubs(seen: Look) -> dict[str, tuple[str, str]]:
    """The names of fields for clubs, each with the name and the one that may be the same."""
    return {f"club{at}": told for at, told in enumerate(seen.clubs_alike.items())}


def read_as(column: ColumnFound) -> str:
    """What a column is read as, in words; empty where nothing tells."""
    if column.role is None:
        return ""
    if column.role is not Role.VALUE or not column.axis:
        return column.role.value
    kinds = [KINDS[column.kind]] if column.kind else list(KINDS.values())
    axis = next(axis for kind in kinds for axis in kind.axes if axis.key == column.axis)
    unit = f", in {column.unit.in_words}" if column.unit else ""
    return f"{axis.in_a_sentence}{unit}"


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
