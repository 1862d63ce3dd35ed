"""The shortest schedule for a few pairs of hands: exact, within every rule, the same each time."""

from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.domain.changeover.schedule import (
    CannotBeScheduled,
    Operation,
    Schedule,
    shortest_schedule,
)


def jobs(*seconds: int) -> list[Operation]:
    return [Operation(f"job {place}", one) for place, one in enumerate(seconds)]


@st.composite
def small_cases(draw, most: int = 5, longest_s: int = 4) -> tuple[list[Operation], int]:
    """Few short operations with any precedences, some of them for several hands."""
    hands = draw(st.integers(1, 3))
    operations = []
    for place in range(draw(st.integers(0, most))):
        earlier = st.sets(st.integers(0, place - 1)) if place else st.just(set())
        operations.append(
            Operation(
                f"job {place}",
                draw(st.integers(0, longest_s)),
                frozenset(draw(earlier)),
                draw(st.integers(1, hands)),
            )
        )
    return operations, hands


def keeps_every_rule(operations: list[Operation], starts_s: tuple[int, ...], hands: int) -> bool:
    """Judged from the rules alone, at every second at which more hands may be wanted."""
    timed = list(zip(operations, starts_s, strict=True))
    for operation, start_s in timed:
        if any(starts_s[one] + operations[one].seconds > start_s for one in operation.after):
            return False
    return all(
        sum(one.hands_needed for one, start in timed if start <= now < start + one.seconds) <= hands
        for now in set(starts_s)
    )


def shortest_by_trying_all_s(operations: list[Operation], hands: int) -> int:
    """Every start at every second."""
    latest_s = sum(one.seconds for one in operations)
    return min(
        max((start + one.seconds for one, start in zip(operations, starts, strict=True)), default=0)
        for starts in product(range(latest_s + 1), repeat=len(operations))
        if keeps_every_rule(operations, starts, hands)
    )


def shortest_by_all_orders_s(operations: list[Operation], hands: int) -> int:
    """Every order of beginning, each operation at the first second that keeps the rules."""

    def from_here_s(starts: dict[int, int]) -> int:
        ends_s = []
        for place in set(range(len(operations))) - starts.keys():
            if not operations[place].after <= starts.keys():
                continue
            now = max(starts.values(), default=0)
            while not keeps_every_rule(*_so_far(operations, {**starts, place: now}), hands):
                now += 1
            ends_s.append(from_here_s({**starts, place: now}))
        return min(
            ends_s, default=max((s + operations[p].seconds for p, s in starts.items()), default=0)
        )

    return from_here_s({})


def _so_far(
    operations: list[Operation], starts: dict[int, int]
) -> tuple[list[Operation], tuple[int, ...]]:
    """Those begun, renumbered."""
    number = {place: new for new, place in enumerate(starts)}
    begun = [
        replace(operations[place], after=frozenset(number[one] for one in operations[place].after))
        for place in starts
    ]
    return begun, tuple(starts.values())


def starts_s(schedule: Schedule) -> tuple[int, ...]:
    return tuple(
        one.starts_s for one in sorted(schedule.placed, key=lambda placed: placed.operation)
    )


