"""The picture of a calibration: how far each taped stop lies off the fitted scale.

Stops stand from left to right where they are on the scale, residuals above and below a zero
line. Residuals are drawn larger than they are; the steps beside the lines say how large.
"""

from collections.abc import Iterator

from settingsdesk.domain.base.drawing import (
    Anchor,
    Circle,
    Drawing,
    Ink,
    Line,
    Shape,
    Text,
    Weight,
)
from settingsdesk.domain.hall.calibration import TAPE_MM, Calibration, TapedStop

WIDTH_MM = 620.0
HALF_HEIGHT_MM = 240.0
LETTER_MM = 30.0
LEFT_ROOM_MM = 5.5 * LETTER_MM
STEPS_MM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


def residual_plot(calibration: Calibration) -> Drawing:
    """Every taped stop with its residual; hollow where left out, bold where it does not fit."""
    plot = _Plot(calibration)
    return Drawing(
        left_mm=-LEFT_ROOM_MM,
        bottom_mm=-HALF_HEIGHT_MM - 2.4 * LETTER_MM,
        width_mm=WIDTH_MM + LEFT_ROOM_MM + 2 * LETTER_MM,
        height_mm=2 * HALF_HEIGHT_MM + 4.4 * LETTER_MM,
        letter_mm=LETTER_MM,
        shapes=(*plot.lines(), *plot.stops(), *plot.marks()),
        in_words=plot.in_words,
    )


class _Plot:
    """Where residuals and stops stand on the sheet."""

    def __init__(self, calibration: Calibration) -> None:
        self._calibration = calibration
        self._points = tuple(zip(calibration.taped, calibration.residuals_mm, strict=True))
        greatest_mm = max(TAPE_MM, *(abs(residual) for _, residual in self._points))
        self._step_mm = next((step for step in STEPS_MM if greatest_mm <= 3 * step), greatest_mm)
        self._enlarged = HALF_HEIGHT_MM / (3 * self._step_mm)
        lengths = [self._printed_mm(reading) for reading, _ in self._points]
        self._from_mm = min(lengths)
        self._reach_mm = max(max(lengths) - self._from_mm, 1.0)

    @property
    def in_words(self) -> str:
        """The plot told: how many stops, and each one's residual."""
        told = ", ".join(
            f"mark {self._label(reading)} {_signed(f'{residual:+.1f}')} mm"
            for reading, residual in self._points
        )
        return f"Residuals of {len(self._points)} taped marks: {told}."

    def lines(self) -> Iterator[Shape]:
        """The zero line, and one for each step above and below it."""
        for count in range(-3, 4):
            y_mm = self._y_mm(count * self._step_mm)
            weight, ink = (Weight.NORMAL, Ink.MAIN) if count == 0 else (Weight.THIN, Ink.QUIET)
            yield Line(-LETTER_MM, y_mm, WIDTH_MM + LETTER_MM, y_mm, weight, count != 0, ink)
            told = f"{_signed(f'{count * self._step_mm:+g}')} mm" if count else "0"
            yield Text(-1.4 * LETTER_MM, y_mm - 0.35 * LETTER_MM, told, Anchor.END)

    def stops(self) -> Iterator[Shape]:
        """A point for each reading, on a stem from the zero line."""
        for reading, residual_mm in self._points:
            x_mm, y_mm = self._x_mm(reading), self._y_mm(residual_mm)
            used = reading.stop not in self._calibration.left_out
            ink = Ink.ACCENT if used else Ink.QUIET
            yield Line(x_mm, 0.0, x_mm, y_mm, Weight.NORMAL, not used, ink)
            yield Circle(x_mm, y_mm, 0.3 * LETTER_MM, used, ink)

    def marks(self) -> Iterator[Shape]:
        """The marks below, those that do not fit first; one that would overlap is left away."""
        misfits = self._calibration.misfits
        placed: list[tuple[float, float]] = []
        for reading, _ in sorted(self._points, key=lambda point: point[0].stop not in misfits):
            x_mm, label = self._x_mm(reading), self._label(reading)
            half_mm = 0.35 * LETTER_MM * len(label) + 0.1 * LETTER_MM
            if any(abs(x_mm - other) < half_mm + other_half for other, other_half in placed):
                continue
            placed.append((x_mm, half_mm))
            y_mm = -HALF_HEIGHT_MM - 1.6 * LETTER_MM
            yield Text(x_mm, y_mm, label, bold=reading.stop in misfits)

    def _label(self, reading: TapedStop) -> str:
        return self._calibration.scale.label(reading.stop)

    def _printed_mm(self, reading: TapedStop) -> float:
        return self._calibration.scale.printed.length_mm(reading.stop)

    def _x_mm(self, reading: TapedStop) -> float:
        return (self._printed_mm(reading) - self._from_mm) / self._reach_mm * WIDTH_MM

    def _y_mm(self, residual_mm: float) -> float:
        return residual_mm * self._enlarged


def _signed(figure: str) -> str:
    """A figure with the minus sign of print instead of the hyphen."""
    return figure.replace("-", "−")
