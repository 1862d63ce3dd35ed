"""Lengths of a list that no mark of their model comes to are said once, and stay as they stand."""

from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from tests.conftest import DemoClub
from tests.desk.lists.test_coach_lists import OWN


class TestWhatTheModelDoesNotReach:
    LIST = f"{OWN}\nMarsh;Ida;Hall frame A;165;285;170\nQuell;Ada;Hall frame A;165;245;170"

    def test_is_said_once_and_stays_what_is_wanted(self, demo_club: DemoClub) -> None:
        """Her rail was 285 cm on bars that end at 270: a slip, or a wish for other bars."""
        with demo_club.work(writes=True) as session:
            taker = Squad(session)
            seen = coach_lists.look(session, taker, self.LIST.encode(), "own.csv")
            coach_lists.take(session, taker, seen)
        with demo_club.work() as session:
            again = coach_lists.look(session, Squad(session), self.LIST.encode(), "own.csv")

        [said] = seen.preview.queries
        assert (said.row, said.column) == (2, "E")
        assert said.why.startswith("Hall frame A has no such mark. High rail height: ")
        assert "15.0 cm too low" in said.why
        assert seen.is_whole
        wanted = [one.settings[0].setting for one in seen.people]
        assert [one and one.axes["high_rail"].wanted_mm for one in wanted] == [2850, 2450]
        assert again.preview.queries == ()


class TestHalfWay:
    def test_between_two_marks_it_is_said_which_counts_and_which_is_as_near(
        self, demo_club: DemoClub
    ) -> None:
        """167.5 cm on holes at 165 and 170: the program's choice is not made behind anybody."""
        listed = f"{OWN}\nMarsh;Ida;Hall frame A;167,5;245;170\nQuell;Ada;Hall frame A;165;245;170"
        with demo_club.work(writes=True) as session:
            seen = coach_lists.look(session, Squad(session), listed.encode(), "own.csv")

        [said] = seen.preview.queries
        assert (said.row, said.column, said.is_only_said) == (2, "D", True)
        assert said.why == (
            "It lies half-way between two marks of Hall frame A: mark 4 counts, and mark 5 is as"
            " near. To choose, write the mark, or the length there"
        )
        assert seen.is_whole
