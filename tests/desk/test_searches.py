"""Searches in processes of their own."""

import random
import time
from collections.abc import Iterator
from dataclasses import replace

import pytest

from settingsdesk.desk import searches as module
from settingsdesk.desk.searches import Searches, TooManySearches
from settingsdesk.planner.plan import Solution, Status
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Unit, Wishes
from settingsdesk.planner.solve import solve
from tests.conftest import Clock

AXES = tuple(AxisTimes(name, 20, 2, 8, 5, 3) for name in ("low", "high", "spread"))


def rotation(athletes: int, turns: int = 1, seed: int = 1) -> Problem:
    """A rotation of invented athletes; with many turns and much rest nothing proves it soon."""
    rng = random.Random(seed)  # noqa: S311 -- an invented squad
    setups = [tuple(rng.randrange(20) for _ in AXES) for _ in range(athletes)]
    return Problem(
        apparatus=(Unit("bars", AXES, 45, (5, 5, 5)),),
        athletes=tuple(
            Entrant(f"a{number}", {"bars": setup}, 60) for number, setup in enumerate(setups)
        ),
        turns=turns,
        rest_turns=3 if turns > 1 else 0,
    )


EASY, HARD = rotation(6), rotation(40, turns=3)


@pytest.fixture
def searches() -> Iterator[Searches]:
    made = Searches()
    yield made
    made.close()


def until(holds: object, most_s: float = 30.0) -> None:
    """Wait for something that another process brings about; how long is not what is tested."""
    ends_at = time.monotonic() + most_s
    while not holds():
        assert time.monotonic() < ends_at, "it did not come about"
        time.sleep(0.05)


class TestASearch:
    def test_it_brings_the_planners_answer_and_keeps_it(self, searches: Searches) -> None:
        kept: list[Solution] = []
        key = searches.begin(1, "tonight", EASY, kept.append)
        progress = searches.wait(1, key, 30)

        assert progress is not None
        assert not progress.running
        assert progress.best is not None
        assert progress.best.status is Status.PROVEN
        assert progress.best.goal_s == solve(EASY).goal_s
        assert kept == [progress.best]

    def test_what_the_planner_refuses_is_told_in_its_words(self, searches: Searches) -> None:
        wishes = Wishes(before=(("a0", "a1"), ("a1", "a0")))
        key = searches.begin(1, "tonight", replace(EASY, wishes=wishes), lambda _: None)
        progress = searches.wait(1, key, 30)

        assert progress is not None
        assert "a0 before a1" in progress.refusal
        assert progress.best is None

    def test_a_second_press_joins_the_search_that_runs(self, searches: Searches) -> None:
        first = searches.begin(1, "tonight", HARD, lambda _: None)

        assert searches.begin(1, "tonight", HARD, lambda _: None) == first

    def test_another_problem_for_the_same_thing_ends_the_one_before(
        self, searches: Searches
    ) -> None:
        first = searches.begin(1, "tonight", HARD, lambda _: None)
        second = searches.begin(1, "tonight", rotation(40, 3, seed=2), lambda _: None)

        assert second != first
        progress = searches.wait(1, first, 30)
        assert progress is not None
        assert not progress.running

    def test_stopped_it_keeps_the_best_so_far(self, searches: Searches) -> None:
        kept: list[Solution] = []
        key = searches.begin(1, "tonight", HARD, kept.append)
        until(lambda: (seen := searches.look(1, key)) and seen.best)
        searches.stop(1, key)
        progress = searches.wait(1, key, 30)

        assert progress is not None
        assert not progress.running
        assert len(kept) == 1
        assert kept[0].bound_s <= kept[0].goal_s

    def test_it_ends_when_nobody_looks_at_it_any_more_and_keeps_nothing(self) -> None:
        clock, kept = Clock(), []
        searches = Searches(clock)
        key = searches.begin(1, "tonight", HARD, kept.append)
        process = searches._searches[key].process
        clock.seconds += module.UNWATCHED_S + 1

        until(lambda: process.poll() is not None)
        assert kept == []
        searches.close()

    def test_a_child_that_dies_is_told_as_a_refusal(self, searches: Searches) -> None:
        key = searches.begin(1, "tonight", HARD, lambda _: None)
        searches._searches[key].process.kill()
        progress = searches.wait(1, key, 30)

        assert progress is not None
        assert "Order the rotation once more" in progress.refusal


class TestManySearches:
    def test_the_third_is_refused_until_one_has_ended(self, searches: Searches) -> None:
        keys = [searches.begin(1, name, HARD, lambda _: None) for name in ("one", "two")]
        with pytest.raises(TooManySearches):
            searches.begin(1, "three", HARD, lambda _: None)

        searches.stop(1, keys[0])
        assert searches.begin(1, "three", EASY, lambda _: None)

    def test_another_club_finds_nothing(self, searches: Searches) -> None:
        key = searches.begin(1, "tonight", EASY, lambda _: None)

        assert searches.look(2, key) is None
        assert searches.wait(2, key, 0) is None
        assert searches.look(1, "never given out") is None

    def test_closing_ends_them_all(self) -> None:
        searches = Searches()
        key = searches.begin(1, "tonight", HARD, lambda _: None)
        process = searches._searches[key].process
        searches.close()

        until(lambda: process.poll() is not None)


class TestWriting:
    def test_an_answer_comes_back_as_it_was_written(self) -> None:
        answer = replace(solve(EASY), solve_s=0.25)

        assert Solution.from_json(answer.to_json()) == answer
