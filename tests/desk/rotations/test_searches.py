"""Searches in processes of their own."""

import json
import os
import pickle
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from settingsdesk.desk.rotations import searches as desk_searches
from settingsdesk.desk.rotations.searches import Progress, Searches, TooManySearches
from settingsdesk.desk.workers import SeveralWorkers
from settingsdesk.planner.plan import Solution, Status, WishCost
from settingsdesk.planner.problem import AxisTimes, Entrant, Problem, Unit, Wishes
from settingsdesk.planner.solve import solve
from tests.conftest import Clock

AXES = tuple(AxisTimes(name, 20, 2, 8, 5, 3) for name in ("low", "high", "spread"))

sees_processes = pytest.mark.skipif(
    not Path("/proc/self/stat").exists(), reason="this system does not list its processes in /proc"
)


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
WISHED = replace(EASY, wishes=Wishes(first="a3", last="a1"))
OTHER = rotation(40, turns=3, seed=2)


@pytest.fixture
def searches() -> Iterator[Searches]:
    made = Searches()
    yield made
    made.close()


def until(holds: Callable[[], object], most_s: float = 30.0) -> None:
    """Wait for something that another process brings about; how long is not what is tested."""
    ends_at = time.monotonic() + most_s
    while not holds():
        assert time.monotonic() < ends_at, "it did not come about"
        time.sleep(0.05)


@pytest.fixture
def slow_to_weigh(monkeypatch: pytest.MonkeyPatch) -> None:
    """A planner that finds the order at once, and then weighs the first wish and hangs."""
    cost = WishCost(("wishes", "first"), 0, 0).to_json()
    lines = [{"solution": solve(WISHED).to_json()}, {"answered": True}, {"cost": cost}]
    program = (
        "import sys, time\n"
        "sys.stdin.buffer.read()\n"
        f"print({chr(10).join(map(json.dumps, lines))!r}, flush=True)\n"
        "time.sleep(60)\n"
    )

    def child(_: int) -> desk_searches.Process:
        return subprocess.Popen(
            [sys.executable, "-c", program], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )

    monkeypatch.setattr(desk_searches, "_child", child)


def forget(_: object) -> None:
    """What is done with an answer where the test does not care for it."""


def seen(progress: Progress | None) -> Progress:
    """A search that must be there."""
    assert progress is not None
    return progress


def children() -> set[int]:
    """Every process that this one began and that is still there, ended or not."""
    return below(os.getpid())


def below(parent: int) -> set[int]:
    """The same of another process."""
    found = set()
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue  # it ended while we looked
        if int(fields[1]) == parent:
            found.add(int(stat.parent.name))
    return found


class TestASearch:
    def test_it_brings_the_planners_answer_and_keeps_it(self, searches: Searches) -> None:
        kept: list[Solution] = []
        key = searches.begin(1, "tonight", EASY, kept.append)
        progress = seen(searches.wait(1, key, 30))

        assert not progress.running
        assert progress.best is not None
        assert progress.best.status is Status.PROVEN
        assert progress.best.goal_s == solve(EASY).goal_s
        assert kept == [progress.best]

    def test_what_the_planner_refuses_is_told_in_its_words(self, searches: Searches) -> None:
        wishes = Wishes(before=(("a0", "a1"), ("a1", "a0")))
        key = searches.begin(1, "tonight", replace(EASY, wishes=wishes), forget)
        progress = seen(searches.wait(1, key, 30))

        assert "a0 before a1" in progress.refusal
        assert progress.best is None

    def test_a_second_press_joins_the_search_that_runs(self, searches: Searches) -> None:
        first = searches.begin(1, "tonight", HARD, forget)

        assert searches.begin(1, "tonight", HARD, forget) == first

    def test_another_problem_for_the_same_thing_ends_the_one_before(
        self, searches: Searches
    ) -> None:
        first = searches.begin(1, "tonight", HARD, forget)
        second = searches.begin(1, "tonight", OTHER, forget)
        before = seen(searches.wait(1, first, 30))

        assert second != first
        assert not before.running
        assert "being planned again" in before.refusal

    def test_what_was_found_for_the_problem_before_is_not_kept(self, searches: Searches) -> None:
        """It would stand there as the order, and be one for what is not asked any more."""
        kept: list[str] = []
        first = searches.begin(1, "tonight", HARD, lambda _: kept.append("before"))
        until(lambda: seen(searches.look(1, first)).best)
        second = searches.begin(1, "tonight", EASY, lambda _: kept.append("now"))
        searches.wait(1, first, 30)
        searches.wait(1, second, 30)

        assert kept == ["now"]

    def test_stopped_it_keeps_the_best_so_far(self, searches: Searches) -> None:
        kept: list[Solution] = []
        key = searches.begin(1, "tonight", HARD, kept.append)
        until(lambda: seen(searches.look(1, key)).best)
        searches.stop(1, key)

        assert not seen(searches.look(1, key)).running
        assert len(kept) == 1
        assert kept[0].bound_s <= kept[0].goal_s

    def test_it_outlives_the_thread_that_began_it(self, searches: Searches) -> None:
        """A server may answer every request in a thread of its own, which then ends."""
        keys: list[str] = []

        def request() -> None:
            keys.append(searches.begin(1, "tonight", HARD, forget))
            until(lambda: seen(searches.look(1, keys[0])).best)

        thread = threading.Thread(target=request)
        thread.start()
        thread.join()

        assert seen(searches.wait(1, keys[0], 0.5)).running

    def test_what_could_not_be_kept_is_told(
        self, searches: Searches, caplog: pytest.LogCaptureFixture
    ) -> None:
        def keep(_: Solution) -> None:
            raise OSError

        key = searches.begin(1, "tonight", EASY, keep)

        assert "Plan the rotation once more" in seen(searches.wait(1, key, 30)).refusal
        assert "could not be kept" in caplog.text


