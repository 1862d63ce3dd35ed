"""Non-negative least squares: against a reference, and against what makes an answer the best."""

from math import sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import nnls as reference

from settingsdesk.domain.times.nnls import least_squares, nnls

Rows = list[list[float]]


def left(rows: Rows, target: list[float], factors: tuple[float, ...]) -> list[float]:
    """What the factors do not explain."""
    return [
        seconds - sum(a * x for a, x in zip(row, factors, strict=True))
        for row, seconds in zip(rows, target, strict=True)
    ]


def any_numbers(random: Random, rows: int, columns: int) -> Rows:
    return [[random.gauss(0, 1) for _ in range(columns)] for _ in range(rows)]


def small_counts(random: Random, rows: int, columns: int) -> Rows:
    """As the shares of change-overs are: many noughts, many equal columns."""
    return [[float(random.randint(0, 2)) for _ in range(columns)] for _ in range(rows)]


def dependent(random: Random, rows: int, columns: int) -> Rows:
    """The first column is the sum of all others."""
    others = any_numbers(random, rows, columns - 1)
    return [[sum(row), *row] for row in others]


def nearly_dependent(random: Random, rows: int, columns: int) -> Rows:
    return [[sum(row[1:]) + 1e-7 * row[0], *row[1:]] for row in any_numbers(random, rows, columns)]


class TestAgainstAReference:
    @pytest.mark.parametrize("make", [any_numbers, small_counts, dependent, nearly_dependent])
    def test_it_leaves_as_little_as_the_reference(self, make) -> None:
        """Whoever trusts the fitted times trusts that no others fit better."""
        random = Random(make.__name__)  # noqa: S311 (the same ones each time)
        for _ in range(200):
            count, columns = random.randint(1, 14), random.randint(2, 9)
            rows = make(random, count, columns)
            target = [random.gauss(0, 1) for _ in rows]
            ours, (_, least) = nnls(rows, target), reference(rows, target)

            assert min(ours.factors) >= 0
            assert ours.residual_norm == pytest.approx(least, abs=1e-9)

    def test_where_there_is_one_best_answer_it_is_the_same(self) -> None:
        random = Random("one best")  # noqa: S311 (the same ones each time)
        for _ in range(100):
            rows = any_numbers(random, 15, 6)
            target = [random.gauss(0, 1) for _ in rows]

            assert nnls(rows, target).factors == pytest.approx(reference(rows, target)[0])

    def test_a_target_on_the_edge_is_no_endless_search(self) -> None:
        """Degenerate: the plain least squares already has noughts, in many columns."""
        random = Random("edge")  # noqa: S311 (the same ones each time)
        for _ in range(100):
            rows = small_counts(random, 12, 8)
            target = [2 * row[0] + row[3] for row in rows]
            ours = nnls(rows, target)

            assert ours.residual_norm == pytest.approx(0, abs=1e-9)
            assert min(ours.factors) >= 0


class TestByHand:
    def test_what_no_factor_explains_stays(self) -> None:
        """One column, leaned away from: nothing at all is the best."""
        answer = nnls([[1.0], [1.0]], [-3.0, -4.0])

        assert answer.factors == (0.0,)
        assert answer.residual_norm == 5.0

    def test_a_factor_that_would_be_negative_is_nought_and_the_others_are_fitted_anew(self) -> None:
        """Plain least squares says 3 and -1; without the second the first is 2.5."""
        rows = [[1.0, 1.0], [1.0, 1.0], [1.0, 0.0], [1.0, 0.0]]

        assert least_squares([[1, 1, 1, 1], [1, 1, 0, 0]], [2, 2, 3, 3]) == pytest.approx([3, -1])
        assert nnls(rows, [2, 2, 3, 3]).factors == pytest.approx((2.5, 0))

    def test_a_column_of_noughts_gets_nothing(self) -> None:
        assert nnls([[0.0, 1.0], [0.0, 1.0]], [2.0, 4.0]).factors == pytest.approx((0, 3))

    def test_no_rows_leave_nothing(self) -> None:
        assert nnls([], []).residual_norm == 0

    def test_columns_that_make_up_another_have_no_plain_least_squares(self) -> None:
        assert least_squares([[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]], [1.0, 1.0]) is None


class TestKuhnTucker:
    @given(
        st.integers(1, 6).flatmap(
            lambda columns: st.lists(
                st.lists(st.integers(-9, 9), min_size=columns + 1, max_size=columns + 1),
                min_size=1,
                max_size=9,
            )
        )
    )
    def test_the_residual_leans_to_no_column_and_not_at_all_to_those_in_use(
        self, table: list[list[int]]
    ) -> None:
        """Necessary and sufficient for the least, whatever found it."""
        rows = [[float(value) for value in line[:-1]] for line in table]
        target = [float(line[-1]) for line in table]
        answer = nnls(rows, target)
        rest = left(rows, target, answer.factors)

        assert answer.residual_norm == pytest.approx(sqrt(sum(r * r for r in rest)), abs=1e-9)
        for column, factor in zip(zip(*rows, strict=True), answer.factors, strict=True):
            lean = sum(a * r for a, r in zip(column, rest, strict=True))
            assert factor >= 0
            assert lean <= 1e-7
            assert not factor or lean == pytest.approx(0, abs=1e-7)
