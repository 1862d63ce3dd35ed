"""Any list of valid settings comes back whole however it is laid out, and no cell ever vanishes."""

import csv
from dataclasses import dataclass
from io import StringIO
from typing import Literal

from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.sheets.lists.headers import MOST_HEADER_LINES
from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.lists.rows import UNKNOWN_COLUMN
from settingsdesk.sheets.lists.vocabulary import Role
from settingsdesk.sheets.refusals import FileIsEmpty
from tests.sheets.books import book, saved

AXES = ("low_rail", "high_rail", "spread")
Cells = list[list[object]]


@dataclass(frozen=True)
class Language:
    """How coaches of one language head their columns, and encodings that their programs write."""

    family: str
    given: str
    axes: tuple[str, str, str]
    names: tuple[str, ...]
    encodings: tuple[str, ...]


LANGUAGES = {
    "English": Language(
        "Family name",
        "Given name",
        ("Low rail", "High rail", "Spread"),
        ("Marsh", "Fenn", "Ida", "Una"),
        ("utf-8", "cp1252"),
    ),
    "German": Language(
        "Nachname",
        "Vorname",
        ("Holm unten", "Holm oben", "Holmweite"),
        ("Kühn", "Größl", "Wiebke", "Zoë"),
        ("utf-8", "cp1252", "utf-16"),
    ),
    "French": Language(
        "Nom",
        "Prénom",
        ("Barre inférieure", "Barre supérieure", "Écartement"),
        ("Dupré", "Lenôtre", "Éloïse", "Anaïs"),
        ("utf-8-sig", "cp1252"),
    ),
    "Italian": Language(
        "Cognome",
        "Nome",
        ("Staggio basso", "Staggio alto", "Larghezza"),
        ("Alba", "Bonfiglio", "Lia", "Nicolò"),
        ("utf-8", "utf-16"),
    ),
    "Spanish": Language(
        "Apellido",
        "Nombre",
        ("Banda baja", "Banda alta", "Separación"),
        ("Pardo", "Núñez", "Inés", "Sol"),
        ("utf-8", "cp1252"),
    ),
    "Polish": Language(
        "Nazwisko",
        "Imię",
        ("Żerdź niska", "Żerdź wysoka", "Rozstaw"),
        ("Wróżka", "Ślęza", "Łucja", "Żaneta"),
        ("utf-8", "cp1250"),
    ),
    "Japanese": Language(
        "姓",
        "名",
        ("低棒の高さ", "高棒の高さ", "幅"),
        ("山田", "青木", "花", "雪"),
        ("utf-8", "shift_jis", "utf-16"),
    ),
}
HEAD = {"cm": " (cm)", "m": " (m)", "mm": " (mm)"}
PER_UNIT = {"mm": 1, "cm": 10, "m": 1000}


@dataclass(frozen=True)
class Squad:
    """Who wants what, and how their club writes it."""

    language: Language
    wanted: dict[tuple[str, str], tuple[int, int, int]]
    unit: str
    sign: str
    is_in_cell: bool

    @property
    def values(self) -> dict[tuple[str, str], int]:
        """What must come back: by athlete and axis, in millimetres."""
        return {
            (", ".join(name), axis): mm
            for name, wanted in self.wanted.items()
            for axis, mm in zip(AXES, wanted, strict=True)
        }

    def heads(self) -> list[str]:
        """The headers of the axes, with the unit where the cells do not have it."""
        unit = "" if self.is_in_cell else HEAD[self.unit]
        return [f"{axis}{unit}" for axis in self.language.axes]

    def cell(self, mm: int) -> str:
        """The value as it is typed."""
        whole, rest = divmod(mm, PER_UNIT[self.unit])
        digits = str(PER_UNIT[self.unit] + rest)[1:]
        figure = f"{whole}{self.sign}{digits}" if digits else str(whole)
        return f"{figure} {self.unit}" if self.is_in_cell else figure


