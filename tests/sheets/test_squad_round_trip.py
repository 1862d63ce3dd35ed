"""What goes out comes back the same, and the template can be filled in as it is."""

import unicodedata
from collections.abc import Callable
from io import BytesIO

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.squad import Entry, SquadRow
from settingsdesk.sheets.squad_reading import read_squad_file
from settingsdesk.sheets.squad_writing import squad_csv, squad_xlsx, template_xlsx
from tests.sheets.books import saved

AXES = ("Low rail height", "High rail height", "Rail spread")


def tidy(text: str) -> str:
    """A text as a person's name or mark is kept: one line, composed, no stray blanks."""
    return unicodedata.normalize("NFC", " ".join(text.split()).strip("\u200b\ufeff")).strip()


ANY_SIGN = st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\ufffd\uffff\ufffe")
SIGNS = ANY_SIGN | st.sampled_from("=+-@'\";,_x0041 ")
LINE = st.text(SIGNS, max_size=12).map(tidy).filter(lambda text: text == tidy(text))
NAME = LINE.filter(bool)
NOTE = (
    st.lists(LINE, max_size=3)
    .map("\n".join)
    .map(str.strip)
    .filter(lambda text: text == text.strip("\u200b\ufeff"))
)
ENTRY = st.integers(0, 5000).map(Entry.of_length) | NAME.map(Entry.of_mark)


@st.composite
def squad_row(draw: st.DrawFn) -> SquadRow:
    """An athlete, with settings on a model or without both."""
    model = draw(LINE)
    wanted = draw(st.dictionaries(st.sampled_from(AXES), ENTRY)) if model else {}
    accepts = {axis: draw(st.integers(0, 300)) for axis in wanted if draw(st.booleans())}
    return SquadRow(
        number=0,
        family_name=draw(NAME),
        given_name=draw(NAME),
        printed_name=draw(LINE),
        group=draw(LINE),
        model=model,
        wanted=wanted,
        accepts_mm=accepts,
        reason=draw(NOTE),
    )


SQUAD = st.lists(
    squad_row(),
    max_size=4,
    unique_by=lambda row: (row.family_name.casefold(), row.given_name.casefold()),
)


class TestRoundTrip:
    @pytest.mark.parametrize(
        ("write", "name"), [(squad_xlsx, "squad.xlsx"), (squad_csv, "squad.csv")]
    )
    @given(rows=SQUAD)
    @settings(max_examples=60)
    def test_every_row_comes_back_equal(
        self, write: Callable[..., bytes], name: str, rows: list[SquadRow]
    ):
        """Export, change one height, import: nothing else must have changed."""
        sheet = read_squad_file(write(rows, AXES), name, AXES)

        assert [str(fault) for fault in sheet.faults] == []
        assert list(sheet.rows) == rows
        assert [row.number for row in sheet.rows] == list(range(2, len(rows) + 2))

    def test_a_name_that_had_to_be_mended_does_not_come_back(self):
        """The coach sees it in the preview instead of in the squad."""
        content = squad_xlsx([SquadRow(0, "Qu\x07ill", "Edda")], AXES)

        sheet = read_squad_file(content, "squad.xlsx", AXES)

        assert sheet.rows == ()
        assert "type it again without the sign �" in str(sheet.faults[0])


class TestTemplate:
    def test_it_reads_as_an_empty_squad(self):
        """What the program gives out it must take back without a complaint."""
        sheet = read_squad_file(template_xlsx(AXES, ["Hall A"]), "template.xlsx", AXES)

        assert (sheet.sheet, sheet.rows, sheet.faults) == ("Squad", (), ())
        assert list(sheet.columns) == [column.header for column in SquadColumns(AXES)]

    def test_it_explains_every_column_and_lists_the_models(self):
        """The sheet is filled in far from the program."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx(AXES, ["Hall A", "=Hall B"])))
        rows = list(workbook["How to fill in"].values)

        headers = [column.header for column in SquadColumns(AXES)]
        assert [row[0] for row in rows[1:-1]] == headers
        assert all(row[1].endswith(".") for row in rows[1:])
        assert [row[2] for row in rows[1:4]] == ["Hall A", "=Hall B", None]

    @pytest.mark.parametrize(
        ("axis", "datum"),
        [
            ("High rail height", "(upper edge of the rail, above the floor)"),
            ("Rail spread", "(shortest distance between the rails' inner faces)"),
            ("Board distance", "(between the board and the table)"),
        ],
    )
    def test_it_says_between_what_each_length_is_measured(self, axis: str, datum: str):
        """A height to the rail's centre would be two centimetres off."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx([axis], [])))
        told = {row[0]: row[1] for row in workbook["How to fill in"].values}

        assert told[f"{axis} (cm)"].endswith(f"{datum}.")

    def test_it_shows_the_usual_caution(self):
        """Paper and sheets travel further than the program."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx(AXES, [])))

        assert "maker's instructions" in list(workbook["How to fill in"].values)[-1][1]

    def test_more_models_than_columns_are_all_listed(self):
        """A large hall has many makes."""
        models = [f"Hall {number}" for number in range(40)]
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx((), models)))

        assert [row[2] for row in workbook["How to fill in"].values][1:] == models

    def test_the_models_can_be_chosen_and_others_typed(self):
        """A model that is not known here yet gets a message on import, not a closed door."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx(AXES, ["Hall A", "Hall B"])))
        (choice,) = workbook["Squad"].data_validations.dataValidation

        assert choice.formula1 == "'How to fill in'!$C$2:$C$3"
        assert str(choice.sqref) == "E2:E1000"
        assert not choice.showErrorMessage

    def test_filled_in_it_is_read(self):
        """The whole way of a new squad."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx(AXES, ["Hall A"])))
        workbook["Squad"].append(["Quill", "Edda", None, None, "Hall A", 162.5])

        sheet = read_squad_file(saved(workbook), "squad.xlsx", AXES)

        assert sheet.faults == ()
        assert sheet.rows[0].wanted == {"Low rail height": Entry.of_length(1625)}

    def test_without_models_there_is_nothing_to_choose(self):
        """The first thing that a new club does may be to fill in names."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx(AXES, [])))

        assert workbook["Squad"].data_validations.dataValidation == []
