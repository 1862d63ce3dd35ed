"""All turns of an athlete at one setup: good plans, where not all of them can be looked at."""

from dataclasses import replace

from settingsdesk.planner.compare import usual_plans
from settingsdesk.planner.one_setup import _at, _changes, _chosen_in, chosen_once
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Unit
from settingsdesk.planner.recount import broken_rules, count
from settingsdesk.planner.search import Budget
from settingsdesk.planner.solve import solve

BEAM = (AxisTimes("height", 20, 2, 8, 5, 3),)
HEIGHTS = (2, 3, 5, 6, 8, 9, 12, 15)


def accepting() -> Problem:
    """A beam; everybody has two turns, and accepts two stops more or less."""
    athletes = tuple(
        Entrant(f"a{number}", {"beam": (stop,)}, 60, accepts={"beam": (2,)})
        for number, stop in enumerate(HEIGHTS)
    )
    return Problem((Unit("beam", BEAM, 45, (4,)),), athletes, turns=2, rest_turns=1)


class TestOneSetup:
    def test_saves_some_of_what_is_accepted_and_never_more_than_freely_chosen_ones(self) -> None:
        loose = accepting()
        exactly = replace(loose, athletes=tuple(replace(one, accepts={}) for one in loose.athletes))
        once = solve(replace(loose, one_setup=True), work_limit_s=1)

        assert broken_rules(replace(loose, one_setup=True), once.plan) == []
        assert once.bound_s <= once.goal_s < solve(exactly).goal_s
        assert solve(loose, work_limit_s=1).bound_s <= once.goal_s

    def test_is_each_athletes_own(self) -> None:
        solution = solve(replace(accepting(), one_setup=True), work_limit_s=0.5)
        setups: dict[str, set[tuple[int, ...]]] = {}
        for turn in solution.plan["beam"]:
            setups.setdefault(turn.athlete, set()).add(turn.setup)

        assert all(len(some) == 1 for some in setups.values())

    def test_is_changed_as_long_as_one_more_change_helps(self) -> None:
        """Here one change makes another one worth while that was none before."""
        wanted = ((8, 2), (12, 1), (11, 2), (13, 1), (4, 3))
        athletes = tuple(
            Entrant(f"a{number}", {"beam": (stop,)}, 60, accepts={"beam": (stops,)})
            for number, (stop, stops) in enumerate(wanted)
        )
        unit = Unit("beam", BEAM, 45, (4,))
        few = Problem((unit,), athletes, turns=2, rest_turns=1, one_setup=True)
        begin, _ = usual_plans(few)
        assert begin is not None

        plan = chosen_once(few, Budget.starting_now(60, 60), begin, lambda asked, *_: solve(asked))

        better = [
            other
            for other in _changes(few, _chosen_in(few, plan))
            if solve(_at(few, other)).change_over_s < count(few, plan).change_over_s
        ]
        assert count(few, plan).change_over_s < count(few, begin).change_over_s
        assert better == []
