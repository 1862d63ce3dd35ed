"""An answer as JSON and back: how it travels from the process of a search to the server."""

import json
from collections.abc import Callable

import pytest

from settingsdesk.planner.plan import Solution
from settingsdesk.planner.problem import Problem
from settingsdesk.planner.solve import solve

KINDS = {
    "one turn each": {"athletes": 4},
    "wishes": {"athletes": 4, "wishes": True},
    "several turns": {"athletes": 3, "turns": 2, "rest": 1},
    "several apparatus": {"athletes": 4, "units": 2},
    "accepted deviations": {"athletes": 4, "bands": True},
}


class TestAnAnswer:
    @pytest.mark.parametrize("kind", KINDS)
    def test_it_comes_back_as_it_was_written(
        self, kind: str, invent: Callable[..., Problem]
    ) -> None:
        answer = solve(invent(f"written {kind} 3", **KINDS[kind]))
        back = Solution.from_json(json.loads(json.dumps(answer.to_json())))

        assert back.to_json() == answer.to_json()
        assert (back.plan, back.compared) == (answer.plan, answer.compared)
        assert (back.status, back.goal_s, back.bound_s) == (
            answer.status,
            answer.goal_s,
            answer.bound_s,
        )