class TestTheShortestTime:
    @given(small_cases(most=4, longest_s=3))
    def test_no_way_to_place_the_operations_ends_earlier(self, case):
        """The time is promised as the shortest there is: everything else is tried."""
        operations, hands = case
        assert shortest_schedule(operations, hands).seconds == shortest_by_trying_all_s(
            operations, hands
        )

    @settings(max_examples=60)
    @given(small_cases(most=6, longest_s=9))
    def test_no_order_of_beginning_ends_earlier(self, case):
        """The same for longer lists, where not every second can be tried."""
        operations, hands = case
        assert shortest_schedule(operations, hands).seconds == shortest_by_all_orders_s(
            operations, hands
        )

    @given(small_cases(most=7, longest_s=30))
    def test_a_second_pair_of_hands_never_makes_it_longer(self, case):
        """Simple rules of taking what comes next can (Graham 1969); the shortest cannot."""
        operations, hands = case
        times_s = [shortest_schedule(operations, hands + more).seconds for more in range(3)]
        assert times_s == sorted(times_s, reverse=True)

    def test_waiting_with_empty_hands_is_right_where_it_pays(self):
        """On paper: the filler of 2 s must wait for the end, though hands are free at once."""
        after = frozenset
        operations = [
            Operation("unlock", 1),
            Operation("filler", 2),
            Operation("left", 10, after({0})),
            Operation("right", 10, after({0})),
            Operation("check", 5, after({2, 3})),
        ]
        schedule = shortest_schedule(operations, 2)
        assert schedule.seconds == 1 + 10 + 5
        assert starts_s(schedule) == (0, 11, 1, 1, 11)

    def test_what_others_wait_for_comes_early(self):
        """On paper: the third of 1 s goes before the second, for the fourth has to follow it."""
        operations = [*jobs(2, 2, 1), Operation("fourth", 1, frozenset({2}))]
        schedule = shortest_schedule(operations, 2)
        assert (schedule.seconds, starts_s(schedule)) == (3, (0, 1, 0, 2))

    def test_work_for_two_together_waits_until_both_are_free(self):
        """On paper: 3 s alone beside 5 s, then 4 s together."""
        together = Operation("pull together", 4, frozenset({0, 1}), hands_needed=2)
        schedule = shortest_schedule([*jobs(3, 5), together], 2)
        assert (schedule.placed[-1].starts_s, schedule.placed[-1].who) == (5, (1, 2))
        assert schedule.seconds == 9

    def test_stages_are_each_the_shortest(self):
        """Three stages of eight, too many to be tried as one heap of 24."""
        operations: list[Operation] = []
        for _ in range(3):
            done = frozenset(range(len(operations)))
            operations += [Operation("job", one, done) for one in (7, 7, 6, 6, 5, 5, 4, 4)]
        assert shortest_schedule(operations, 4).seconds == 3 * 11

    def test_nothing_to_do_takes_no_time(self):
        """Nor fails."""
        assert shortest_schedule([], 2) == Schedule(())


class TestWhoDoesWhat:
    @given(small_cases(most=7, longest_s=30))
    def test_every_operation_is_done_once_and_every_rule_is_kept(self, case):
        """By as many hands as it needs, and no pair of hands is in two places at once."""
        operations, hands = case
        schedule = shortest_schedule(operations, hands)
        assert keeps_every_rule(operations, starts_s(schedule), hands)
        assert sorted(one.operation for one in schedule.placed) == list(range(len(operations)))
        for one in schedule.placed:
            operation = operations[one.operation]
            assert one.ends_s == one.starts_s + operation.seconds
            assert len(set(one.who)) == operation.hands_needed
            assert set(one.who) <= set(range(1, hands + 1))
        for hand in range(1, hands + 1):
            own = [one for one in schedule.placed if hand in one.who]
            assert all(before.ends_s <= after.starts_s for before, after in pairwise(own))

    @given(small_cases(most=7, longest_s=30))
    def test_it_is_told_in_the_order_of_beginning(self, case):
        """As a crew reads it, from top to bottom."""
        told = [one.starts_s for one in shortest_schedule(*case).placed]
        assert told == sorted(told)

    def test_equals_are_taken_in_the_order_of_the_list_by_the_lowest_hands(self):
        """The same plan each time, and the one that a person expects."""
        placed = shortest_schedule(jobs(5, 5, 5, 5), 2).placed
        assert [(one.operation, one.starts_s, one.who) for one in placed] == [
            (0, 0, (1,)),
            (1, 0, (2,)),
            (2, 5, (1,)),
            (3, 5, (2,)),
        ]

    @given(st.lists(st.integers(0, 60), max_size=12))
    def test_one_pair_of_hands_takes_one_after_the_other(self, seconds):
        """In the order of the list, without a pause."""
        schedule = shortest_schedule(jobs(*seconds), 1)
        assert [one.operation for one in schedule.placed] == list(range(len(seconds)))
        assert starts_s(schedule) == tuple(sum(seconds[:n]) for n in range(len(seconds)))


class TestWhatCannotBeScheduled:
    @pytest.mark.parametrize(
        ("operation", "says"),
        [
            (
                Operation("pull", 4, hands_needed=3),
                "“pull” needs 3 pairs of hands, and there are 2",
            ),
            (
                Operation("pull", 4, hands_needed=0),
                "“pull” needs 0 pairs of hands, and there are 2",
            ),
            (Operation("pull", -1), "“pull” cannot take -1 seconds"),
            (
                Operation("pull", 4, frozenset({1})),
                "“pull” must be listed behind all that it has to follow",
            ),
            (
                Operation("pull", 4, frozenset({-1})),
                "“pull” must be listed behind all that it has to follow",
            ),
        ],
    )
    def test_it_is_refused_with_the_operation_and_the_reason(self, operation, says):
        """Rather than searched for without an end."""
        with pytest.raises(CannotBeScheduled) as refused:
            shortest_schedule([Operation("first", 1), operation], 2)

        assert str(refused.value) == says
        assert refused.value.operation == operation
