"""The one way from a coach's list, as it comes, to what it says."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from hashlib import sha256

from settingsdesk.domain.base.datums import (
    HeightDatum,
    Level,
    height_in_words,
    spread_in_words,
)
from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import UPPER_EDGE, Quantity
from settingsdesk.sheets.collecting import without_collecting
from settingsdesk.sheets.columns import SQUAD_SHEET
from settingsdesk.sheets.csv_reading import read_csv
from settingsdesk.sheets.guard import SheetFormat, check_upload
from settingsdesk.sheets.lists.blocks import (
    Block,
    Context,
    blocks,
    text_of,
    with_titles,
    with_unheaded,
)
from settingsdesk.sheets.lists.doubles import in_order, without_doubles, without_swapped
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line, grid_of, letter
from settingsdesk.sheets.lists.headers import Column
from settingsdesk.sheets.lists.known_models import KnownModels
from settingsdesk.sheets.lists.long_rows import straightened
from settingsdesk.sheets.lists.marked import Marked
from settingsdesk.sheets.lists.notes import is_out_of_date, note_says
from settingsdesk.sheets.lists.own_rows import OwnRows, own_block
from settingsdesk.sheets.lists.preview import (
    APPLIES,
    LEAVE_OUT,
    READ,
    READ_LIKE_ALL,
    Accepted,
    Answers,
    ColumnFound,
    ListPreview,
    Mapped,
    Marks,
    NoteKind,
    NoteSays,
    PersonFound,
    Query,
    TableFound,
)
from settingsdesk.sheets.lists.row_notes import NOTE_OF_VALUES
from settingsdesk.sheets.lists.rows import BlockReading
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.refusals import FileIsEmpty, WorkbookHoldsTooMuch
from settingsdesk.sheets.table import Row, Table
from settingsdesk.sheets.xlsx_reading import read_sheets

NO_TABLE = (
    "No header that names athletes and what they want was found on this sheet: nothing of it was"
    " taken. Give each column a header such as Name and High rail (cm)"
)
HIDDEN_SHEET = "This sheet is hidden, so nothing of it is taken: say whether it counts"
OLD_SHEET = (
    "This sheet's name says that it is old, so nothing of it is taken: say whether it counts"
)
MOST_LINES_OF_NOTES = 200
MOST_SIDE_BY_SIDE = 6
_LEVELS = tuple(level.value for level in Level)
_LONGEST_MAT = 5  # figures of millimetres
ACROSS = "one athlete in each column"
DOWN = "one athlete in each row"
LONG = "one value in each row"


@without_collecting()
def read_lists(
    content: bytes,
    file_name: str,
    models: Mapping[str, str] | None = None,
    mapped: Mapped | None = None,
    answers: Answers | None = None,
    marks: Marks | None = None,
) -> ListPreview:
    """What a list says, however it is laid out; nothing is guessed, and nothing vanishes.

    ``models`` are the apparatus models that are known, by name, with their kinds' keys, ``marks``
    the labels of their scales; ``answers`` what a person answered of this file. Every cell below a
    header is taken, is about the person, or has a query.

    Raises:
        FileRefused: one of its subclasses, when the file as a whole cannot be read.
    """
    tables = tables_of(content, file_name)
    return read_tables(tables, file_name, models or {}, mapped or {}, answers, marks)


def read_tables(
    tables: Sequence[Table],
    file_name: str,
    models: Mapping[str, str],
    mapped: Mapped,
    answers: Answers | None = None,
    marks: Marks | None = None,
    *,
    takes_ours: bool = True,
) -> ListPreview:
    """The same of the sheets of a file, which are parsed once however often they are read.

    A sheet of our own columns is read by them alone, unless not ``takes_ours``: of a workbook the
    sheet "Squad", or the first one that is shown.
    """
    nothing_yet = partial(
        Found, models=models, file_name=file_name, answers=answers or {}, marks=marks or {}
    )
    found = nothing_yet()
    told = list(_read_ours(tables, found) if takes_ours else ())
    for names_suffice in (False, True):
        if not told:
            found = nothing_yet()
            for table in tables:
                told += _read_table(table, found, mapped, names_suffice=names_suffice)
    _note_texts(found)
    held = [value for value in found.accepted if value.place not in found.dropped]
    accepted, twice = without_doubles(held, found.answers)
    is_ours = any(table.is_ours for table in told)
    accepted, swapped = without_swapped(accepted, is_ours=is_ours)
    queries = in_order([*found.queries, *twice, *swapped], [table.sheet for table in tables])
    taken, persons = _without_left_out(found, accepted)
    in_file_order = _in_file_order(taken, tables, told)
    return ListPreview(
        accepted=tuple(value for value in in_file_order if not persons[value.person].waits),
        queries=tuple(replace(query, person=found.new_place(query.person)) for query in queries),
        tables=tuple(told),
        persons=tuple(persons),
        waiting=tuple(value for value in in_file_order if persons[value.person].waits),
        notes=tuple(found.placed_notes()),
        column_questions=tuple(found.questions),
        unbelieved=tuple(found.placed(found.unbelieved)),
    )


def _without_left_out(
    found: Found, accepted: Sequence[Accepted]
) -> tuple[list[Accepted], list[PersonFound]]:
    """The values and athletes without those whom only lines name that are to be left out."""
    gone = {
        place
        for place, person in enumerate(found.persons.found)
        if person.rows and all(row in found.left_out for row in person.rows)
    }
    if not gone:
        return list(accepted), found.persons.found
    stay = [place for place in range(len(found.persons.found)) if place not in gone]
    found.places = {old: new for new, old in enumerate(stay)}
    return list(found.placed(accepted)), [found.persons.found[place] for place in stay]


def _note_texts(found: Found) -> None:
    """What sheets without any table say of values: all athletes of the file wait for it."""
    everybody = range(len(found.persons.found))
    for kind, where, text in found.texts:
        says = note_says(text)
        note = found.note(
            kind,
            where,
            text,
            NOTE_OF_VALUES,
            says=says,
            persons=everybody,
            choices=(READ, LEAVE_OUT),
        )
        if note.answered == LEAVE_OUT.value:
            found.dropped |= {value.place for value in found.accepted}


def layout_key(tables: tuple[TableFound, ...]) -> str:
    """The same for all files with the same headers: by it a mapping is remembered for a club."""
    headers = [
        (table.layout, column.line, column.header)
        for table in tables
        for column in table.columns
        if not column.is_unheaded  # a note beside the table makes no other layout
    ]
    return sha256(repr(headers).encode()).hexdigest()


def tables_of(content: bytes, file_name: str) -> tuple[Table, ...]:
    """The sheets of a file, as they stand in it; ``FileRefused`` as in ``read_lists``."""
    if check_upload(content, file_name) is SheetFormat.CSV:
        return (read_csv(content, file_name),)
    tables = read_sheets(content, file_name)
    if not tables:
        raise FileIsEmpty(file_name)
    return tables


def _read_table(
    table: Table, found: Found, mapped: Mapped, *, names_suffice: bool
) -> Iterator[TableFound]:
    if not _is_asked_for(table, found):
        return
    grid = grid_of(table)
    context = _of_the_list(found.answers, found.known_models)
    there = list(blocks(grid, context, found.known_models, mapped))
    beside: list[tuple[NoteKind, Line]] = []
    if not there:
        grid, there, beside = _on_its_side(grid, found, mapped)
    if not there and names_suffice:
        grid = grid_of(table)
        context = _of_the_list(found.answers, found.known_models)
        there = list(blocks(grid, context, found.known_models, mapped, names_suffice=True))
        beside = []
    if not there:
        found.queries += [_no_table(table, row) for row in table.rows[:1]]
        found.texts += _texts_of_values(table)
        return
    readings: list[BlockReading] = []
    for number, block in enumerate(there):
        if len(readings) == MOST_SIDE_BY_SIDE and block.is_beside:
            raise WorkbookHoldsTooMuch(found.file_name, "tables side by side", MOST_SIDE_BY_SIDE)
        texts = table.beside.texts if number == 0 else ()
        if readings and not block.is_beside:
            _say_notes(readings)
            readings = []
        block = _with_footnotes(grid, block, found)
        reading = _read_block(grid, block, found, mapped, beside, texts)
        readings.append(reading)
        yield _told(table, grid, reading.block, reading)
    _say_notes(readings)


def _read_ours(tables: Sequence[Table], found: Found) -> Iterator[TableFound]:
    """The table of our own columns, where the sheet that may have one has it."""
    shown = [table for table in tables if not table.beside.is_hidden_sheet]
    named = [table for table in shown if table.sheet.strip().casefold() == SQUAD_SHEET.casefold()]
    for table in (named or shown)[:1]:
        grid = grid_of(table)
        if block := own_block(grid):
            reading = _read_block(grid, block, found, {}, (), table.beside.texts)
            _say_notes([reading])
            yield _told(table, grid, reading.block, reading)


def _say_notes(readings: Sequence[BlockReading]) -> None:
    """Say the notes of tables that stand beside each other: they bear on all of them."""
    everybody = [person for reading in readings for person in reading.persons.values()]
    lines = [line for reading in readings for line in reading.block.body]
    for reading in readings:
        reading.notes.say(everybody, lines)


def _read_block(
    grid: Grid,
    block: Block,
    found: Found,
    mapped: Mapped,
    beside: Sequence[tuple[NoteKind, Line]],
    texts: Sequence[str],
) -> BlockReading:
    """One table of a sheet, but for its notes.

    ``beside`` are lines and ``texts`` are boxes that stand with it.
    """
    block = straightened(grid, block, found)
    if not block.is_ours:
        block = with_unheaded(grid, block, mapped, found.known_models)
    reading = (OwnRows if block.is_ours else BlockReading)(grid, block, found)
    reading.read()
    for kind, lines in ((NoteKind.TITLE, block.titles), (NoteKind.FOOTNOTE, block.above)):
        for line in lines:
            reading.notes.of_table(kind, grid.where(line, min(line.cells)), text_of(line))
    for kind, line in beside:
        reading.notes.of_table(kind, (line.number, letter(min(line.cells))), text_of(line))
    if texts:
        reading.notes.of_table(NoteKind.BOX, (block.header_line, ""), " · ".join(texts))
    Marked(grid, block, reading, found).note()
    return reading


def _is_asked_for(table: Table, found: Found) -> bool:
    """Whether a sheet is read: one that is hidden or old only if somebody said so."""
    is_hidden = table.beside.is_hidden_sheet
    if not (is_hidden or is_out_of_date(table.sheet)):
        return True
    first = table.rows[0]
    note = found.note(
        NoteKind.SHEET,
        (table.sheet, first.number, first.cells[0].column),
        table.sheet,
        HIDDEN_SHEET if is_hidden else OLD_SHEET,
        says=() if is_hidden else (NoteSays.AGE,),
        choices=(READ_LIKE_ALL, LEAVE_OUT),
        key=f"sheet:{table.sheet}",
    )
    return note.answered == READ_LIKE_ALL.value


def _of_the_list(answers: Answers, models: KnownModels) -> Context:
    """What a person said of the whole list."""
    level, _, mat = answers.get("datum", "").partition(":")
    model = models.named(answers.get("model", ""))
    return Context(
        kind=models.kind_of(model) if model else None,
        model=model,
        datum=HeightDatum(Level(level)) if level in _LEVELS else None,
        mat_mm=int(mat) if mat.isdecimal() and len(mat) < _LONGEST_MAT else None,
    )


def _with_footnotes(grid: Grid, block: Block, found: Found) -> Block:
    """The table read by those of its notes of which a person said that they apply."""
    applies = [
        text_of(line)
        for line in (block.body if found.answers else ())
        if found.answers.get(_note_key(grid, line)) == APPLIES.value
    ]
    if not applies:
        return block
    return replace(block, context=with_titles(block.context, applies, found.known_models))


def _texts_of_values(table: Table) -> Iterator[tuple[NoteKind, tuple[str, int, str], str]]:
    for row in table.rows[:MOST_LINES_OF_NOTES]:
        text = " ".join(cell.text for cell in row.cells)
        if note_says(text):
            yield NoteKind.FOOTNOTE, (table.sheet, row.number, row.cells[0].column), text


def _on_its_side(
    grid: Grid, found: Found, mapped: Mapped
) -> tuple[Grid, list[Block], list[tuple[NoteKind, Line]]]:
    """The table read along its columns, without the titles above it; and the notes below."""
    wide = [line for line in grid.lines if len(line.cells) > 1]
    above = [line for line in grid.lines if wide and line.number < wide[0].number]
    turned = grid.part(wide).turned()
    titles = [text_of(line) for line in above]
    models = found.known_models
    context = with_titles(_of_the_list(found.answers, models), titles, models)
    there = list(blocks(turned, context, models, mapped))
    last_above = above[-1].number if above else 0
    notes = [line for line in grid.lines if len(line.cells) < 2 and line.number > last_above]
    beside = [(NoteKind.TITLE, line) for line in above]
    return turned, there, beside + [(NoteKind.FOOTNOTE, line) for line in notes]


def _no_table(table: Table, row: Row) -> Query:
    first = row.cells[0]
    return Query(table.sheet, row.number, first.column, first.text, NO_TABLE)


def _told(table: Table, grid: Grid, block: Block, reading: BlockReading) -> TableFound:
    layout = LONG if block.is_long else (ACROSS if grid.on_its_side else DOWN)
    columns = tuple(_column(grid, block, reading, column) for column in block.columns.values())
    full = block.of_role(Role.FULL_NAME)
    names_first = None
    if full:
        stated = full[0].meaning.family_first
        said = {True: "family", False: "given", None: ""}[stated]
        names_first = full[0].names_first or said
    return TableFound(
        sheet=table.sheet,
        read_as=table.read_as,
        header_row=block.header_line,
        header_place=_header_place(grid, block),
        layout=layout,
        columns=columns,
        names_first=names_first,
        hidden=table.hidden,
        is_ours=block.is_ours,
        places=block.places,
    )


def _note_key(grid: Grid, line: Line) -> str:
    number, column = grid.where(line, min(line.cells))
    return f"note:{grid.sheet}!{column}{number}"


def _header_place(grid: Grid, block: Block) -> str:
    line = block.header_line
    return f"column {letter(line)}" if grid.on_its_side else f"row {line}"


def _column(grid: Grid, block: Block, reading: BlockReading, column: Column) -> ColumnFound:
    said = block.context.said(column, block.context.kind)
    axis = said.axis_kind
    datum = ""
    of_heights = axis is None or axis.quantity is Quantity.HEIGHT
    if said.datum is not None and of_heights:
        datum = height_in_words(said.datum, axis.point if axis else UPPER_EDGE)
    elif said.spread is not None and said.axis == "spread":
        datum = spread_in_words(said.spread)
    elif axis is not None and column.role is Role.VALUE and of_heights:
        datum = height_in_words(HeightDatum(), axis.point)
    is_open = not (column.is_settled or block.is_ours or column.is_unheaded)
    why = column.meaning.why_ambiguous if is_open else ""
    told_by, because, unit = _unit_of(reading, column, said.unit, why)
    before = reading.layout.read_before(column)
    if before is not None:
        at, header = grid.name_of_place(before.place), quoted(before.header)
        told_by, because = "column", f"left out, as column {at}, {header}, is read for it"
    return ColumnFound(
        sheet=grid.sheet,
        line=grid.name_of_place(column.place),
        header=column.header,
        role=column.role,
        kind=said.kind,
        axis=said.axis,
        unit=unit,
        datum=datum,
        told_by=told_by,
        because=because,
        why=why,
        is_unheaded=column.is_unheaded,
    )


def _unit_of(
    reading: BlockReading, column: Column, stated: ListUnit | None, why_open: str
) -> tuple[str, str, ListUnit | None]:
    """What told the unit of a column, that in words, and the unit."""
    by_header = f"the header says it: {quoted(column.header) if column.header else 'no header'}"
    if column.role not in (Role.VALUE, Role.ACCEPTS):
        if column.role:
            return "header", by_header, stated
        return "", why_open or "nothing tells what it holds", stated
    if column.is_said:
        return "person", "somebody said how it is read", stated
    if column.meaning.unit is not None:
        return "header", by_header, stated
    if stated is not None:
        return "title", f"a title says that lengths are in {stated.in_words}", stated
    for at, (told_by, because) in reading.units.told_by.items():
        if at[0] == column.place:
            return told_by, because, reading.units.unit_of(at)
    return "", why_open or "each cell says its own unit, or is asked about", None


def _in_file_order(
    accepted: list[Accepted], tables: Sequence[Table], told: list[TableFound]
) -> Sequence[Accepted]:
    """As they stand in the file; only tables read along their columns come in another order."""
    if all(table.layout != ACROSS for table in told):
        return accepted
    return in_order(accepted, [table.sheet for table in tables])
