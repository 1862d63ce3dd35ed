"""Along one order the setups are chosen anew, and never worse than those it came with."""

from settingsdesk.planner.plan import Turn
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Unit
from settingsdesk.planner.recount import count
from settingsdesk.planner.settle import settled

AXES = tuple(AxisTimes(name, 9, 2, 10, 5, 5) for name in ("low", "high", "spread"))
BARS = Unit("bars", AXES, 45, setup=(4, 4, 4))


def test_a_setup_that_all_accept_stays_in_the_choice_however_many_are_nearer() -> None:
    """Each accepts two stops on every axis: 124 setups lie nearer than the one that serves both."""
    some = tuple(
        Entrant(name, {"bars": wanted}, 60, {"bars": (2, 2, 2)})
        for name, wanted in (("Ada", (2, 2, 2)), ("Bo", (6, 6, 6)))
    )
    problem = Problem((BARS,), some, turns=3)
    plan = {"bars": tuple(Turn(one.id, (4, 4, 4)) for one in some * 3)}
    assert count(problem, plan).change_over_s == 0

    assert count(problem, settled(problem, plan)).change_over_s == 0
