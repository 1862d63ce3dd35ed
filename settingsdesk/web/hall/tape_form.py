"""The form of a calibration: lines of a mark and the length that a tape found there."""

from collections.abc import Collection, Mapping
from typing import Any

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.calibrations import Taped, to_tape
from settingsdesk.domain.base.datums import HeightDatum, SpreadDatum
from settingsdesk.domain.base.kinds import Quantity
from settingsdesk.domain.hall.models import Axis, TapedFarOff
from settingsdesk.web.frame.axis_fields import (
    AxisLengthField,
    MarkField,
    form_of,
    height_datum_field,
)
from settingsdesk.web.frame.fields import (
    CarriedField,
    DayField,
    TickField,
    WordsField,
    number_carried,
)
from settingsdesk.web.frame.forms import AskingForm
from settingsdesk.web.frame.work import told
from settingsdesk.web.hall.kept_marks import marks_field

LINES = range(1, 13)


class TapeForm(AskingForm):
    """Up to twelve readings; a line may stay empty, but not half-filled.

    Marks are filled in to begin with: a line that still has its own and no length is empty.
    """

    filled_in: Mapping[int, int]

    def validate(self, *arguments: Any, **settings: Any) -> bool:
        """Every field by itself, then each line as a whole."""
        readable = super().validate(*arguments, **settings)
        broken = [line for line in LINES if not self._is_whole(line)]
        return readable and not broken

    def _is_whole(self, line: int) -> bool:
        mark, length = self[f"mark_{line}"], self[f"length_{line}"]
        if mark.errors or length.errors or (mark.data is None) == (length.data is None):
            return True
        if length.data is None and mark.data == self.filled_in.get(line):
            return True
        if length.data is None:
            length.errors = [f"Enter the length taped at the mark of line {line}"]
        else:
            mark.errors = [f"Enter the mark at which the length of line {line} was taped"]
        return False

    def readings(self, axis: Axis, piece: Piece) -> dict[int, Taped]:
        """What the tape found, canonical, by the number of its line."""
        return {
            line: Taped(
                axis.scale.label(self[f"mark_{line}"].data),
                self._canonical_mm(self[f"length_{line}"].data, piece),
            )
            for line in LINES
            if self[f"length_{line}"].data is not None
        }

    def _canonical_mm(self, length_mm: int, piece: Piece) -> float:
        if "datum" not in self:
            return length_mm
        datum: HeightDatum = self["datum"].data
        piece.model.must_know_its_section(datum, SpreadDatum.INNER)
        there = piece.as_on(self["taken_on"].data or today())
        return datum.to_canonical_mm(length_mm, piece.model.section, there.mat_mm)

    def left_out(self, readings: dict[int, Taped]) -> list[str]:
        """The marks of the lines that are ticked to be left out."""
        return [taped.label for line, taped in readings.items() if self[f"out_{line}"].data]

    def leave_out(self, stops: Collection[int]) -> None:
        """Tick the lines of those stops, as misread; they are ticked for the coach only once."""
        judged = [*self.judged_before(), *stops]
        for line in LINES:
            if self[f"mark_{line}"].data in stops:
                self[f"out_{line}"].data = True
        carried = self["judged"]
        carried.data = ",".join(map(str, judged))
        carried.raw_data = [carried.data]

    def judged_before(self) -> list[int]:
        """The stops that were ticked for the coach on an earlier page."""
        told = (number_carried(stop) for stop in str(self["judged"].data).split(","))
        return [stop for stop in told if stop >= 0]

    def typed(self, readings: dict[int, Taped]) -> list[tuple[float, float]]:
        """Each reading as it was typed, and canonical."""
        return [(self[f"length_{line}"].data, taped.measure_mm) for line, taped in readings.items()]

    def blame(self, far: TapedFarOff, readings: dict[int, Taped]) -> None:
        """Put a reading that no stop can have given at its line."""
        for line, taped in readings.items():
            if taped.measure_mm == far.measure_mm:
                self[f"length_{line}"].errors = [f"Line {line}: {told(far)}"]

    def is_looked_at(self, readings: dict[int, Taped]) -> bool:
        """Whether these very readings were worked out and shown before; they are from now on."""
        told = ";".join(
            f"{reading.label}={reading.measure_mm:g}{'*' if self[f'out_{line}'].data else ''}"
            for line, reading in readings.items()
        )
        seen = self["looked_at"]
        before, seen.data, seen.raw_data = seen.data, told, [told]
        return bool(before == told)


def tape_form(axis: Axis, piece: Piece, by_marks: int = 0) -> TapeForm:
    """The form for one axis of an apparatus, as it was posted.

    ``by_marks`` is how many settings were typed as marks of it, which may stay.
    """
    fields: dict[str, Any] = {}
    if axis.kind.quantity is Quantity.HEIGHT:
        fields["datum"] = height_datum_field(piece.model.kind)
    for line in LINES:
        fields[f"mark_{line}"] = MarkField(
            axis, f"Mark, line {line}", optional=True, description=""
        )
        fields[f"length_{line}"] = AxisLengthField(
            axis.kind, f"Taped length, line {line}", optional=True
        )
        fields[f"out_{line}"] = TickField(f"Leave out line {line}")
    fields["taken_on"] = DayField("Day on which it was taped", default=today)
    fields["note"] = WordsField("Note", most=120, optional=True)
    if by_marks:
        fields["keep_marks"] = marks_field()
    fields["looked_at"] = CarriedField()
    fields["judged"] = CarriedField()
    printed = piece.printed.model.axis(axis.key).scale
    filled_in = dict(zip(LINES, to_tape(printed, len(LINES)), strict=False))
    form = form_of(fields, TapeForm)(data={f"mark_{n}": stop for n, stop in filled_in.items()})
    form.filled_in = filled_in
    return form