@st.composite
def squads(draw: st.DrawFn) -> Squad:
    """A few athletes of one club."""
    language = draw(st.sampled_from(list(LANGUAGES.values())))
    a, b, c, d = language.names
    names = draw(
        st.lists(st.sampled_from([(a, c), (a, d), (b, c), (b, d)]), min_size=2, unique=True)
    )
    lengths = st.tuples(st.integers(1500, 1800), st.integers(2200, 2600), st.integers(1400, 1900))
    return Squad(
        language,
        {name: draw(lengths) for name in names},
        draw(st.sampled_from(["mm", "cm", "m"])),
        draw(st.sampled_from(".,")),
        draw(st.booleans()),
    )


def down(squad: Squad) -> Cells:
    """One athlete in each row."""
    head: list[object] = [squad.language.family, squad.language.given, *squad.heads()]
    return [head, *([*name, *map(squad.cell, mm)] for name, mm in squad.wanted.items())]


def down_again(squad: Squad) -> Cells:
    """With the header once more before the last athlete, as printed pages have it."""
    head, *rows = down(squad)
    return [head, *rows[:-1], [], list(head), rows[-1]]


def across(squad: Squad) -> Cells:
    """One athlete in each column."""
    return [list(line) for line in zip(*down(squad), strict=True)]


def long(squad: Squad) -> Cells:
    """One value in each row."""
    head: list[object] = [squad.language.family, squad.language.given, "Adjustment", "Value"]
    unit = "" if squad.is_in_cell else HEAD[squad.unit]
    return [
        [*head[:3], f"Value{unit}"],
        *(
            [*name, axis, squad.cell(mm)]
            for name, wanted in squad.wanted.items()
            for axis, mm in zip(squad.language.axes, wanted, strict=True)
        ),
    ]


def two_lines(squad: Squad) -> Cells:
    """The unit in a line of its own below the axes."""
    head, *rows = down(squad)
    bare: list[object] = [*head[:2], *squad.language.axes]
    if squad.is_in_cell:
        return [bare, *rows]
    return [bare, ["", "", squad.unit, squad.unit, squad.unit], *rows]


LAYOUTS = [down, down_again, across, long, two_lines]
layouts = st.sampled_from(LAYOUTS)


def as_csv(
    cells: Cells, separator: str, encoding: str, quoting: Literal[0, 1] = csv.QUOTE_MINIMAL
) -> bytes:
    """The cells as some program writes them."""
    stream = StringIO()
    csv.writer(stream, delimiter=separator, quoting=quoting).writerows(cells)
    return stream.getvalue().encode(encoding)


def values_of(found: ListPreview) -> dict[tuple[str, str], int | None]:
    """What was taken, by athlete and axis."""
    return {(one.athlete, one.axis): one.value_mm for one in found.accepted}


class TestAnyLayout:
    @given(squads(), layouts, st.sampled_from(";,\t|"), st.data())
    @settings(max_examples=150, deadline=None)
    def test_a_text_file_comes_back_whole(self, squad, layout, separator, data):
        """Whatever program a club uses, its athletes meet the settings they asked for."""
        encoding = data.draw(st.sampled_from(squad.language.encodings))
        found = read_lists(as_csv(layout(squad), separator, encoding), "list.csv")

        assert values_of(found) == squad.values
        assert found.queries == ()

    @given(squads(), layouts, st.booleans())
    @settings(max_examples=60, deadline=None)
    def test_a_workbook_comes_back_whole(self, squad, layout, has_title):
        """With a title above or without."""
        title: Cells = [["Autumn Meet 2031"], []] if has_title else []
        found = read_lists(saved(book(*title, *layout(squad))), "list.xlsx")

        assert values_of(found) == squad.values
        assert found.queries == ()

    @given(st.lists(squads(), min_size=2, max_size=3), layouts)
    @settings(max_examples=40, deadline=None)
    def test_every_sheet_is_read(self, clubs, layout):
        """Clubs of one name on two sheets stay what each sheet says."""
        workbook = book(*layout(clubs[0]), title="1")
        for number, squad in enumerate(clubs[1:], start=2):
            sheet = workbook.create_sheet(str(number))
            for row in layout(squad):
                sheet.append(row)
        found = read_lists(saved(workbook), "list.xlsx")
        cells = {(one.sheet, one.read) for one in (*found.accepted, *found.queries)}

        assert cells == {
            (str(number), squad.cell(mm))
            for number, squad in enumerate(clubs, start=1)
            for mm in squad.values.values()
        }


