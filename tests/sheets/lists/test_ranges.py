"""Lists that give a range for each length: how their headings are read, and what is asked."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

import pytest

from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import layout_key, read_lists
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
