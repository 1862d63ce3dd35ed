"""A squad typed line by line: names and marks, and whatever could be read in two ways asked."""

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.squad import several
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.several import (
    InTheSquadAlready,
    Newcomer,
    NotALine,
    typed_in_a_line,
)
from settingsdesk.domain.hall.models import ApparatusModel, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import Lettering, RegularScale
from settingsdesk.domain.hall.starters import STARTERS
from tests.conftest import DemoClub


def plain(key: str, **scales: RegularScale) -> ApparatusModel:
    starter = STARTERS[key]
    times = {axis.key: AxisTimes(1, 1, 1) for axis in starter.kind.axes}
    return starter.model("Plain", {**starter.scales, **scales}, times, Procedure(0, 0, 0, 0, 0))


BARS = plain("uneven_bars")
LETTERED = plain("balance_beam", beam=RegularScale(800, 50, 10, Lettering.LETTERS))


class TestALine:
    @pytest.mark.parametrize(
        ("line", "family", "given"),
        [
            ("Ana Neu 5 5 160", "Neu", "Ana"),
            ("Neu, Ana 5 5 160", "Neu", "Ana"),
            ("van der Neu, Ana Maria\t5\t5\t160,0", "van der Neu", "Ana Maria"),
            ("Ana Neu; 5 ;5; 160.0", "Neu", "Ana"),
            ("Ana Neu 5 / 5 / 160.0", "Neu", "Ana"),
            ("Ana Neu 5/5/160", "Neu", "Ana"),
            ("Ana 5 5 160", "", "Ana"),
            ("1. Ana Neu 5 5 160", "Neu", "Ana"),
            ("12)  Neu, Ana; 5; 5; 160", "Neu", "Ana"),
            ("• Ana Neu 5 5 160", "Neu", "Ana"),
        ],
    )
    def test_has_names_and_a_mark_of_every_axis(self, line: str, family: str, given: str) -> None:
        person = Person(family, given, group_name="Girls")
        assert typed_in_a_line(line, BARS, "Girls") == Newcomer(person, (4, 4, 30))

    def test_without_marks_is_somebody_without_a_setting(self) -> None:
        assert typed_in_a_line("Neu, Ana", BARS, "").stops is None
        assert typed_in_a_line("Ana Neu", LETTERED, "").stops is None

    @pytest.mark.parametrize(
        ("line", "must"),
        [
            ("Ana Maria Neu 5 5 160", "write the family name first and a comma after it"),
            ("Neu, Ana, x 5 5 160", "write the family name first and a comma after it"),
            ("Ana Neu 5 5", "after the names must come 3 marks: low rail height, high rail"),
            ("Ana Neu 5 5 160 2", "after the names must come 3 marks"),
            ("5 5 160", "after the names must come 3 marks"),
            ("Ana; Neu; 5; 5; 160", "either of 'Ana' and 'Neu' may be the family name: write both"),
            ("Ana\tNeu\t5\t5\t160", "as Neu, Ana or Ana, Neu"),
            ("Ana; 5; 5; 160; 1", "after the names must come 3 marks"),
            ("Ana Neu 5 15 160", "high rail height: mark '15' is not on this scale"),
            ("Ana Neu 5 5 170 cm", "after the names must come 3 marks"),
            ("Ana Neu 1 " + "5" * 200, "120 letters or fewer"),
        ],
    )
    def test_that_is_not_clear_is_asked_about(self, line: str, must: str) -> None:
        """A wrong name on a card is a nuisance; a wrong mark is a fall."""
        with pytest.raises(NotALine) as refused:
            typed_in_a_line(line, BARS, "")
        assert must in str(refused.value)

    def test_whose_last_word_may_be_a_name_or_a_mark_is_asked_about(self) -> None:
        with pytest.raises(NotALine, match="put a semicolon after the names"):
            typed_in_a_line("Neu, Ana E", LETTERED, "")
        assert typed_in_a_line("Neu, Ana; E", LETTERED, "").stops == (4,)


class TestWhoIsTypedTwice:
    def refusal(self, club: DemoClub, *newcomers: Newcomer) -> str:
        with pytest.raises(InTheSquadAlready) as refused, club.work(writes=True) as session:
            several.add(session, apparatus.all_pieces(session)[0], newcomers)
        return str(refused.value)

    def test_is_told_with_both_lines(self, demo_club: DemoClub) -> None:
        """Of forty lines nobody looks for the one that is meant."""
        ana = [Newcomer(Person("Neu", "Ana"), None, f"Line {line}") for line in (2, 5)]
        assert self.refusal(demo_club, *ana).startswith(
            "Line 5: Neu, Ana stands in line 2, too, and nobody was added"
        )

    def test_is_told_apart_from_who_is_in_the_squad_already(self, demo_club: DemoClub) -> None:
        known = Newcomer(Person("Bąkiewicz", "Jagna"), None, "Athlete 3")
        assert self.refusal(demo_club, known).startswith(
            "Athlete 3: Bąkiewicz, Jagna is in the squad already, and nobody was added: clear that"
            " entry here, and enter the marks in the table of marks"
        )