PIECES = [
    "245", "2,45 m", "245 cm", "1650mm", "?", "245?", "=B2", "wie oben", "Total", "Mittelwert",
    "n = 3", "* new", "3/5", "165-170", "tbd", "-", "x", "Ida", "Marsh", "Low rail", "Spread (cm)",
    "Name", "Club: Fen", "low", "cm", "Uneven bars", "98 3/8\"", "0", "-12", "1e5", "١٦٥", "１６５",
    "ca. 170", "Note: ask again", "Fen Gymnastics",
]  # fmt: skip
HEADS = ["Family name", "Given name", "Club", "Low rail (cm)", "High rail (cm)", "Spread"]
body_cells = st.one_of(st.just(""), st.sampled_from(PIECES), st.text("aZ19., ?ü*", max_size=6))
bodies = st.lists(st.lists(body_cells, min_size=1, max_size=8), max_size=8)
WHOLE_ROW = ("This row is", "This is a note", "No header that names")


def settled(found: ListPreview, row: int, column: str) -> bool:
    """Whether a cell is taken or queried, by itself, with its whole row or with its column."""
    values = (*found.accepted, *found.waiting)
    places = {(one.row, one.column) for one in (*values, *found.queries)}
    rows = {one.row for one in found.queries if one.why.startswith(WHOLE_ROW)}
    columns = {
        one.column
        for one in found.queries
        if one.row < row and (one.why == UNKNOWN_COLUMN or one.key.startswith("unit:"))
    }
    if any(one.key.startswith("rows:") and one.row <= row for one in found.queries):
        return True
    return (row, column) in places or row in rows or column in columns


def is_name(found: ListPreview, row: int, text: str) -> bool:
    """Whether a cell is the name of whoever the row is about."""
    return any(
        one.shown == " ".join(text.split()) for one in found.persons if ("", row) in one.rows
    )


def is_heading(found: ListPreview, row: int, cells: list[str]) -> bool:
    """Whether a row is a header, or one of words above: a header's line, a title of a table."""
    is_words = not any(sign.isdigit() for text in cells for sign in text)
    headers = [table.header_row for table in found.tables]
    is_in_one = any(last - MOST_HEADER_LINES < row <= last for last in headers)
    return is_in_one or (is_words and row <= max(headers, default=0))


def is_no_value(found: ListPreview, row: int, column: str, text: str) -> bool:
    """Whether a cell is about the person, by the header above it."""
    table = [table for table in found.tables if table.header_row < row][-1]
    role = next((one.role for one in table.columns if one.line == column), None)
    is_looked_at = role in (None, Role.VALUE, Role.ACCEPTS, Role.REMARK)
    return not is_looked_at or is_name(found, row, text)


class TestNothingVanishes:
    @given(bodies)
    @settings(max_examples=200, deadline=None)
    def test_every_cell_below_a_header_is_taken_about_the_person_or_queried(self, body):
        """A value that silently stays behind is a rail at the wrong height."""
        found = read_lists(as_csv([HEADS, *body], ";", "utf-8", csv.QUOTE_ALL), "list.csv")

        headings = [HEADS]
        for row, cells in enumerate(body, start=2):
            if is_heading(found, row, cells):
                headings.append(cells)
            if cells in headings:
                continue
            for column, text in zip("ABCDEFGH", cells, strict=False):
                if text.strip() and not is_no_value(found, row, column, text):
                    assert settled(found, row, column), (row, column, text, found.queries)

    @given(st.lists(st.lists(body_cells, min_size=1, max_size=6), min_size=1, max_size=10))
    @settings(max_examples=100, deadline=None)
    def test_any_sheet_is_answered(self, cells):
        """Something is said of every file."""
        try:
            found = read_lists(saved(book(*cells)), "list.xlsx")
        except FileIsEmpty:
            assert not any(text.strip() for row in cells for text in row)
        else:
            assert found.accepted or found.queries or found.tables

    @given(st.sampled_from(PIECES))
    def test_what_is_taken_names_the_cell_it_came_from(self, text):
        """The coach looks it up in the file."""
        rows: Cells = [HEADS, ["Marsh", "Ida", "Fen", text, 245, 170]]
        found = read_lists(saved(book(*rows)), "list.xlsx")

        assert all(one.row == 2 and one.column in "DEF" for one in found.accepted)
