"""The one way from a coach's list, as it comes, to what it says."""

from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256

from settingsdesk.domain.base.datums import HeightDatum, height_in_words, spread_in_words
from settingsdesk.sheets.csv_reading import read_csv
from settingsdesk.sheets.guard import SheetFormat, check_upload
from settingsdesk.sheets.lists.doubles import in_order, without_doubles, without_swapped
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, grid_of, letter
from settingsdesk.sheets.lists.headers import Block, Column, Context, blocks, with_titles
from settingsdesk.sheets.lists.preview import (
    Accepted,
    ColumnFound,
    ListPreview,
    Mapped,
    Query,
    TableFound,
)
from settingsdesk.sheets.lists.rows import BlockReading
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.refusals import FileIsEmpty
from settingsdesk.sheets.table import Row, Table
from settingsdesk.sheets.xlsx_reading import read_sheets

NO_TABLE = (
    "No header that names athletes and what they want was found on this sheet: nothing of it was"
    " taken. Give each column a header such as Name and High rail (cm)"
)
ACROSS = "one athlete in each column"
DOWN = "one athlete in each row"
LONG = "one value in each row"


def read_lists(
    content: bytes,
    file_name: str,
    models: Mapping[str, str] | None = None,
    mapped: Mapped | None = None,
) -> ListPreview:
    """What a list says, however it is laid out; nothing is guessed, and nothing vanishes.

    ``models`` are the apparatus models that are known, by name, with their kinds' keys. Every cell
    below a header is taken, is about the person, or has a query.

    Raises:
        FileRefused: one of its subclasses, when the file as a whole cannot be read.
    """
    return read_tables(tables_of(content, file_name), file_name, models or {}, mapped or {})


def read_tables(
    tables: Sequence[Table], file_name: str, models: Mapping[str, str], mapped: Mapped
) -> ListPreview:
    """The same of the sheets of a file, which are parsed once however often they are read."""
    found = Found(models=models, file_name=file_name)
    told: list[TableFound] = []
    for table in tables:
        told += _read_table(table, found, mapped)
    accepted, twice = without_doubles(found.accepted)
    accepted, swapped = without_swapped(accepted)
    queries = in_order([*found.queries, *twice, *swapped], [table.sheet for table in tables])
    return ListPreview(
        accepted=_in_file_order(accepted, tables, told),
        queries=tuple(queries),
        tables=tuple(told),
        persons=tuple(found.persons.found),
    )


def layout_key(tables: tuple[TableFound, ...]) -> str:
    """The same for all files with the same headers: by it a mapping is remembered for a club."""
    headers = [
        (table.layout, column.line, column.header) for table in tables for column in table.columns
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


def _read_table(table: Table, found: Found, mapped: Mapped) -> Iterator[TableFound]:
    grid = grid_of(table)
    there = list(blocks(grid, Context(), found.models, mapped))
    if not there:
        grid, there = _on_its_side(grid, found, mapped)
    if not there:
        found.queries += [_no_table(table, row) for row in table.rows[:1]]
        return
    for block in there:
        BlockReading(grid, block, found).read()
        yield _told(table, grid, block)


def _on_its_side(grid: Grid, found: Found, mapped: Mapped) -> tuple[Grid, list[Block]]:
    """The table read along its columns, without the titles above it and the notes below."""
    wide = [line for line in grid.lines if len(line.cells) > 1]
    above = [line for line in grid.lines if wide and line.number < wide[0].number]
    turned = grid.part(wide).turned()
    titles = [" ".join(cell.text for cell in line.cells.values()) for line in above]
    context = with_titles(Context(), titles, found.models)
    there = list(blocks(turned, context, found.models, mapped))
    if there:
        notes = [line for line in grid.lines if line not in wide and line not in above]
        found.queries += [
            Query(
                grid.sheet,
                line.number,
                grid.where(line, min(line.cells))[1],
                line.cells[min(line.cells)].text,
                "This is a note beside the table: read it, nothing of it was taken",
            )
            for line in notes
        ]
    return turned, there


def _no_table(table: Table, row: Row) -> Query:
    first = row.cells[0]
    return Query(table.sheet, row.number, first.column, first.text, NO_TABLE)


def _told(table: Table, grid: Grid, block: Block) -> TableFound:
    layout = LONG if block.is_long else (ACROSS if grid.on_its_side else DOWN)
    columns = tuple(_column(grid, block, column) for column in block.columns.values())
    full = block.of_role(Role.FULL_NAME)
    names_first = None
    if full:
        stated = full[0].meaning.family_first
        said = {True: "family", False: "given", None: ""}[stated]
        names_first = full[0].names_first or said
    key = sha256(repr([(one.line, one.header) for one in columns]).encode()).hexdigest()
    return TableFound(
        sheet=table.sheet,
        read_as=table.read_as,
        header_row=block.header_line,
        header_place=_header_place(grid, block),
        layout=layout,
        columns=columns,
        names_first=names_first,
        layout_key=key,
        hidden=table.hidden,
    )


def _header_place(grid: Grid, block: Block) -> str:
    line = block.header_line
    return f"column {letter(line)}" if grid.on_its_side else f"row {line}"


def _column(grid: Grid, block: Block, column: Column) -> ColumnFound:
    said = block.context.said(column, block.context.kind)
    axis = said.axis_kind
    datum = ""
    if said.datum is not None:
        datum = height_in_words(said.datum, axis.point if axis else "upper edge of the rail")
    elif said.spread is not None and said.axis == "spread":
        datum = spread_in_words(said.spread)
    elif axis is not None and column.role is Role.VALUE and axis.quantity.value == "height":
        datum = height_in_words(HeightDatum(), axis.point)
    return ColumnFound(
        sheet=grid.sheet,
        line=grid.name_of_place(column.place),
        header=column.header,
        role=column.role,
        kind=said.kind,
        axis=said.axis,
        unit=said.unit,
        datum=datum,
        why="" if column.is_settled else column.meaning.why_ambiguous,
    )


def _in_file_order(
    accepted: list[Accepted], tables: Sequence[Table], told: list[TableFound]
) -> tuple[Accepted, ...]:
    """As they stand in the file; only tables read along their columns come in another order."""
    if all(table.layout != ACROSS for table in told):
        return tuple(accepted)
    places = {table.sheet: place for place, table in enumerate(tables)}
    return tuple(
        sorted(
            accepted,
            key=lambda one: (places.get(one.sheet, 0), one.row, len(one.column), one.column),
        )
    )
