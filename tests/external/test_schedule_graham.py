"""The shortest schedules against R. L. Graham's published examples and bounds.

R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM Journal on Applied Mathematics
17 (1969) 416-429: the citation and the examples are from memory. That each figure holds is shown
here beside the exact search by the list rule that the paper examines: whoever is free takes the
first of the list that may begin.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover.schedule import Operation, shortest_schedule


def by_list_s(operations: list[Operation], order: list[int], hands: int) -> int:
    """The end where whoever is free takes the first of the list that may begin."""
    waiting, under_way, ended = list(order), {}, set()
    now_s = 0
    while waiting or under_way:
        for place in [one for one in waiting if operations[one].after <= ended]:
            if len(under_way) < hands:
                under_way[place] = now_s + operations[place].seconds
                waiting.remove(place)
        now_s = min(under_way.values())
        done = {place for place, end_s in under_way.items() if end_s == now_s}
        ended |= done
        under_way = {place: end for place, end in under_way.items() if place not in done}
    return now_s


def longest_first_s(operations: list[Operation], hands: int) -> int:
    order = sorted(range(len(operations)), key=lambda place: -operations[place].seconds)
    return by_list_s(operations, order, hands)


def independent(*seconds: int) -> list[Operation]:
    return [Operation(f"job {place}", one) for place, one in enumerate(seconds)]


def graph(seconds: tuple[int, ...], after: dict[int, set[int]]) -> list[Operation]:
    return [
        Operation(f"task {n}", one, frozenset(earlier - 1 for earlier in after.get(n, ())))
        for n, one in enumerate(seconds, start=1)
    ]


class TestLongestFirst:
    def test_seven_jobs_on_three_machines_take_eleven_longest_first_and_nine_at_best(self):
        """Graham 1969, from memory: the example in which longest-first is at its worst."""
        example = independent(5, 5, 4, 4, 3, 3, 3)
        assert longest_first_s(example, 3) == 11
        assert shortest_schedule(example, 3).seconds == 9

    @pytest.mark.parametrize(("machines", "longest_first", "best"), [(2, 7, 6), (4, 15, 12)])
    def test_the_like_of_it_on_two_and_four_machines(self, machines, longest_first, best):
        """Graham 1969, from memory: 2m+1 jobs of 2m-1, 2m-1, ..., m+1, m+1, m, m, m."""
        pairs = [one for one in range(2 * machines - 1, machines, -1) for _ in range(2)]
        example = independent(*pairs, machines, machines, machines)
        assert longest_first_s(example, machines) == longest_first
        assert shortest_schedule(example, machines).seconds == best

    @given(st.lists(st.integers(1, 12), min_size=1, max_size=7), st.integers(2, 4))
    def test_longest_first_is_never_worse_than_the_published_bound(self, seconds, machines):
        """Graham 1969, from memory: at most 4/3 - 1/(3m) times the best, and never below it."""
        best_s = shortest_schedule(independent(*seconds), machines).seconds
        found_s = longest_first_s(independent(*seconds), machines)
        assert best_s <= found_s <= (Fraction(4, 3) - Fraction(1, 3 * machines)) * best_s


class TestAnomalies:
    """Graham's nine tasks, from memory: each easing makes the list's schedule longer."""

    SECONDS = (3, 2, 2, 2, 4, 4, 4, 4, 9)
    AFTER: dict[int, set[int]] = {5: {4}, 6: {4}, 7: {4}, 8: {4}, 9: {1}}  # noqa: RUF012  # read only
    LISTED = list(range(9))  # noqa: RUF012  # read only

    def test_the_list_gives_twelve_on_three_machines_and_nothing_is_better(self):
        """The figure that the anomalies start from."""
        example = graph(self.SECONDS, self.AFTER)
        assert by_list_s(example, self.LISTED, 3) == 12
        assert shortest_schedule(example, 3).seconds == 12

    def test_a_fourth_machine_makes_the_list_longer_and_the_shortest_not(self):
        """15 by the list."""
        example = graph(self.SECONDS, self.AFTER)
        assert by_list_s(example, self.LISTED, 4) == 15
        assert shortest_schedule(example, 4).seconds == 12

    def test_shorter_tasks_make_the_list_longer_and_the_shortest_shorter(self):
        """13 by the list; no task beyond 8 + 2, the longest chain."""
        example = graph(tuple(one - 1 for one in self.SECONDS), self.AFTER)
        assert by_list_s(example, self.LISTED, 3) == 13
        assert shortest_schedule(example, 3).seconds == 10

    def test_fewer_precedences_make_the_list_longer_and_the_shortest_not(self):
        """16 by the list."""
        eased = {place: after for place, after in self.AFTER.items() if place not in (5, 6)}
        example = graph(self.SECONDS, eased)
        assert by_list_s(example, self.LISTED, 3) == 16
        assert shortest_schedule(example, 3).seconds == 12
