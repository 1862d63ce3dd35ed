"""What a solution says: the total, the comparisons, the proof, the ties."""

from dataclasses import replace

import pytest

from settingsdesk.planner.errors import NoOrderKeepsThis, PlanDoesNotAddUp
from settingsdesk.planner.plan import Status
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Setup, Unit, Wishes
from settingsdesk.planner.solve import solve
from settingsdesk.planner.ways import one_turn
from settingsdesk.planner.ways.answer import Answer

LOW = AxisTimes("low rail", stops=9, ends=2, handling_s=8, up_s=5, down_s=3)
HIGH = replace(LOW, id="high rail")
SPREAD = AxisTimes("spread", stops=20, ends=2, handling_s=6, up_s=1, down_s=1)
BARS = Unit("bars", (LOW, HIGH, SPREAD), any_move_s=45, setup=(4, 4, 9))


def squad(*wanted: Setup, **asked: object) -> Problem:
    names = ("Ada", "Bo", "Cy", "Di", "Eve", "Flo")
    athletes = [
        Entrant(name, {"bars": setup}, turn_s=70)
        for name, setup in zip(names, wanted, strict=False)
    ]
    return Problem((BARS,), tuple(athletes), **asked)  # type: ignore[arg-type]  # test words


def order(problem: Problem) -> list[str]:
    return [turn.athlete for turn in solve(problem).plan["bars"]]


class TestASolution:
    def test_brings_equal_setups_together_and_says_what_that_saves(self):
        """Ada and Cy want one setup: three change-overs become two."""
        solution = solve(squad((4, 5, 9), (4, 6, 9), (4, 5, 9)))

        assert [turn.athlete for turn in solution.plan["bars"]] == ["Ada", "Cy", "Bo"]
        assert solution.goal_s == solution.bound_s == 2 * (45 + 2 * (8 + 5))
        assert solution.status is Status.PROVEN
        assert solution.change_overs == 2
        assert solution.compared.as_listed_s == 3 * 45 + 2 * (8 + 5) * 2 + 2 * (8 + 3)
        assert solution.compared.by_height_s == solution.goal_s

    def test_counts_the_setup_that_must_stand_at_the_end(self):
        """The next squad finds the bars as agreed."""
        problem = squad((4, 5, 9), (4, 6, 9))
        ending = replace(problem, apparatus=(replace(BARS, final_setup=(4, 5, 9)),))

        solution = solve(ending)

        assert solution.change_overs == 2
        assert solution.goal_s == (45 + 2 * (8 + 10)) + (45 + 2 * (8 + 3))
        assert [turn.athlete for turn in solution.plan["bars"]] == ["Bo", "Ada"]

    def test_says_when_the_last_apparatus_is_done(self):
        """With one apparatus the turns are added to the change-overs."""
        problem = squad((4, 5, 9), (4, 6, 9), goal=Goal.MAKESPAN)

        solution = solve(problem)

        assert solution.goal_s == solution.makespan_s == solution.change_over_s + 2 * 70

    def test_keeps_to_the_list_where_nothing_is_lost_by_it(self):
        """Everybody at one setup: the coach's list is left as it is."""
        assert order(squad(*[(4, 4, 9)] * 6)) == ["Ada", "Bo", "Cy", "Di", "Eve", "Flo"]

    def test_prefers_the_listed_of_two_ways_round(self):
        """One up, one down by the same time: the list decides."""
        even = replace(BARS, axes=(replace(LOW, up_s=3), HIGH, SPREAD), final_setup=(4, 4, 9))
        for wanted in ([(3, 4, 9), (5, 4, 9)], [(5, 4, 9), (3, 4, 9)]):
            problem = replace(squad(*wanted), apparatus=(even,))

            assert [turn.athlete for turn in solve(problem).plan["bars"]] == ["Ada", "Bo"]

    def test_is_the_same_every_time(self):
        """Two coaches who ask the same are told the same."""
        problem = squad((4, 5, 9), (3, 6, 2), (8, 0, 4), (4, 4, 4), (0, 0, 0), (7, 7, 7))

        first, second = solve(problem), solve(problem)

        assert replace(first, solve_s=0) == replace(second, solve_s=0)

    def test_takes_the_times_that_a_crew_needs(self):
        """Where the domain knows a crew's time, that counts, even if a detour were quicker."""

        def crew_s(start: Setup, end: Setup) -> int:
            return 100 if abs(start[0] - end[0]) > 1 else 10

        problem = squad((3, 4, 9), (5, 4, 9), (4, 4, 9))
        unit = replace(BARS, setup=(3, 4, 9), change_over=crew_s)

        solution = solve(replace(problem, apparatus=(unit,)))

        assert solution.goal_s == 20
        assert [turn.athlete for turn in solution.plan["bars"]] == ["Ada", "Cy", "Bo"]


class TestSeveralTurnsWithDeviations:
    def test_gather_everybody_where_the_one_is_who_accepts_nothing_else(self):
        """Ada's setup suits all, so that nobody rests at the cost of a change-over."""
        problem = squad((4, 4, 10), *[(4, 4, 11)] * 5, turns=3, rest_turns=2)
        loose = [replace(one, accepts={"bars": (0, 0, 1)}) for one in problem.athletes[1:]]
        problem = replace(problem, athletes=(problem.athletes[0], *loose))

        solution = solve(problem)

        assert solution.change_overs == 1
        assert solution.goal_s == solution.bound_s == 45 + 2 * (6 + 1)


