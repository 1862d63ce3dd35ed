"""Calibrating one axis of one apparatus: readings of a tape, looked at first, then used."""

from collections.abc import Sequence
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk import apparatus as desk_apparatus
from settingsdesk.desk import calibrations, models
from settingsdesk.desk.apparatus import NothingHeld, Piece
from settingsdesk.desk.calibrations import CalibrationOnRecord, Taped
from settingsdesk.desk.clock import today
from settingsdesk.domain.calibration import Calibration
from settingsdesk.domain.datums import HeightDatum
from settingsdesk.domain.kinds import Quantity
from settingsdesk.domain.models import Axis, TapedFarOff
from settingsdesk.domain.residualplot import residual_plot
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.web import shown
from settingsdesk.web.axis_fields import AxisLengthField, MarkField, form_of, height_datum_field
from settingsdesk.web.fields import CarriedField, DayField, TickField, WordsField
from settingsdesk.web.forms import DeskForm
from settingsdesk.web.work import coach, work

Page = str | Response | tuple[str, int]

LINES = range(1, 13)

blueprint = Blueprint(
    "calibration", __name__, url_prefix="/apparatus/<int:apparatus_id>/calibrations"
)
blueprint.context_processor(shown.for_templates)


class TapeForm(DeskForm):
    """Lines of mark and length; a line may be empty, but not half-filled."""

    @property
    def filled(self) -> list[int]:
        """The numbers of the lines that hold a reading."""
        return [line for line in LINES if self[f"mark_{line}"].data is not None]

    def validate(self, *arguments: Any, **settings: Any) -> bool:
        """Every field by itself, then each line as one."""
        return super().validate(*arguments, **settings) and all([*map(self._whole, LINES)])

    def _whole(self, line: int) -> bool:
        mark, length = self[f"mark_{line}"], self[f"length_{line}"]
        if mark.data is not None and length.data is None:
            length.errors = [f"Enter the length taped at the mark of line {line}"]
        if mark.data is None and length.data is not None:
            mark.errors = [f"Enter the mark at which the length of line {line} was taped"]
        return not mark.errors and not length.errors


@blueprint.route("/take/<axis>", methods=["GET", "POST"])
def take(apparatus_id: int, axis: str) -> Page:
    """Type the readings, look at what they give, then use the scale."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
    adjusted = piece.model.axis(axis)
    form = _tape_form(adjusted, piece)
    result = None
    if form.accepted():
        readings = _readings(form, adjusted, piece)
        with form.refusals(at=form["mark_1"]):
            result = _tried(form, piece, adjusted, readings)
        if result is not None and _wanted(form, result):
            _keep(form, piece, adjusted, result)
            return redirect(url_for("apparatus.show", apparatus_id=apparatus_id), 303)
    return (
        render_template(
            "apparatus/calibrate.html",
            form=form,
            piece=piece,
            axis=adjusted,
            lines=LINES,
            tried=_told(form, result) if result else None,
            must_know_first=_must_know_first(piece),
        ),
        form.status,
    )


@blueprint.get("/<int:calibration_id>")
def show(apparatus_id: int, calibration_id: int) -> str:
    """A calibration that was kept."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        kept = _on_record(session, piece, calibration_id)
    if kept.fitted is None:
        raise NotInThisClub("calibration on the present scale", calibration_id)
    return render_template(
        "apparatus/calibration.html",
        piece=piece,
        kept=kept,
        tried=_result(kept.fitted.calibration),
    )


@blueprint.post("/<int:calibration_id>/set-aside")
def set_aside(apparatus_id: int, calibration_id: int) -> Page:
    """Use it no longer."""
    with work(writes=True) as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        kept = _on_record(session, piece, calibration_id)
        calibrations.set_aside(session, coach().shown_name, calibration_id)
    flash(f"The calibration of the {kept.axis.in_a_sentence} is set aside.")
    return redirect(url_for("apparatus.show", apparatus_id=apparatus_id), 303)


def _on_record(session: Any, piece: Piece, calibration_id: int) -> CalibrationOnRecord:
    printed = models.model(session, piece.model_id).model
    for one in calibrations.on_record(session, piece.id, printed):
        if one.id == calibration_id:
            return one
    raise NotInThisClub(f"calibration of {piece.name}", calibration_id)


def _tape_form(axis: Axis, piece: Piece) -> TapeForm:
    fields: dict[str, Any] = {}
    if axis.kind.quantity is Quantity.HEIGHT:
        fields["datum"] = height_datum_field(piece.model.kind)
    for line in LINES:
        fields[f"mark_{line}"] = MarkField(axis, f"Mark, line {line}", optional=True)
        fields[f"length_{line}"] = AxisLengthField(
            axis.kind, f"Taped length, line {line}", optional=True
        )
        fields[f"out_{line}"] = TickField(f"Leave out line {line}")
    fields["taken_on"] = DayField("Day on which it was taped", default=today)
    fields["note"] = WordsField("Note", most=120, optional=True)
    fields["looked_at"] = CarriedField()
    form = form_of(fields, TapeForm)()
    assert isinstance(form, TapeForm)  # noqa: S101 -- form_of keeps the base
    return form


def _readings(form: DeskForm, axis: Axis, piece: Piece) -> dict[int, Taped]:
    """The canonical reading of each filled line."""
    found = {}
    for line in LINES:
        stop, length_mm = form[f"mark_{line}"].data, form[f"length_{line}"].data
        if stop is not None:
            measure_mm = _canonical_mm(form, piece, length_mm)
            found[line] = Taped(axis.scale.label(stop), measure_mm)
    return found


def _canonical_mm(form: DeskForm, piece: Piece, length_mm: int) -> float:
    if "datum" not in form:
        return length_mm
    datum: HeightDatum = form["datum"].data
    return datum.to_canonical_mm(length_mm, piece.model.section, piece.mat_mm)
