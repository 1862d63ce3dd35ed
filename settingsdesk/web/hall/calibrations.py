"""Calibrating one axis of one apparatus: readings of a tape, looked at first, then used."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import calibrations, models
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.calibrations import (
    CalibrationOnRecord,
    Taped,
    misfits_off_mm,
    with_every_reading,
)
from settingsdesk.desk.squad import typed_marks
from settingsdesk.desk.squad.typed_marks import Kept
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.hall.calibration import Calibration
from settingsdesk.domain.hall.models import Axis, TapedFarOff
from settingsdesk.domain.hall.residual_plot import residual_plot
from settingsdesk.domain.hall.scales import HALF_MM, RegularScale
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import work
from settingsdesk.web.hall.kept_marks import marks_field, tell_kept
from settingsdesk.web.hall.tape_form import LINES, TapeForm, tape_form

Page = str | Response | tuple[str, int]

# Common practice, no source: drilling and wear seldom move a whole scale by more than this.
MOST_USUAL_SHIFT_MM = 10.0

blueprint = Blueprint(
    "calibration", __name__, url_prefix="/apparatus/<int:apparatus_id>/calibrations"
)
blueprint.context_processor(shown.for_templates)


@dataclass(frozen=True, slots=True)
class Line:
    """One reading as the result shows it; ``typed_mm`` is None where only the record is left."""

    mark: str
    typed_mm: float | None
    canonical_mm: float | None
    reading_mm: float
    residual_mm: float
    state: str


@dataclass(frozen=True, slots=True)
class Told:
    """A calibration in the words of the page.

    ``misfits`` are what the others contradict, ``left_now`` those of them that were just left out
    of what is offered; ``whole`` is the fit with every reading, where some are left out.
    """

    fitted: Calibration
    lines: list[Line]
    misfits: list[str]
    left_now: list[str]
    whole: Calibration | None
    plot: Drawing
    model_pitch_mm: float | None

    @property
    def shifted_far(self) -> bool:
        """Whether the whole scale lies so far off the model's that the tape was perhaps held
        to another point than the form says: such readings fit each other all the same."""
        return abs(self.fitted.shift_mm) > MOST_USUAL_SHIFT_MM

    @property
    def converted(self) -> bool:
        """Whether the lengths were taken in another datum than the desk keeps."""
        return any(line.typed_mm != line.canonical_mm for line in self.lines)

    @property
    def reads_otherwise(self) -> bool:
        """Whether the printed scale reads something else than the desk keeps."""
        return any(
            line.canonical_mm is not None and abs(line.reading_mm - line.canonical_mm) > HALF_MM
            for line in self.lines
        )


@blueprint.route("/take/<axis>", methods=["GET", "POST"])
def take(apparatus_id: int, axis: str) -> Page:
    """Type the readings, look at what they give, then use the scale."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        by_marks = typed_marks.read_at(session, piece)
    adjusted = piece.model.axis(axis)
    form = tape_form(adjusted, piece, by_marks)
    told, changed = None, False
    if form.accepted():
        readings = form.readings(adjusted, piece)
        fitted, left_now = _offered(form, piece, adjusted, readings)
        wants_it = request.form.get("do") == "use"
        looked_at = form.is_looked_at(readings)
        told = fitted and _told(fitted, form.typed(readings), left_now)
        asks = form.asks(told.misfits if told and wants_it and looked_at else [])
        if fitted is not None and wants_it and looked_at and not asks:
            _keep(form, piece, adjusted, fitted)
            return redirect(url_for("apparatus.show", apparatus_id=apparatus_id), 303)
        changed = wants_it and not looked_at
    page = render_template(
        "hall/apparatus/calibrate.html",
        form=form,
        piece=piece,
        axis=adjusted,
        numbers=LINES,
        told=told,
        changed=changed,
        posted=request.method == "POST",
        setup_needed=piece.setup is None and piece.model.rail_pair is not None,
    )
    return page, form.status


@blueprint.get("/<int:calibration_id>")
def show(apparatus_id: int, calibration_id: int) -> str:
    """A calibration that was kept."""
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        kept = _on_record(session, piece, calibration_id)
        form = _aside_form(session, piece)
    told = _told(kept.fitted.calibration) if kept.fitted else None
    return render_template(
        "hall/apparatus/calibration.html", piece=piece, kept=kept, told=told, form=form
    )


@blueprint.post("/<int:calibration_id>/set-aside")
def set_aside(apparatus_id: int, calibration_id: int) -> Page:
    """Use it no longer."""
    with work(writes=True) as session:
        piece = desk_apparatus.piece(session, apparatus_id)
        kept = _on_record(session, piece, calibration_id)
        form = _aside_form(session, piece)
        calibrations.set_aside(session, calibration_id)
        marks = _with_marks(form, session, piece, "a calibration was set aside")
    flash(f"The calibration of the {kept.axis.in_a_sentence} is set aside.")
    if marks is not None:
        tell_kept(marks)
    return redirect(url_for("apparatus.show", apparatus_id=apparatus_id), 303)


