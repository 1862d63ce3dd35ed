"""Non-negative least squares: the factors, none below nothing, that explain a target best.

Method: Lawson and Hanson, *Solving Least Squares Problems* (1974), chapter 23, algorithm NNLS
(from memory). No operation takes less than no time, so a fit of times must not say so either.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from operator import mul

Vector = Sequence[float]

ROUNDING = 1e-11
"""What rounding leaves of nothing, as a share of the numbers that it is left of."""


@dataclass(frozen=True, slots=True)
class NonNegativeFit:
    """The factors of the columns, in their order, and the length of what they do not explain."""

    factors: tuple[float, ...]
    residual_norm: float


def nnls(rows: Sequence[Vector], target: Vector) -> NonNegativeFit:
    """The ``x`` without a negative entry for which ``rows · x - target`` is shortest.

    Columns whose factor is above 0 are *active*. A column enters when the residual leans towards
    it, the one it leans to most first; then those leave again that the plain least squares of
    the active columns would make negative. At the end the residual leans to no column outside
    and is at right angles to those inside: the Kuhn-Tucker conditions, which are enough for the
    shortest, as a length is convex.

    It ends, whatever the rounding: a column is only let in where that makes the residual
    shorter, so no active columns come twice in the same order, and there are finitely many
    orders. Where columns depend on each other, one of the best answers is given.
    """
    columns = [tuple(column) for column in zip(*rows, strict=True)]
    search = _Search(columns, target)
    while search.improves():
        pass
    return NonNegativeFit(tuple(search.factors), _norm(search.residual))


class _Search:
    """The factors so far, and what they leave of the target."""

    def __init__(self, columns: Sequence[Vector], target: Vector) -> None:
        self._columns, self._target = columns, target
        self.factors = [0.0] * len(columns)
        self.residual = list(target)

    def improves(self) -> bool:
        """Let one more column in, if there is one that makes the residual shorter."""
        for place in self._leaned_to():
            factors = self._with(place)
            residual = self._residual(factors)
            if _norm(residual) < _norm(self.residual):
                self.factors, self.residual = factors, residual
                return True
        return False

    def _leaned_to(self) -> list[int]:
        """The columns outside to which the residual leans, the most first."""
        leans = [_dot(column, self.residual) for column in self._columns]
        least = ROUNDING * _norm(self._target)
        outside = [
            place
            for place, column in enumerate(self._columns)
            if not self.factors[place] and leans[place] > least * _norm(column)
        ]
        return sorted(outside, key=lambda place: -leans[place])

    def _with(self, entering: int) -> list[float]:
        """The factors with that column let in, and out again whatever would turn negative.

        The way from the present factors to the wished ones is gone as far as the first that
        reaches 0; that one leaves, and the rest are wished for anew.
        """
        present = list(self.factors)
        active = [place for place, factor in enumerate(present) if factor] + [entering]
        while True:
            wished = least_squares([self._columns[place] for place in active], self._target)
            if wished is None:
                return present
            way = dict(zip(active, wished, strict=True))
            ends = [(_until_0(present[place], to), place) for place, to in way.items() if to <= 0]
            share, leaving = min(ends, default=(1.0, None))
            for place, to in way.items():
                present[place] = max(present[place] + share * (to - present[place]), 0.0)
            if leaving is None:
                return present
            present[leaving] = 0.0
            active.remove(leaving)

    def _residual(self, factors: Vector) -> list[float]:
        left = list(self._target)
        for factor, column in zip(factors, self._columns, strict=True):
            if factor:
                left = _less(left, factor, column)
        return left


def least_squares(columns: Sequence[Vector], target: Vector) -> list[float] | None:
    """The factors, of either sign, with which the columns come nearest to the target.

    ``None`` where a column is made up by those before it. Modified Gram-Schmidt with the target
    as one more column, as accurate as a QR factorisation by reflections (Björck 1967, from
    memory); then the triangle is solved from its last row.
    """
    axes: list[Vector] = []
    shares: list[list[float]] = []
    for column in (*columns, target):
        rest, along = list(column), []
        for axis in axes:
            along.append(_dot(axis, rest))
            rest = _less(rest, along[-1], axis)
        shares.append(along)
        length = _norm(rest)
        if len(axes) < len(columns):
            if length <= ROUNDING * _norm(column):
                return None
            along.append(length)
            axes.append([value / length for value in rest])
    factors: list[float] = []
    for row in reversed(range(len(columns))):
        known = zip(shares[row + 1 : -1], reversed(factors), strict=True)
        left = shares[-1][row] - sum(column[row] * factor for column, factor in known)
        factors.append(left / shares[row][row])
    return factors[::-1]


def _until_0(present: float, wished: float) -> float:
    """The share of the way down to ``wished``, which is not above 0, at which 0 is reached."""
    return present / (present - wished) if present else 0.0


def _less(left: Vector, factor: float, column: Vector) -> list[float]:
    return [rest - factor * value for rest, value in zip(left, column, strict=True)]


def _dot(vector: Vector, other: Vector) -> float:
    total: float = sum(map(mul, vector, other))
    return total


def _norm(vector: Vector) -> float:
    return sqrt(_dot(vector, vector))
