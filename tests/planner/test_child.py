"""The program that searches beside the server: what it says, and when it is gone."""

import json
import pickle
import subprocess
import sys
import textwrap
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from settingsdesk.planner import child
from settingsdesk.planner.child import Task
from settingsdesk.planner.errors import NoPlanInTime
from settingsdesk.planner.plan import Solution, Status
from settingsdesk.planner.problem import Problem, Wishes
from settingsdesk.planner.recount import broken_rules, count
from settingsdesk.planner.solve import solve
from tests.desk.rotations.test_searches import EASY, HARD, rotation, until
from tests.planner.crews import Steps

ENOUGH_BYTES = 1 << 30


def told(problem: Problem, **asked: object) -> list[dict[str, object]]:
    """All lines that the program writes for a problem."""
    done = subprocess.run(
        [sys.executable, "-m", "settingsdesk.planner.child", str(ENOUGH_BYTES)],
        input=pickle.dumps(Task(problem, **asked)),
        stdout=subprocess.PIPE,
        check=True,
    )
    return [json.loads(line) for line in done.stdout.splitlines()]


class TestWhatItSays:
    def test_one_line_with_the_proven_plan(self) -> None:
        (line,) = told(EASY)
        answer = Solution.from_json(line["solution"])

        assert replace(answer, solve_s=0.0) == replace(solve(EASY), solve_s=0.0)

    def test_a_crews_own_time_goes_with_the_problem(self) -> None:
        unit = replace(EASY.apparatus[0], change_over=Steps(7))
        problem = replace(EASY, apparatus=(unit,))
        (line,) = told(problem)
        answer = Solution.from_json(line["solution"])

        assert answer.goal_s % 7 == 0
        assert answer.goal_s == count(problem, answer.plan).change_over_s

    def test_a_refusal_in_the_planners_words(self) -> None:
        wishes = Wishes(before=(("a0", "a1"), ("a1", "a0")))
        (line,) = told(replace(EASY, wishes=wishes))

        assert "a1 before a0" in line["refused"]


class TestWhatTheWishesCost:
    ASKED = replace(EASY, wishes=Wishes(first="a3", last="a1"))

    def test_it_comes_after_the_word_that_the_order_is_found(self) -> None:
        """Whoever waits for the order goes on with it, and reads the rest later."""
        lines = told(self.ASKED, with_costs=True)

        assert [next(iter(line)) for line in lines] == ["solution", "answered", "cost", "cost"]
        assert [line["cost"]["where"][1] for line in lines[2:]] == ["first", "last"]

    def test_it_is_told_alone_of_a_plan_that_is_known(self) -> None:
        plan = solve(self.ASKED).plan
        lines = told(self.ASKED, with_costs=True, known=plan)

        assert [next(iter(line)) for line in lines] == ["answered", "cost", "cost"]

    def test_it_is_not_told_where_nobody_asked(self) -> None:
        """A run at the bars takes the rest of its order at once."""
        assert [next(iter(line)) for line in told(self.ASKED)] == ["solution"]


class TestItsRounds:
    @pytest.fixture(autouse=True)
    def short(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(child, "ROUNDS_S", (0.1, 0.2, 0.4))

    def test_no_answer_is_worse_than_the_one_before(self) -> None:
        problem = rotation(16, turns=3)
        answers = list(child.answers(problem))

        assert len(answers) == 3
        for before, after in pairwise(answers):
            assert (after.goal_s, after.deviation_stops) <= (before.goal_s, before.deviation_stops)
            assert after.bound_s >= before.bound_s
        assert all(answer.bound_s <= answer.goal_s for answer in answers)
        assert not any(broken_rules(problem, answer.plan) for answer in answers)

    def test_a_worse_plan_with_a_better_bound_leaves_the_plan_and_gives_its_bound(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        first = replace(solve(EASY), status=Status.BEST_FOUND, bound_s=10)
        worse = replace(first, goal_s=first.goal_s + 5, bound_s=20)
        closer = replace(first, deviation_stops=first.deviation_stops - 1, bound_s=15)
        monkeypatch.setattr(child, "solve", in_turn(first, worse, closer))

        assert list(child.answers(EASY)) == [
            first,
            replace(first, bound_s=20),
            replace(closer, bound_s=20),
        ]

    def test_a_round_without_a_plan_is_passed_over(self, monkeypatch: pytest.MonkeyPatch) -> None:
        found = solve(EASY)
        monkeypatch.setattr(child, "solve", in_turn(NoPlanInTime(0.1), found))

        assert list(child.answers(EASY)) == [found]

    def test_no_plan_in_any_round_is_refused(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(child, "solve", in_turn(*(NoPlanInTime(s) for s in child.ROUNDS_S)))

        with pytest.raises(NoPlanInTime):
            list(child.answers(EASY))


def in_turn(*results: Solution | NoPlanInTime) -> Callable[..., Solution]:
    """A planner that finds what it is told to."""
    left = iter(results)

    def solve(_: Problem, *, time_limit_s: float) -> Solution:
        result = next(left)
        if isinstance(result, NoPlanInTime):
            raise result
        return result

    return solve


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends a child with its parent")
class TestItsEnd:
    def test_it_dies_with_a_server_that_is_killed(self) -> None:
        """Nobody would be left to stop it, and it would keep a core busy for a minute.

        Its answers go to this test, which goes on holding their pipe: it is not writing into a
        broken pipe that ends it.
        """
        with subprocess.Popen(
            [sys.executable, "-c", A_SERVER, str(ENOUGH_BYTES)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        ) as server:
            assert server.stdin is not None
            assert server.stdout is not None
            server.stdin.write(pickle.dumps(Task(HARD)))
            server.stdin.close()
            search = Path(f"/proc/{int(server.stdout.readline())}/stat")
            assert b"solution" in server.stdout.readline()
            assert is_alive(search)
            server.kill()
            until(lambda: not is_alive(search))


A_SERVER = textwrap.dedent("""
    import subprocess, sys

    command = [sys.executable, "-m", "settingsdesk.planner.child", sys.argv[1]]
    search = subprocess.Popen(command, stdin=subprocess.PIPE)
    print(search.pid, flush=True)
    search.stdin.write(sys.stdin.buffer.read())
    search.stdin.flush()
    search.wait()
""")


def is_alive(stat: Path) -> bool:
    """Whether a process is there and not merely waiting for its exit status to be fetched."""
    try:
        return stat.read_text().rpartition(")")[2].split()[0] not in "ZX"
    except OSError:
        return False
