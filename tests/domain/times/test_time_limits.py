"""Timed change-overs that tell nothing, each with its reason."""

import pytest

from settingsdesk.domain.changeover.crew import crew_time_s
from settingsdesk.domain.times.time_limits import why_left_out
from settingsdesk.domain.times.timed import TimedChangeOver

HERE, THERE = (2, 4, 9), (5, 4, 9)  # 45 s, and twice 8 s with three stops of 5 s: 91 s


def timed(seconds: int, start=HERE, goal=THERE, hands: int = 1) -> TimedChangeOver:
    return TimedChangeOver(start, goal, hands, seconds)


def reason(model, one: TimedChangeOver) -> str:
    """The reason beside twelve ordinary change-overs."""
    return why_left_out(model, [timed(91)] * 12 + [one])[-1]


class TestOneByItself:
    def test_an_ordinary_one_counts(self, bars) -> None:
        assert crew_time_s(bars, HERE, THERE, 1) == 91
        assert reason(bars, timed(91)) == ""

    @pytest.mark.parametrize(
        ("seconds", "why"),
        [
            (0, "It took no time: confirmed at once, or the clock was put back"),
            (-4, "It took no time: confirmed at once, or the clock was put back"),
            (3601, "It took over an hour: the clock ran on"),
        ],
    )
    def test_no_time_and_hours_tell_nothing(self, bars, seconds: int, why: str) -> None:
        """A double press, or a phone that was put down in the break."""
        assert reason(bars, timed(seconds)) == why

    def test_where_nothing_was_moved_nothing_is_learned(self, bars) -> None:
        assert reason(bars, timed(91, goal=HERE)) == "Nothing was moved"

    def test_a_stop_that_the_scale_no_longer_has_is_named(self, bars) -> None:
        """The model's scale was changed after the evening."""
        assert "stop" in reason(bars, timed(91, goal=(9, 4, 9))).lower()

    def test_a_crew_for_which_no_times_are_worked_out_is_named(self, bars) -> None:
        assert reason(bars, timed(91, hands=3)).startswith("A crew is of 1, 2 or 4")


class TestAgainstWhatIsUsual:
    def test_three_times_as_long_still_counts_and_longer_does_not(self, bars) -> None:
        """Somebody talked; how slow work may be is for the fit to say."""
        assert reason(bars, timed(273)) == ""
        assert reason(bars, timed(274)) == (
            "It took 274 s where about 91 s is usual: more than 3 times as long"
        )

    def test_a_third_still_counts_and_less_does_not(self, bars) -> None:
        assert reason(bars, timed(31)) == ""
        assert reason(bars, timed(30)) == (
            "It took 30 s where about 91 s is usual: less than a third of it"
        )

    def test_usual_is_what_was_timed_not_what_was_planned(self, bars) -> None:
        """Present times that are wrong all over leave nothing out."""
        evening = [timed(910)] * 5 + [timed(91)]

        assert why_left_out(bars, evening)[:5] == [""] * 5
        assert why_left_out(bars, evening)[5].endswith(
            "about 910 s is usual: less than a third of it"
        )

    def test_what_was_confirmed_all_at_once_is_left_out_whatever_is_usual(self, bars) -> None:
        """An evening of hurried presses must not make the work of another one look slow."""
        moves = [TimedChangeOver((0, 0, 0), (2, 2, 5), 1, seconds) for seconds in (1, 1, 1, 140)]

        reasons = why_left_out(bars, moves)
        assert [bool(why) for why in reasons] == [True, True, True, False]
        assert reasons[0].startswith("It took 1 s for 13 steps: confirmed all at once")

    def test_where_the_plan_says_nothing_only_the_limits_hold(self, model_of) -> None:
        """A new model whose times are all nought."""
        from settingsdesk.domain.hall.models import Procedure
        from settingsdesk.domain.times.time_parts import time_parts, with_times

        beam = model_of("balance_beam", procedure=Procedure(0, 0, 0, 0, 0))
        beam = with_times(beam, dict.fromkeys(time_parts(beam), 0))
        moves = [TimedChangeOver((0,), (1,), 1, seconds) for seconds in (3, 3000, 0)]

        assert [bool(why) for why in why_left_out(beam, moves)] == [False, False, True]

    def test_no_change_over_at_all_leaves_none_out(self, bars) -> None:
        assert why_left_out(bars, []) == []
