"""Starter models: a plain one of every kind, corrected in one short form, with its apparatus.

What is not needed for a first evening is not asked here: the section of the rail, how uprights
stand, times. They stand in the model's own form as guesses until somebody corrects them.
"""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import NotAMat
from settingsdesk.desk.hall.models import NameTaken
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.kinds import Kind, NoSuchKind, kind_of
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import ApparatusModel, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import RegularScale, Scale
from settingsdesk.domain.hall.starters import STARTERS, Starter, in_words
from settingsdesk.domain.settings import blame
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import LengthField, WordsField
from settingsdesk.web.frame.forms import AskingForm
from settingsdesk.web.frame.work import coach, work
from settingsdesk.web.hall.first_times import axis_times_s, procedure_times
from settingsdesk.web.hall.model_form import asks_about
from settingsdesk.web.hall.scale_fields import scale_fields, scale_from, shape_of, typed_of

Page = str | Response | tuple[str, int]

FIELDS = {"regular": ("count", "pitch", "first"), "ruler": ("from", "to", "step")}
"""What is asked of a scale of each shape, in the order in which a tape finds it.

Where inches are read, a ruler may be printed in either unit, which is asked too.
"""
REASON = "A starter: nothing of it was measured yet"

blueprint = Blueprint("starters", __name__, url_prefix="/apparatus/models/starters")
blueprint.context_processor(shown.for_templates)


class StarterForm(AskingForm):
    """A starter with what a tape finds; the fields of its axes are added below."""

    model_name = WordsField("Name of the model", most=60, width="w-16")
    piece_name = WordsField("Name of the apparatus", most=40, width="w-16")
    mat = LengthField("Mats under the apparatus", default=0)


@blueprint.get("/")
def index() -> str:
    """The starters, kind by kind, each in words."""
    unit = coach().length_unit
    told = [
        (
            starter,
            [(axis, in_words(starter.scales[axis.key], unit)) for axis in starter.kind.axes],
        )
        for plain in STARTERS.values()
        for starter in [plain.printed_in(unit)]
    ]
    return render_template("hall/starters/index.html", starters=told)


@blueprint.route("/<kind_key>", methods=["GET", "POST"])
def take(kind_key: str) -> Page:
    """Correct a starter, and have the model and the apparatus from it."""
    plain = STARTERS.get(kind_of(kind_key).key)
    if plain is None:
        raise NoSuchKind(kind_key)
    starter = plain.printed_in(coach().length_unit)
    form = _form(starter)
    model = _model(starter, form) if form.accepted() else None
    if model is not None and not asks_about(form, model, None):
        with (
            form.refusals(form.piece_name),
            form.refusals(form.mat, NotAMat),
            form.refusals(form.model_name, NameTaken),
            work(writes=True) as session,
        ):
            version = desk_models.add_model(session, model, REASON)
            piece = desk_apparatus.add_piece(
                session, form.piece_name.data, "", version.id, form.mat.data or 0
            )
            tell(
                f"{piece.name} is added, with the model {model.name}. Next, record its present"
                " marks.",
                (url_for("models.change", model_id=version.id), "Say more about the model"),
            )
            then = url_for("several.add", apparatus_id=piece.id)
            return redirect(url_for("apparatus.stands", apparatus_id=piece.id, then=then), 303)
    return (
        render_template(
            "hall/starters/take.html",
            form=form,
            kind=starter.kind,
            asked=_asked(starter),
            holes=[key for key, scale in starter.scales.items() if isinstance(scale, RegularScale)],
            picture=_picture(model or _with_times(starter, starter.kind.name, starter.scales)),
        ),
        form.status,
    )


def _asked(starter: Starter) -> dict[str, list[str]]:
    """The names of the fields of each axis."""
    return {
        axis: [f"{axis}_{what}" for what in _fields(scale)]
        for axis, scale in starter.scales.items()
    }


def _fields(plain: Scale) -> tuple[str, ...]:
    shape = shape_of(plain)
    in_inches = shape == "ruler" and coach().length_unit is Unit.INCH
    return (*FIELDS[shape], "printed") if in_inches else FIELDS[shape]


def _form(starter: Starter) -> StarterForm:
    fields: dict[str, Any] = {}
    known: dict[str, Any] = {
        "model_name": f"{starter.kind.name}, plain",
        "piece_name": starter.kind.name,
    }
    for axis in starter.kind.axes:
        scale = starter.scales[axis.key]
        of_shape = scale_fields(axis.name)[shape_of(scale)]
        typed = typed_of(scale)
        for what in _fields(scale):
            fields[f"{axis.key}_{what}"] = of_shape[what]
            known[f"{axis.key}_{what}"] = typed[what]
    return form_of(fields, StarterForm)(data=known)


def _model(starter: Starter, form: StarterForm) -> ApparatusModel | None:
    """The model that was typed; None where a scale is refused, which its first field then says."""
    scales: dict[str, Scale] = {}
    for axis, plain in starter.scales.items():
        shape = shape_of(plain)
        typed = {what: form[f"{axis}_{what}"].data for what in _fields(plain)}
        with form.refusals(form[f"{axis}_{FIELDS[shape][0]}"]):
            scales[axis] = scale_from(shape, {**typed_of(plain), **typed})
    if not form.mistakes:
        with form.refusals():
            try:
                return _with_times(starter, form.model_name.data, scales)
            except blame.NOT_TOGETHER as refusal:
                to_look_at, said = blame.of_scales(refusal, starter.kind, scales)
                shape = shape_of(scales[to_look_at.key])
                with form.refusals(form[f"{to_look_at.key}_{FIELDS[shape][0]}"]):
                    raise said from refusal
    return None


def plain_model(kind: Kind) -> ApparatusModel | None:
    """The starter of a kind as it stands, an example of such a model; None where it has none."""
    plain = STARTERS.get(kind.key)
    if plain is None:
        return None
    starter = plain.printed_in(coach().length_unit)
    return _with_times(starter, kind.name, starter.scales)


def _with_times(starter: Starter, name: str, scales: Mapping[str, Scale]) -> ApparatusModel:
    first = procedure_times(starter.kind)
    times = {}
    for axis in starter.kind.axes:
        seconds = axis_times_s(axis)
        times[axis.key] = AxisTimes(seconds["handling"], seconds["up"], seconds["down"])
    procedure = Procedure(
        slacken_s=first["slacken"],
        square_s=first["square"],
        tension_s=first["tension"],
        walk_round_s=first["walk_round"],
        tensioners_per_side=first["tensioners"],
    )
    return starter.model(name, scales, times, procedure)


def _picture(model: ApparatusModel) -> Drawing:
    """The end view with every axis at the middle of its scale."""
    setup = tuple((axis.scale.count - 1) // 2 for axis in model.axes)
    return shown.picture(model, model.measures_mm(setup), model.marks(setup))
