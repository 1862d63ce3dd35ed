"""Remarks beside a row's values: each is asked about, and its athlete waits."""

from settingsdesk.sheets.lists.preview import (
    CREW_NOTE,
    NOT_COMING,
    NUMBERS_OUT,
    READ,
    TAKE,
)
from settingsdesk.sheets.lists.reading import read_lists


class TestRemarks:
    """Each says something else, and who does not come must not be entered by another's answer."""

    LIST = (
        "Family name;Given name;Low rail (cm);High rail (cm);Spread (cm);Remark\n"
        "Marsh;Ida;165;245;170;needs chalk\nQuell;Ada;160;240;163;scratched\n"
        "Reed;Bo;160;240;163;Needs  chalk\nSedge;Cy;;;;ill\n"
    )

    def test_words_that_differ_are_asked_by_themselves_and_equal_ones_once(self) -> None:
        notes = [one for one in read_lists(self.LIST.encode(), "list.csv").notes if one.choices]
        assert len({note.of_column for note in notes}) == 3
        assert notes[0].of_column == notes[2].of_column

    def test_the_numbers_stay_or_go_or_the_athlete_does(self) -> None:
        notes = [one for one in read_lists(self.LIST.encode(), "list.csv").notes if one.choices]
        assert notes[1].choices == (TAKE, CREW_NOTE, NUMBERS_OUT, NOT_COMING)
        for choice, taken in ((TAKE, 3), (NUMBERS_OUT, 0), (NOT_COMING, 3)):
            said = {notes[1].of_column: choice.value}
            found = read_lists(self.LIST.encode(), "list.csv", answers=said)
            assert sum(value.person == 1 for value in found.accepted) == taken

    def test_one_answer_does_for_all_of_a_column_that_have_none_of_their_own(self) -> None:
        """Thirty girls with a remark each are one question; who is only named stays one more."""
        [first, other, *_] = read_lists(self.LIST.encode(), "list.csv").notes
        said = {first.of_all: CREW_NOTE.value, other.of_column: NOT_COMING.value}
        found = read_lists(self.LIST.encode(), "list.csv", answers=said)

        assert [(one.text, one.answered) for one in found.notes] == [
            ("needs chalk", "crew_note"),
            ("scratched", "not_coming"),
            ("Needs  chalk", "crew_note"),
            ("ill", ""),
        ]
        assert found.persons[0].crew_notes == {None: ("needs chalk", ("", 2, "F"))}
        assert found.persons[1].crew_notes == {}

    def test_what_is_said_of_all_columns_answers_no_remark(self) -> None:
        """Between which points lengths are taken was said of the table: of its remarks nothing."""
        mapped = {f"!{line}": {"edge": "upper"} for line in "CDEF"}
        found = read_lists(self.LIST.encode(), "list.csv", mapped=mapped)
        assert next(note.text for note in found.notes if note.is_open) == "needs chalk"

    def test_a_remark_alone_is_asked_of_also_where_the_column_is_known_for_remarks(self) -> None:
        """“ill” beside no number: somebody would enter her."""
        mapped = {"!F": {"role": "remark"}}
        for how in ({}, mapped):
            found = read_lists(self.LIST.encode(), "list.csv", mapped=how)
            [ill] = [note for note in found.notes if note.text == "ill"]
            assert ill.choices == (READ, NOT_COMING)
