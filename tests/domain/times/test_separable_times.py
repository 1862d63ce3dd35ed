"""Which times show only together: found exactly, whatever the change-overs were."""

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.times.separable_times import alike
from settingsdesk.domain.times.time_parts import TimePart

A, B, C = TimePart(what="a"), TimePart(what="b"), TimePart(what="c")


def rows(*lines: tuple[int, ...]) -> list[tuple[Fraction, ...]]:
    return [tuple(map(Fraction, line)) for line in lines]


class TestSetsOfTimes:
    def test_times_that_each_show_by_themselves_are_told_apart(self) -> None:
        assert alike(rows((1, 2, 0), (1, 0, 0), (1, 2, 3)), [A, B, C]) == []

    def test_two_that_go_together_are_one_set_and_the_third_is_not_in_it(self) -> None:
        """Twice the one whenever there is the other."""
        assert alike(rows((1, 2, 0), (2, 4, 1), (3, 6, 5)), [A, B, C]) == [{A, B}]

    def test_one_that_is_always_the_sum_of_the_others_is_in_one_set_with_them(self) -> None:
        assert alike(rows((1, 0, 1), (0, 1, 1), (2, 3, 5)), [A, B, C]) == [{A, B, C}]

    @given(st.lists(st.tuples(*[st.integers(0, 3)] * 4), min_size=1, max_size=8))
    def test_there_is_one_set_for_each_time_too_many(self, lines) -> None:
        """As many can be told apart as the rank says that a reference finds."""
        parts = [A, B, C, TimePart(what="d")]

        assert len(alike(rows(*lines), parts)) == 4 - np.linalg.matrix_rank(np.array(lines))
