"""Non-negative least squares against worked examples of others.

* Lawson and Hanson, *Solving Least Squares Problems* (1974), chapter 23, section 7: a line through
  four points that must not fall, not begin below 0 and not end above 1. Data and printed result
  from memory; the result is worked out once more in the test, by the one-line formula that holds
  where the line ends at 1.
* The two examples in the documentation of SciPy 1.17's ``scipy.optimize.nnls``, read in the
  installed package.
"""

from math import sqrt

import pytest

from settingsdesk.domain.times.nnls import nnls

POINTS = ((0.25, 0.5), (0.5, 0.6), (0.5, 0.7), (0.8, 1.2))
HEAVY = 1e5  # the weight by which an equation holds as good as exactly


class TestConstrainedLine:
    def fitted(self) -> tuple[float, ...]:
        """Slope, value at 0, and what is lacking to 1 at the end, which must not be negative."""
        rows = [[t, 1.0, 0.0] for t, _ in POINTS] + [[HEAVY, HEAVY, HEAVY]]
        return nnls(rows, [w for _, w in POINTS] + [HEAVY]).factors

    def test_slope_and_beginning_are_those_of_the_book(self) -> None:
        """Printed there as 0.621 and 0.379; without the limit the line would end at 1.38."""
        slope, beginning, lacking = self.fitted()

        assert slope == pytest.approx(0.621, abs=0.0005)
        assert beginning == pytest.approx(0.379, abs=0.0005)
        assert lacking == 0

    def test_they_are_those_of_the_formula(self) -> None:
        slope = sum((w - 1) * (t - 1) for t, w in POINTS) / sum((t - 1) ** 2 for t, _ in POINTS)

        assert self.fitted()[0] == pytest.approx(slope, rel=1e-6)


class TestDocumentedExamples:
    ROWS = ((1.0, 0.0), (1.0, 0.0), (0.0, 1.0))

    def test_the_first_has_positive_factors(self) -> None:
        answer = nnls(self.ROWS, (2, 1, 1))

        assert answer.factors == pytest.approx((1.5, 1.0))
        assert answer.residual_norm == pytest.approx(0.7071067811865475)

    def test_the_second_has_none(self) -> None:
        answer = nnls(self.ROWS, (-1, -1, -1))

        assert answer.factors == (0.0, 0.0)
        assert answer.residual_norm == pytest.approx(sqrt(3))
