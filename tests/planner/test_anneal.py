"""Plans made better by small changes: the rules are kept, and turns are shared out over setups."""

from collections.abc import Callable
from dataclasses import replace

from settingsdesk.planner.anneal import annealed
from settingsdesk.planner.compare import usual_plans
from settingsdesk.planner.plan import Turn
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Setup, Unit
from settingsdesk.planner.recount import broken_rules, count
from settingsdesk.planner.search import Budget

BARS = Unit("bars", (AxisTimes("rail", 9, 2, 10, 5, 5),), 45, setup=(0,))


def entrant(name: str, setup: Setup, accepts: int = 0) -> Entrant:
    return Entrant(name, {"bars": setup}, 60, {"bars": (accepts,)})


class TestAPlanMadeBetter:
    def test_lets_one_athlete_help_two_crowds_to_their_rest(self):
        """Cy goes once at the low rail and once at the high one, and nobody waits for a rail."""
        problem = Problem(
            (BARS,),
            (
                *(entrant(name, (0,)) for name in ("Ada", "Bo")),
                entrant("Cy", (2,), accepts=2),
                *(entrant(name, (4,)) for name in ("Di", "Ed")),
            ),
            turns=2,
            rest_turns=2,
        )
        once = tuple(Turn(one.id, one.setups["bars"]) for one in problem.athletes)

        plan = annealed(problem, Budget.starting_now(60, 0.05), {"bars": once + once})

        assert broken_rules(problem, plan) == []
        assert count(problem, plan).change_overs == 1
        assert {turn.setup for turn in plan["bars"] if turn.athlete == "Cy"} == {(0,), (4,)}

    def test_keeps_every_rule_and_is_never_worse(self, invent: Callable[..., Problem]):
        """Wishes, rest, who just had a turn and the accepted stops hold whatever is changed."""
        tried = 0
        for seed in range(60):
            problem = invent(f"{seed}", athletes=4, turns=2, rest=2, bands=True, wishes=seed % 2)
            if not problem.wishes:
                problem = replace(problem, just_had=(problem.athletes[0].id,))
            begin, _ = usual_plans(problem)
            if begin is None:
                continue
            tried += 1

            plan = annealed(problem, Budget.starting_now(60, 0.003), begin)

            assert broken_rules(problem, plan) == [], seed
            assert count(problem, plan).change_over_s <= count(problem, begin).change_over_s
        assert tried >= 30

    def test_may_have_fewer_turns_than_go_elsewhere_together(self):
        """The rest may be longer than the whole rotation, which has one turn at least."""
        for athletes in (1, 2, 3):
            some = tuple(entrant(name, (4,), accepts=1) for name in "ABC"[:athletes])
            begin = {"bars": tuple(Turn(one.id, (4,)) for one in some)}
            problem = Problem((BARS,), some, rest_turns=5)

            plan = annealed(problem, Budget.starting_now(60, 0.003), begin)

            assert broken_rules(problem, plan) == []
            assert {turn.setup for turn in plan["bars"]} == {(3,)}

    def test_is_the_plan_given_where_nothing_may_be_tried(self):
        """A coach in a hurry gets the plan that was there."""
        problem = Problem((BARS,), (entrant("Ada", (0,)), entrant("Bo", (4,), accepts=1)))
        begin = {"bars": (Turn("Ada", (0,)), Turn("Bo", (4,)))}

        assert annealed(problem, Budget.starting_now(60, 0), begin) == begin
