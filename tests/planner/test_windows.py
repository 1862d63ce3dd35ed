"""What wishes leave of the places where somebody may begin, against every order there is."""

import random
from itertools import pairwise, permutations

from settingsdesk.planner.plan import Turn
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Unit, Wishes
from settingsdesk.planner.recount import broken_rules
from settingsdesk.planner.windows import windows


class TestWhoMayFollow:
    def test_is_denied_to_nobody_who_may_and_to_most_who_may_not(self):
        """What it denies is left out of every search; what it lets pass only takes longer."""
        denied = impossible = 0
        for seed in range(60):
            rng = random.Random(seed)  # noqa: S311  # invented wishes
            order = rng.sample("abcde", 5)
            pairs = (sorted(rng.sample(range(5), 2)) for _ in range(rng.randint(0, 3)))
            places = rng.sample(range(5), rng.randint(0, 2))
            wishes = Wishes(
                before=tuple({(order[first], order[second]) for first, second in pairs}),
                place={order[turn]: turn + 1 for turn in places},
            )
            beam = Unit("beam", (AxisTimes("height", 20, 2, 8, 5, 3),), 45, (4,))
            athletes = tuple(Entrant(name, {"beam": (4,)}, 60) for name in order)
            problem = Problem((beam,), athletes, wishes=wishes)
            plans = (tuple(Turn(name, (4,)) for name in names) for names in permutations(order))
            follow = {
                (one.athlete, other.athlete)
                for plan in plans
                if not broken_rules(problem, {"beam": plan})
                for one, other in pairwise(plan)
            }

            may_follow = windows(problem, wishes).may_follow
            not_let = {pair for pair in permutations(order, 2) if not may_follow(*pair)}
            assert not not_let & follow, seed
            denied, impossible = denied + len(not_let), impossible + 20 - len(follow)

        assert denied > 0.7 * impossible