class TestComparedOrders:
    def test_are_none_where_no_order_of_that_kind_is_possible(self):
        """Two apparatus, and nobody can use the second: there is no dealing out."""
        problem = squad((4, 5, 9), (4, 6, 9))
        two = replace(problem, apparatus=(BARS, replace(BARS, id="other bars")))

        compared = solve(two).compared

        assert (compared.as_listed_s, compared.by_height_s) == (None, None)

    def test_follow_the_wishes(self):
        """As listed, but Bo first."""
        problem = squad((4, 5, 9), (4, 6, 9), (4, 5, 9), wishes=Wishes(first="Bo"))

        assert solve(problem).compared.as_listed_s == (45 + 36) + (45 + 22)


class TestWishesThatCannotHoldTogether:
    @pytest.mark.parametrize(
        ("wishes", "said"),
        [
            (
                Wishes(first="Cy", last="Di", before=(("Ada", "Bo"), ("Bo", "Cy"))),
                ["Cy first", "Bo before Cy"],
            ),
            (
                Wishes(before=(("Ada", "Bo"), ("Bo", "Cy"), ("Cy", "Ada"), ("Di", "Ada"))),
                ["Ada before Bo", "Bo before Cy", "Cy before Ada"],
            ),
            (
                Wishes(together=(("Ada", "Bo"),), place={"Ada": 1, "Bo": 4}, last="Eve"),
                ["Ada and Bo next to each other", "Ada at turn 1", "Bo at turn 4"],
            ),
            (Wishes(first="Ada", last="Ada"), ["Ada first", "Ada last"]),
            (Wishes(last="Bo", place={"Bo": 2}), ["Bo last", "Bo at turn 2"]),
        ],
    )
    def test_are_named_as_few_as_possible(self, wishes: Wishes, said: list[str]):
        """The coach reads the two or three that are in each other's way, not all of them."""
        problem = squad(*[(4, 4, 9)] * 6, wishes=wishes)

        with pytest.raises(NoOrderKeepsThis) as refused:
            solve(problem)

        assert sorted(refused.value.wishes) == sorted(said)
        assert all(one in str(refused.value) for one in said)

    def test_are_told_by_where_they_stand_too(self):
        """Whoever asked in other words finds them without reading the sentence."""
        wishes = Wishes(last="Bo", before=(("Cy", "Di"), ("Bo", "Ada")), place={"Di": 5})

        with pytest.raises(NoOrderKeepsThis) as refused:
            solve(squad(*[(4, 4, 9)] * 6, wishes=wishes))

        assert refused.value.wishes == ("Bo last", "Bo before Ada")
        assert refused.value.places == (("last",), ("before", 1))


class TestTheLimits:
    def test_of_work_give_the_same_answer_on_a_slow_and_a_quick_day(self):
        """Only the work decides where a proof is out of reach; the clock is a last stop."""
        wanted = [(4, 5, 9), (3, 6, 2), (8, 0, 4), (4, 4, 4), (0, 0, 0), (7, 7, 7)]
        problem = squad(*wanted, turns=3, rest_turns=2)
        loose = tuple(replace(one, accepts={"bars": (1, 1, 2)}) for one in problem.athletes)
        problem = replace(problem, athletes=loose)

        quick = solve(problem, time_limit_s=30, work_limit_s=0.05)
        slow = solve(problem, time_limit_s=300, work_limit_s=0.05)

        assert quick.status is Status.BEST_FOUND
        assert replace(quick, solve_s=0) == replace(slow, solve_s=0)

    def test_of_hardly_any_time_still_bring_a_plan_no_worse_than_the_usual_ones(self):
        """A coach in a hurry gets at least what the list or the rule of thumb would give."""
        problem = squad((4, 5, 9), (3, 6, 2), (8, 0, 4), (4, 4, 4), (0, 0, 0), (7, 7, 7))

        solution = solve(problem, time_limit_s=0.001, work_limit_s=0)

        assert solution.compared.by_height_s is not None
        assert solution.goal_s <= solution.compared.by_height_s


class TestTheSecondCount:
    def test_throws_a_plan_away_that_does_not_cost_what_the_search_says(
        self, monkeypatch: pytest.MonkeyPatch
    ):
        """A wrong proof is never shown, whatever went wrong on the way to it."""
        problem = squad((4, 5, 9), (4, 6, 9))
        plan = solve(problem).plan
        monkeypatch.setattr(one_turn, "solve", lambda *_: Answer(plan, 1, proven=True))

        with pytest.raises(PlanDoesNotAddUp, match="the search said 1 s"):
            solve(problem)

    def test_throws_a_plan_away_that_forgets_somebody(self, monkeypatch: pytest.MonkeyPatch):
        """Everybody has their turn, or nothing is shown."""
        problem = squad((4, 5, 9), (4, 6, 9))
        plan = {"bars": solve(problem).plan["bars"][:1]}
        monkeypatch.setattr(one_turn, "solve", lambda *_: Answer(plan, 0, proven=False))

        with pytest.raises(PlanDoesNotAddUp, match=r"Bo has \[\] turns"):
            solve(problem)
