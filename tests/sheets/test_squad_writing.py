"""What goes out comes back the same, and the template can be filled in as it is."""

import unicodedata
from collections.abc import Callable
from io import BytesIO

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.sheets.columns import SquadColumns
from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.squad_writing import SquadRow, squad_csv, squad_xlsx, template_xlsx
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
MODELS = {"Hall A": "uneven_bars", "Hall-A": "uneven_bars", "HALL B": "uneven_bars"}
KEYS = dict(zip(AXES, ("low_rail", "high_rail", "spread"), strict=True))
LENGTHS_MM = st.tuples(st.integers(1000, 1900), st.integers(2000, 3000), st.integers(800, 2500))


@st.composite
def squad_row(draw: st.DrawFn) -> SquadRow:
    """An athlete, with settings on a model or without both."""
    model = draw(st.sampled_from(["", *MODELS]))
    wanted = dict(zip(AXES, draw(LENGTHS_MM), strict=True)) if model else {}
    accepts = {axis: draw(st.integers(0, 300)) for axis in wanted if draw(st.booleans())}
    return SquadRow(
        family_name=draw(NAME),
        given_name=draw(NAME),
        printed_name=draw(LINE),
        group=draw(LINE),
        model=model,
        wanted_mm=wanted,
        accepts_mm=accepts,
        reason=draw(NOTE) if model else "",
    )


SQUAD = st.lists(
    squad_row(),
    max_size=4,
    unique_by=lambda row: (row.family_name.casefold(), row.given_name.casefold()),
)


def rows_of(sheet: ListPreview) -> list[SquadRow]:
    """What was read, as rows that could be written again."""
    rows = []
    for at, found in enumerate(sheet.persons):
        values = [one for one in sheet.accepted if one.person == at]
        lengths_mm = {one.axis: one.value_mm for one in values if one.value_mm is not None}
        accepts_mm = {axis: mm for (_, _, axis), mm in found.accepts_mm.items()}
        rows.append(
            SquadRow(
                family_name=found.family_name,
                given_name=found.given_name,
                printed_name=found.printed_name,
                group=found.group,
                model=next((one.model or "" for one in values), ""),
                wanted_mm={name: lengths_mm[key] for name, key in KEYS.items() if lengths_mm},
                accepts_mm={
                    name: accepts_mm[key] for name, key in KEYS.items() if key in accepts_mm
                },
                reason=next(iter(found.reasons.values()), ""),
            )
        )
    return rows


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
        sheet = read_lists(write(rows, AXES), name, MODELS)

        assert [query.why for query in sheet.queries] == []
        assert rows_of(sheet) == rows
        assert [one.at[1] for one in sheet.persons] == list(range(2, len(rows) + 2))

    def test_a_name_that_had_to_be_mended_does_not_come_back(self):
        """The coach sees it in the preview instead of in the squad."""
        content = squad_xlsx([SquadRow("Qu\x07ill", "Edda")], AXES)

        sheet = read_lists(content, "squad.xlsx")

        assert "type it again without the sign �" in sheet.queries[0].why


class TestTemplate:
    def test_it_reads_as_an_empty_squad(self):
        """What the program gives out it must take back without a complaint."""
        sheet = read_lists(template_xlsx(AXES, ["Hall A"]), "template.xlsx")
        [table] = sheet.tables

        assert (table.sheet, sheet.persons, sheet.queries) == ("Squad", (), ())
        assert [one.header for one in table.columns] == [
            column.header for column in SquadColumns(AXES)
        ]

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
        workbook["Squad"].append(["Quill", "Edda", None, None, "Hall A", 162.5, None, None, 245])
        workbook["Squad"]["L2"] = 170

        sheet = read_lists(saved(workbook), "squad.xlsx", MODELS)

        assert sheet.queries == ()
        assert [one.value_mm for one in sheet.accepted] == [1625, 2450, 1700]

    def test_without_models_there_is_nothing_to_choose(self):
        """The first thing that a new club does may be to fill in names."""
        workbook = openpyxl.load_workbook(BytesIO(template_xlsx(AXES, [])))

        assert workbook["Squad"].data_validations.dataValidation == []