def _aside_form(session: ClubSession, piece: Piece) -> DeskForm:
    """Whether settings that were typed as marks of that apparatus keep them without it."""
    fields = {"keep_marks": marks_field()} if typed_marks.read_at(session, piece) else {}
    return form_of(fields, DeskForm)()


def _with_marks(form: DeskForm, session: ClubSession, piece: Piece, why: str) -> Kept | None:
    """The settings that keep their marks on the scale as it is now, where that was wanted."""
    if "keep_marks" not in form or not form["keep_marks"].data:
        return None
    return typed_marks.keep(session, piece.model_id, f"The marks stay: {why}", piece.name)


def _offered(
    form: TapeForm, piece: Piece, axis: Axis, readings: dict[int, Taped]
) -> tuple[Calibration | None, list[str]]:
    """The fit that is offered, and what was just left out of it as misread.

    A misfit is left out once; who takes it in again has it in the fit, and is asked.
    """
    fitted = _tried(form, piece, axis, readings)
    new = (
        []
        if fitted is None
        else [stop for stop in fitted.misfits if stop not in form.judged_before()]
    )
    form.leave_out(new)
    if fitted is None or not new:
        return fitted, []
    return _tried(form, piece, axis, readings), _misfits(fitted)


def _tried(
    form: TapeForm, piece: Piece, axis: Axis, readings: dict[int, Taped]
) -> Calibration | None:
    with form.refusals(at=form["mark_1"]):
        try:
            return desk_apparatus.try_on_piece(
                piece, axis.key, list(readings.values()), form.left_out(readings)
            )
        except TapedFarOff as far:
            form.blame(far, readings)
    return None


def _keep(form: TapeForm, piece: Piece, axis: Axis, fitted: Calibration) -> None:
    with work(writes=True) as session:
        calibrations.keep_calibration(
            session,
            piece.id,
            axis.key,
            fitted,
            form["taken_on"].data,
            form["note"].data,
        )
        kept = _with_marks(form, session, piece, "their apparatus was calibrated")
    if kept is not None:
        tell_kept(kept)
    others = [other.kind for other in piece.model.axes if other.key != axis.key]
    tell(
        f"The {axis.kind.in_a_sentence} of {piece.name} has its own scale now."
        " Cards printed before may show other marks.",
        *(
            (
                url_for("calibration.take", apparatus_id=piece.id, axis=other.key),
                f"Calibrate the {other.in_a_sentence} too",
            )
            for other in others
        ),
        (url_for("cards.choose", apparatus_id=piece.id), "Print new cards"),
    )


def _told(
    fitted: Calibration,
    typed: Sequence[tuple[float, float]] = (),
    left_now: Sequence[str] = (),
) -> Told:
    """The result; ``typed`` are the lengths as typed and canonical, where they are still known."""
    scale = fitted.scale
    lines = [
        Line(
            mark=scale.label(taped.stop),
            typed_mm=lengths[0] if lengths else None,
            canonical_mm=lengths[1] if lengths else None,
            reading_mm=taped.length_mm,
            residual_mm=residual_mm,
            state=_state(fitted, taped.stop),
        )
        for taped, residual_mm, lengths in zip_longest(fitted.taped, fitted.residuals_mm, typed)
    ]
    printed = scale.printed
    pitch_mm = printed.pitch_mm if isinstance(printed, RegularScale) else None
    return Told(
        fitted=fitted,
        lines=lines,
        misfits=_misfits(fitted),
        left_now=list(left_now),
        whole=with_every_reading(fitted),
        plot=residual_plot(fitted),
        model_pitch_mm=pitch_mm,
    )


def _misfits(fitted: Calibration) -> list[str]:
    return [
        f"Mark {fitted.scale.label(stop)} is {shown.finely(abs(off_mm))} off:"
        " mis-read, mis-numbered or bent?"
        for stop, off_mm in misfits_off_mm(fitted).items()
    ]


def _state(fitted: Calibration, stop: int) -> str:
    if stop in fitted.left_out:
        return "left out"
    return "misfit" if stop in fitted.misfits else "used"


def _on_record(session: ClubSession, piece: Piece, calibration_id: int) -> CalibrationOnRecord:
    printed = models.model(session, piece.model_id).model
    for calibration in calibrations.on_record(session, piece.id, printed):
        if calibration.id == calibration_id:
            return calibration
    raise NotInThisClub(f"calibration of {piece.name}", calibration_id)