class TestWhatTheWishesCost:
    """It is worked out after the order was found and kept, in the same process."""

    def weighed(self, costs: Sequence[WishCost]) -> list[str]:
        return [str(cost.where[1]) for cost in costs]

    def test_it_is_kept_after_the_order(self, searches: Searches) -> None:
        kept: list[object] = []
        key = searches.begin(
            1, "tonight", WISHED, kept.append, lambda costs: kept.append(self.weighed(costs))
        )
        progress = seen(searches.wait(1, key, 30))

        assert not progress.running
        assert kept[0] == progress.best
        until(lambda: not searches.is_weighing(1, "tonight"))
        assert kept == [progress.best, ["first", "last"]]

    @pytest.mark.usefixtures("slow_to_weigh")
    def test_nobody_who_waits_for_the_order_waits_for_it(self, searches: Searches) -> None:
        key = searches.begin(1, "tonight", WISHED, forget, forget)
        progress = seen(searches.wait(1, key, 30))

        assert not progress.running
        assert progress.best is not None
        assert searches.is_weighing(1, "tonight")
        assert not searches.is_weighing(2, "tonight")
        assert not searches.is_weighing(1, "tomorrow")

    @pytest.mark.usefixtures("slow_to_weigh")
    def test_it_gives_way_to_a_search_and_what_is_known_by_then_is_kept(
        self, searches: Searches, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(desk_searches, "MOST_AT_ONCE", 1)
        monkeypatch.setattr(desk_searches, "PATIENCE_S", 0.0)
        kept: list[list[str]] = []
        key = searches.begin(
            1, "tonight", WISHED, forget, lambda costs: kept.append(self.weighed(costs))
        )
        searches.wait(1, key, 30)
        run = searches._runs[key]
        until(lambda: run.costs)
        other = searches.begin(1, "tomorrow", EASY, forget)

        assert seen(searches.wait(1, other, 30)).best
        run.ended.wait(30)
        assert kept == [["first"]]

    @pytest.mark.usefixtures("slow_to_weigh")
    def test_of_what_is_planned_otherwise_meanwhile_nothing_is_kept(
        self, searches: Searches
    ) -> None:
        kept: list[object] = []
        key = searches.begin(1, "tonight", WISHED, forget, kept.append)
        searches.wait(1, key, 30)
        run = searches._runs[key]
        until(lambda: run.costs)
        searches.begin(1, "tonight", EASY, forget)
        run.ended.wait(30)

        assert kept == []

    def test_it_is_worked_out_alone_for_an_order_that_is_there(self, searches: Searches) -> None:
        kept: list[list[str]] = []
        plan = solve(WISHED).plan
        searches.weigh(1, "tonight", WISHED, plan, lambda costs: kept.append(self.weighed(costs)))

        until(lambda: not searches.is_weighing(1, "tonight"))
        assert kept == [["first", "last"]]


class TestTheEndOfASearch:
    def test_it_comes_when_nobody_looks_any_more_and_nothing_is_kept(self, clock: Clock) -> None:
        kept: list[Solution] = []
        searches = Searches(clock)
        key = searches.begin(1, "tonight", HARD, kept.append)
        until(lambda: seen(searches.look(1, key)).best)
        clock.seconds += desk_searches.UNWATCHED_S + 1
        searches._runs[key].ended.wait(30)
        progress = seen(searches.look(1, key))

        assert not progress.running
        assert "nobody had looked at it for 60 s" in progress.refusal
        assert kept == []

    def test_it_comes_when_the_longest_time_is_over_and_the_best_is_kept(
        self, clock: Clock
    ) -> None:
        kept: list[Solution] = []
        searches = Searches(clock)
        key = searches.begin(1, "tonight", HARD, kept.append)
        until(lambda: seen(searches.look(1, key)).best)
        while clock.seconds <= 1000 + desk_searches.LONGEST_S:
            searches.look(1, key)
            clock.seconds += desk_searches.UNWATCHED_S - 1

        progress = seen(searches.wait(1, key, 30))
        assert not progress.running
        assert kept == [progress.best]

    def test_its_result_is_forgotten_later(self, clock: Clock) -> None:
        searches = Searches(clock)
        key = searches.begin(1, "tonight", EASY, forget)
        seen(searches.wait(1, key, 30))
        clock.seconds += desk_searches.FORGOTTEN_AFTER_S + 1
        searches.begin(1, "another", EASY, forget)

        assert searches.look(1, key) is None
        searches.close()

    def test_want_of_memory_is_told_as_such(self) -> None:
        searches = Searches(memory_bytes=1 << 20)
        key = searches.begin(1, "tonight", HARD, forget)

        assert "needed more memory" in seen(searches.wait(1, key, 30)).refusal

    @sees_processes
    def test_a_process_that_is_killed_from_outside_is_told(self, searches: Searches) -> None:
        others = children()
        key = searches.begin(1, "tonight", HARD, forget)
        until(lambda: children() - others)
        for pid in children() - others:
            os.kill(pid, signal.SIGKILL)

        assert "Plan the rotation once more" in seen(searches.wait(1, key, 30)).refusal

    @sees_processes
    def test_no_process_is_left_however_it_ends(self, searches: Searches) -> None:
        """Neither running nor as an entry that nobody has asked for its exit status."""
        others = children()
        finished = searches.begin(1, "tonight", EASY, forget)
        stopped = searches.begin(1, "tomorrow", HARD, forget)
        searches.wait(1, finished, 30)
        searches.stop(1, stopped)
        assert not children() - others

        searches.begin(1, "tonight", HARD, forget)
        searches.begin(1, "tomorrow", HARD, forget)
        until(lambda: len(children() - others) == 2)
        searches.close()
        assert not children() - others


class TestManySearches:
    def test_the_third_is_refused_until_one_has_ended(
        self, searches: Searches, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(desk_searches, "PATIENCE_S", 0.0)
        keys = [searches.begin(1, name, HARD, forget) for name in ("one", "two")]
        with pytest.raises(TooManySearches):
            searches.begin(1, "three", HARD, forget)

        searches.stop(1, keys[0])
        assert searches.begin(1, "three", EASY, forget)

    def test_the_third_waits_a_while_for_a_quick_one(
        self, searches: Searches, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Three coaches who press at the same moment are all served."""
        monkeypatch.setattr(desk_searches, "PATIENCE_S", 30.0)
        keys = [searches.begin(1, name, EASY, forget) for name in ("one", "two", "three")]

        assert all(seen(searches.wait(1, key, 30)).best for key in keys)

    def test_what_is_asked_anew_takes_the_place_of_what_was_asked_before(
        self, searches: Searches
    ) -> None:
        first = searches.begin(1, "tonight", HARD, forget)
        searches.begin(1, "tomorrow", HARD, forget)
        second = searches.begin(1, "tonight", EASY, forget)

        assert not seen(searches.look(1, first)).running
        assert seen(searches.wait(1, second, 30)).best

    def test_the_same_thing_of_two_clubs_is_two_searches(self, searches: Searches) -> None:
        ours = searches.begin(1, "tonight", HARD, forget)
        theirs = searches.begin(2, "tonight", EASY, forget)
        searches.wait(2, theirs, 30)

        assert ours != theirs
        assert seen(searches.look(1, ours)).running

    def test_another_club_finds_nothing_and_stops_nothing(self, searches: Searches) -> None:
        key = searches.begin(1, "tonight", HARD, forget)
        searches.stop(2, key)

        assert searches.look(2, key) is None
        assert searches.wait(2, key, 0) is None
        assert searches.look(1, "never given out") is None
        assert seen(searches.look(1, key)).running

    def test_closing_ends_them_all(self, searches: Searches) -> None:
        keys = [searches.begin(1, name, HARD, forget) for name in ("one", "two")]
        searches.close()

        assert not any(seen(searches.look(1, key)).running for key in keys)


class TestSeveralWorkers:
    """Whichever worker of a desk is asked, it answers as the one that runs the search would."""

    @pytest.fixture
    def two(self, tmp_path: Path) -> Iterator[tuple[Searches, Searches]]:
        """The searches of two workers of one desk; of a process each, but for what a test kills."""
        both = tuple(Searches(workers=SeveralWorkers(tmp_path / "workers")) for _ in range(2))
        yield both
        for searches in both:
            searches.close()

    def test_another_sees_how_far_a_search_is_and_how_it_ended(
        self, two: tuple[Searches, Searches]
    ) -> None:
        one, other = two
        kept: list[Solution] = []
        key = one.begin(1, "tonight", EASY, kept.append)
        progress = seen(other.wait(1, key, 30))

        assert not progress.running
        assert kept == [progress.best]
        assert other.look(2, key) is None

    def test_another_stops_it_and_the_best_so_far_is_kept(
        self, two: tuple[Searches, Searches]
    ) -> None:
        one, other = two
        kept: list[Solution] = []
        key = one.begin(1, "tonight", HARD, kept.append)
        until(lambda: seen(other.look(1, key)).best)
        other.stop(1, key)

        assert not seen(other.look(1, key)).running
        assert len(kept) == 1

    def test_a_second_press_that_another_gets_joins_it(
        self, two: tuple[Searches, Searches]
    ) -> None:
        one, other = two
        assert one.begin(1, "tonight", HARD, forget) == other.begin(1, "tonight", HARD, forget)

    def test_another_problem_that_another_gets_ends_it(
        self, two: tuple[Searches, Searches]
    ) -> None:
        one, other = two
        kept: list[str] = []
        first = one.begin(1, "tonight", HARD, lambda _: kept.append("before"))
        second = other.begin(1, "tonight", EASY, lambda _: kept.append("now"))
        one.wait(1, second, 30)

        assert "being planned again" in seen(other.wait(1, first, 30)).refusal
        assert kept == ["now"]

    def test_they_are_counted_over_all_of_them(
        self, two: tuple[Searches, Searches], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(desk_searches, "PATIENCE_S", 0.0)
        one, other = two
        key = one.begin(1, "one", HARD, forget)
        other.begin(1, "two", HARD, forget)
        for searches in two:
            with pytest.raises(TooManySearches):
                searches.begin(1, "three", HARD, forget)

        other.stop(1, key)
        assert other.begin(1, "three", HARD, forget)

    def test_one_that_ends_leaves_those_of_the_others_alone(
        self, two: tuple[Searches, Searches]
    ) -> None:
        one, other = two
        keys = [searches.begin(1, str(at), HARD, forget) for at, searches in enumerate(two)]
        one.close()

        assert [seen(other.look(1, key)).running for key in keys] == [False, True]

    @sees_processes
    def test_of_one_that_is_killed_it_is_told_and_its_place_is_free(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Nobody waits for a search that nobody runs any more, and no planner is left over."""
        monkeypatch.setattr(desk_searches, "MOST_AT_ONCE", 1)
        program = (
            "import pathlib, pickle, sys, time\n"
            "from settingsdesk.desk.rotations.searches import Searches\n"
            "from settingsdesk.desk.workers import SeveralWorkers\n"
            "searches = Searches(workers=SeveralWorkers(pathlib.Path(sys.argv[1])))\n"
            "key = searches.begin(1, 'tonight', pickle.load(sys.stdin.buffer), print)\n"
            "while not searches.look(1, key).best: time.sleep(0.05)\n"
            "print(key, flush=True)\n"
            "time.sleep(60)\n"
        )
        folder = tmp_path / "workers"
        with subprocess.Popen(
            [sys.executable, "-c", program, str(folder)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        ) as worker:
            assert worker.stdin is not None
            assert worker.stdout is not None
            with worker.stdin as problem:
                problem.write(pickle.dumps(HARD))
            key = worker.stdout.readline().decode().strip()
            searches = Searches(workers=SeveralWorkers(folder))
            planners = below(worker.pid)
            assert seen(searches.look(1, key)).running
            assert len(planners) == 1
            worker.kill()

        progress = seen(searches.look(1, key))
        assert not progress.running
        assert "The search was cut off" in progress.refusal
        assert searches.begin(1, "tonight", HARD, forget) != key
        searches.close()
        until(lambda: not any(Path(f"/proc/{pid}").exists() for pid in planners))

    def test_of_what_another_version_wrote_nothing_is_believed(
        self, two: tuple[Searches, Searches], tmp_path: Path
    ) -> None:
        """The desk was upgraded, and the notes of the searches of before still lie there."""
        one, other = two
        with SeveralWorkers(tmp_path / "workers").changing("searches") as notes:
            notes["old"] = {"club_id": 1, "what": "tonight", "colour": "blue"}

        assert one.look(1, "old") is None
        assert other.begin(1, "tonight", EASY, forget)
