"""Tables in plain text, set apart by blanks alone."""

from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.sheets.csv_reading import read_csv
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.table import Row

MAIL = """All in cm

Name              Low   High  Spread
Ida Marsh         165   245   160
Una van der Fenn  160         158,5
"""


class TestColumnsOfBlanks:
    def test_are_told_by_their_places(self):
        """A rail that is left out must not get the next value for its own."""
        found = read_lists(MAIL.encode(), "mail.txt")
        assert [(one.athlete, one.axis, one.value_mm) for one in found.accepted] == [
            ("Ida Marsh", "low_rail", 1650),
            ("Ida Marsh", "high_rail", 2450),
            ("Ida Marsh", "spread", 1600),
            ("Una van der Fenn", "low_rail", 1600),
            ("Una van der Fenn", "spread", 1585),
        ]

    def test_that_stand_on_no_common_places_are_never_two(self):
        """Of lines that are not aligned nothing is read but a text for a person."""
        text = "Name  Low  High\nIda Marsh from Tarn  165   245\nUna    160 240\n"
        assert read_lists(text.encode(), "mail.txt").accepted == ()

    def test_give_way_to_separators(self):
        padded = b"Name      ;Low rail  ;High rail\nIda Marsh ;165       ;245\n"
        assert read_csv(padded, "list.csv").read_as == "UTF-8, separated by semicolons"

    @given(
        st.lists(
            st.tuples(*[st.from_regex(r"[a-z0-9]{1,6}( [a-z0-9]{1,6})?|", fullmatch=True)] * 3),
            min_size=2,
            max_size=6,
        )
    )
    def test_keep_every_value_in_its_own(self, rows: list[tuple[str, str, str]]):
        """Whatever is left out, in whichever line."""
        rows = [("name", "low", "high"), *((f"n {first}".strip(), *rest) for first, *rest in rows)]
        text = "".join(f"{a:<18}{b:<18}{c}\n" for a, b, c in rows)
        read = {
            (row.number, cell.column): cell.text for row in _rows_of(text) for cell in row.cells
        }
        for number, row in enumerate(rows, start=1):
            for column, value in zip("ABC", row, strict=True):
                assert read.get((number, column), "") == value


def _rows_of(text: str) -> tuple[Row, ...]:
    return read_csv(text.encode(), "list.txt").rows
