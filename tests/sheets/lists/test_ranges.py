"""Lists that give a range for each length: how their headings are read, and what is asked."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

import pytest

from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.range_ends import MARKS, TOO_WIDE, middle_of
from settingsdesk.sheets.lists.reading import layout_key, read_lists
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values_said import Doubt, Value
from settingsdesk.sheets.lists.vocabulary import Role
from tests.sheets.books import book, saved

MODELS = {"Hall frame": "uneven_bars"}
BODY = [
    ["Quill, Edda", 160, 164, 244, 248, 170, 174],
    ["Ash, Juno", 158, 160, 240, 244, 166, 168],
]
SPANNING = ["Name", "Low bar", None, "High bar", None, "Spread", None]
Rows = Sequence[Sequence[object]]


def read(
    rows: Rows,
    merged: str = "",
    answers: Mapping[str, str] | None = None,
    mapped: Mapping[str, Mapping[str, str]] | None = None,
) -> ListPreview:
    workbook = book(*[list(row) for row in rows])
    for area in merged.split():
        workbook["Squad"].merge_cells(area)
    return read_lists(saved(workbook), "list.xlsx", MODELS, mapped, answers)


def headers(found: ListPreview) -> list[str]:
    return [column.header for table in found.tables for column in table.columns]


class TestHeadings:
    @pytest.mark.parametrize("merged", ["", "B1:C1 D1:E1 F1:G1", "A1:A2 B1:C1 D1:E1 F1:G1"])
    @pytest.mark.parametrize(
        ("least", "most"),
        [("Min", "Max"), ("from", "to"), ("von", "bis"), ("mínimo", "máximo"), ("最小", "最大")],
    )
    def test_a_heading_over_two_ends_stands_over_each_of_them(
        self, merged: str, least: str, most: str
    ) -> None:
        """Merged over both or blank to its right; the second of each pair had no header."""
        found = read([SPANNING, [None, *[least, most] * 3], *BODY], merged)

        assert headers(found) == [
            "Name",
            *(f"{axis} {end}" for axis in SPANNING[1::2] for end in (least, most)),
        ]
        assert not [query for query in found.queries if query.row > 2]

    def test_two_people_called_so_are_no_header(self) -> None:
        rows = [["Name", "Low bar", "High bar"], ["Min", 160, 240], ["Max", 158, 238]]

        assert [one.athlete for one in read(rows).accepted[::2]] == ["Min", "Max"]

    def test_a_merged_heading_alone_stands_over_all_that_it_covers(self) -> None:
        rows = [["Name", "Low bar", None, "High bar"], ["Ash", 160, 161, 240], ["Elm", 1, 162, 250]]

        assert headers(read(rows, "B1:C1"))[1:3] == ["Low bar", "Low bar"]


class TestColumnsWithoutAHeader:
    ROWS: ClassVar[Rows] = [
        ["Name", "Low bar", "High bar"],
        ["Ash", 160, 240, 170],
        ["Elm", 158, 238, 168, "not on Mondays"],
    ]

    def test_are_read_once_somebody_says_what_they_hold(self) -> None:
        told = {"Squad!D": {"axis": "uneven_bars/spread", "unit": "cm"}}
        found = read(self.ROWS, mapped=told)

        assert [one.value_mm for one in found.accepted if one.axis == "spread"] == [1700]
        assert [one.value_mm for one in found.waiting if one.axis == "spread"] == [1680]
        assert [(query.row, query.column) for query in found.queries] == [(3, "E")]

    def test_are_left_alone_once_somebody_says_so(self) -> None:
        told = {at: {"role": Role.NOT_KEPT.name.lower()} for at in ("Squad!D", "Squad!E")}
        found = read(self.ROWS, mapped=told)

        assert (len(found.accepted), found.waiting, found.queries) == (4, (), ())

    def test_one_cell_is_left_alone_by_a_dash(self) -> None:
        found = read(self.ROWS, answers={"cell:Squad!D2": "-"})

        assert {one.athlete for one in found.accepted} == {"Ash"}
        assert [query.place[1:] for query in found.queries] == [(3, "D"), (3, "E")]

    def test_make_no_other_layout(self) -> None:
        """What was said of the other columns stays said, whatever stands beside the table."""
        plain = [list(row[:3]) for row in self.ROWS]

        assert layout_key(read(self.ROWS).tables) == layout_key(read(plain).tables)


def in_one_row(least: str, most: str) -> list[str]:
    """Headers such as "Low bar min (cm)"."""
    axes = ("Low bar", "High bar", "Spread")
    return ["Name", *(f"{axis} {end} (cm)" for axis in axes for end in (least, most))]


class TestWhatIsTakenOfARange:
    @pytest.mark.parametrize(
        ("rows", "row"),
        [
            ([in_one_row("min", "max"), *BODY], 1),
            ([in_one_row("from", "to"), *BODY], 1),
            ([["Name", "Max low bar (cm)", "Min low bar (cm)"], ["Ash", 164, 160]], 1),
            ([SPANNING, [None, *["Min", "Max"] * 3], *BODY], 2),
        ],
    )
    def test_is_one_question_for_each_axis(self, rows: Rows, row: int) -> None:
        """Neither whether the header is sure nor which column counts is asked besides."""
        found = read(rows)
        axes = (len(rows[0]) - 1) // 2

        assert len({query.key for query in found.queries}) == len(found.column_questions) == axes
        assert {query.row for query in found.queries} == {row}
        assert (found.accepted, found.notes) == ((), ())
        assert all(" has a range: say what is taken of it" in one.why for one in found.queries)

    @pytest.mark.parametrize(("answer", "half_mm"), [("half", 20), ("middle", None)])
    def test_is_the_middle_which_is_told(self, answer: str, half_mm: int | None) -> None:
        rows = [in_one_row("min", "max"), *BODY]
        found = read(rows, answers={f"range:Squad!{at}": answer for at in "BDF"})

        assert [one.value_mm for one in found.accepted] == [1620, 2460, 1720, 1590, 2420, 1670]
        assert found.accepted[0].converted.startswith("the middle of 160.0 cm and 164.0 cm = 162.0")
        assert found.queries == ()
        first, _ = found.persons
        assert first.accepts_mm.get((None, "uneven_bars", "low_rail")) == half_mm

    def test_is_nothing_where_somebody_says_so(self) -> None:
        rows = [in_one_row("min", "max"), *BODY]
        found = read(rows, answers={f"range:Squad!{at}": "leave_out" for at in "BDF"})

        assert (found.accepted, found.waiting, found.queries) == ((), (), ())

    def test_accepts_no_more_than_the_range(self) -> None:
        """160.3 and 160.8 cm have no middle in whole millimetres."""
        rows = [["Name", "Low bar min (mm)", "Low bar max (mm)"], ["Ash", 1603, 1608]]
        found = read(rows, answers={"range:Squad!B": "half"})

        [value], [person] = found.accepted, found.persons
        assert value.value_mm == 1605
        assert "160.5 cm (to the millimetre below)" in value.converted
        assert list(person.accepts_mm.values()) == [2]

    @pytest.mark.parametrize(
        ("ends", "why"),
        [
            ((160, None), "Only one end of the range stands in this row"),
            ((None, 160), "Only one end of the range stands in this row"),
            ((164, 160), "The least is more than the most"),
            ((160, "?"), "A question mark stands in the cell"),
        ],
    )
    def test_is_asked_where_the_ends_tell_none(self, ends: tuple[object, ...], why: str) -> None:
        rows = [["Name", "Low bar min (cm)", "Low bar max (cm)"], ["Elm", 158, 160], ["Ash", *ends]]
        answers = {"range:Squad!B": "half"}
        found = read(rows, answers=answers)

        assert [one.value_mm for one in found.accepted] == [1590]
        [query] = found.queries
        assert query.why.startswith(why)
        typed = {"cell:Squad!B3": "160", "cell:Squad!C3": "164"}
        settled = read(rows, answers=answers | typed)
        assert ([one.value_mm for one in settled.accepted], settled.queries) == ([1590, 1620], ())
        left = read(rows, answers=answers | {f"cell:Squad!{query.column}3": "-"})
        assert ([one.value_mm for one in left.accepted], left.queries) == ([1590], ())

    def test_marks_and_ends_that_nobody_accepts_have_no_middle(self) -> None:
        mark = Value(None, "4", ListUnit.MARK, "mark 4")
        low, high = (Value(mm, None, ListUnit.MM, "") for mm in (1400, 2401))

        assert middle_of(mark, mark) == Doubt(MARKS)
        assert middle_of(low, high) == Doubt(TOO_WIDE)

    def test_a_limit_without_its_twin_is_called_a_limit(self) -> None:
        found = read([["Name", "Low bar max (cm)"], ["Ash", 160]])

        [query] = found.queries
        assert query.why.startswith("This column says that its lengths are limits")


def test_a_line_that_only_repeats_another_asks_nothing() -> None:
    """It is said where it stands, and is in no count of what is to be settled."""
    found = read([["Name", "Low bar (cm)"], ["Ash", 160], ["Ash", 160]])

    assert [one.value_mm for one in found.accepted] == [1600]
    assert [query.is_only_said for query in found.queries if "was taken there" in query.why] == [
        True
    ]
