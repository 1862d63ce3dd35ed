"""Ten lists of eight clubs, each made another way: what a person reads in them is what is read."""

import json

import pytest

from settingsdesk.sheets.lists.reading import read_lists
from tests.sheets.meet_files import FOLDER, MAKERS

FILES = sorted(file for file in FOLDER.iterdir() if not file.name.endswith(".json"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_each_is_read_as_a_person_reads_it(file) -> None:
    expected = json.loads((FOLDER / f"{file.name}.expected.json").read_text("utf-8"))
    found = read_lists(file.read_bytes(), file.name)

    assert [
        (one.athlete, one.axis, one.value_mm, one.row, one.column) for one in found.accepted
    ] == sorted(
        (
            (one["athlete"], one["axis"], one["value_mm"], one["row"], one["column"])
            for one in expected["accepted"]
        ),
        key=lambda one: (one[3], len(one[4]), one[4]),
    )
    assert {(one.row, one.column) for one in found.queries} == {
        (one["row"], one["column"]) for one in expected["queries"]
    }


def test_the_text_files_are_those_that_the_maker_makes() -> None:
    """A workbook holds the hour at which it was written, so only the others are compared."""
    for make in MAKERS:
        made = make(False)
        if not made.name.endswith(".xlsx"):
            assert (FOLDER / made.name).read_bytes() == made.content


def test_they_are_of_eight_clubs_and_ninety_six_athletes() -> None:
    entered = {(make(True).club, one["athlete"]) for make in MAKERS for one in make(True).accepted}
    assert len({club for club, _ in entered}) == 8
    assert len(entered) == 96
