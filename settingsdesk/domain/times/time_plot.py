"""The picture of planned against actual times: on the diagonal the plan was right.

Each change-over that was timed stands at the height of the seconds it took, twice: a hollow circle
where the present times would have put it, a filled square where fitted times put it that had not
seen it. Both axes have one scale.
"""

from collections.abc import Iterator, Sequence

from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Shape,
    Text,
    Weight,
)
from settingsdesk.domain.times.time_fit import Compared, TimesFit

SIDE = 600.0
LETTER = 32.0
MARK = 0.3 * LETTER
STEPS_S = (5, 10, 20, 30, 60, 120, 300, 600, 1200, 3600)
MOST_STEPS = 6


def time_plot(fit: TimesFit) -> Drawing:
    """Every change-over of the fit, planned by the present and by the fitted times."""
    plot = _Plot(fit.compared)
    bottom, left = 4.4 * LETTER, 4.6 * LETTER
    return Drawing(
        left_mm=-left,
        bottom_mm=-bottom,
        width_mm=left + SIDE + 1.6 * LETTER,
        height_mm=bottom + SIDE + 1.6 * LETTER,
        letter_mm=LETTER,
        shapes=(*plot.frame(), *plot.marks(), *plot.legend()),
        in_words=(
            f"Planned against actual time of {len(fit.compared)} change-overs. By the present times"
            f" the plan is off by {fit.present_error_s:.1f} s on average, by the fitted times by"
            f" {fit.fitted_error_s:.1f} s; these are nearer for {fit.nearer} of them."
        ),
    )


class _Plot:
    """Where seconds stand on the sheet: both axes run from 0 to past the longest time."""

    def __init__(self, compared: Sequence[Compared]) -> None:
        self._compared = compared
        longest_s = max(
            max(comparison.timed.seconds, comparison.present_s, comparison.fitted_s)
            for comparison in compared
        )
        self._step_s = next((s for s in STEPS_S if longest_s <= MOST_STEPS * s), STEPS_S[-1])
        self._steps = -(-longest_s // self._step_s)

    def frame(self) -> Iterator[Shape]:
        """Lines and figures of both axes, and the diagonal on which a plan is right."""
        for count in range(self._steps + 1):
            at, told = self._at(count * self._step_s), str(count * self._step_s)
            weight, ink = (Weight.THIN, Ink.QUIET) if count else (Weight.NORMAL, Ink.MAIN)
            yield Line(0, at, SIDE, at, weight, bool(count), ink)
            yield Line(at, 0, at, SIDE, weight, bool(count), ink)
            yield Text(-0.5 * LETTER, at - 0.35 * LETTER, told, Anchor.END)
            if count:
                yield Text(at, -1.2 * LETTER, told)
        yield Line(0, 0, SIDE, SIDE, Weight.NORMAL)
        yield Text(SIDE / 2, -2.6 * LETTER, "Planned, s")
        yield Text(-3.2 * LETTER, SIDE / 2, "Actual, s", angle_deg=90)

    def marks(self) -> Iterator[Shape]:
        """The present plan's marks first, so that the fitted ones are not hidden."""
        for comparison in self._compared:
            yield _circle(self._at(comparison.present_s), self._at(comparison.timed.seconds))
        for comparison in self._compared:
            yield _square(self._at(comparison.fitted_s), self._at(comparison.timed.seconds))

    def legend(self) -> Iterator[Shape]:
        """What the two marks are."""
        base, middle = -4.0 * LETTER, -4.0 * LETTER + 0.35 * LETTER
        yield _circle(MARK, middle)
        yield Text(LETTER, base, "present times", Anchor.START)
        yield _square(SIDE / 2 + MARK, middle)
        yield Text(SIDE / 2 + LETTER, base, "fitted times", Anchor.START)

    def _at(self, seconds: int) -> float:
        return seconds / (self._steps * self._step_s) * SIDE


def _circle(x: float, y: float) -> Circle:
    return Circle(x, y, MARK, ink=Ink.MAIN)


def _square(x: float, y: float) -> Box:
    return Box(x - 0.8 * MARK, y - 0.8 * MARK, 1.6 * MARK, 1.6 * MARK, True, Ink.ACCENT)
