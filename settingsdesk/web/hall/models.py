"""Apparatus models: makes and types with their printed scales, version by version."""

from dataclasses import dataclass
from functools import partial

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.hall import mark_photos as desk_mark_photos
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.models import ChangedMeanwhile, ModelVersion, NameTaken
from settingsdesk.desk.squad import typed_marks
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.kinds import KINDS, Kind, Quantity, kind_of
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.models import ApparatusModel, Axis
from settingsdesk.domain.hall.scales import TabulatedScale
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import RadiosField, number_carried
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import work
from settingsdesk.web.hall import mark_photos
from settingsdesk.web.hall.kept_marks import tell_kept
from settingsdesk.web.hall.model_form import ModelForm, asks_about, model_form
from settingsdesk.web.hall.starters import plain_model

Page = str | Response | tuple[str, int]

MOST_STOPS_LISTED = 30
"""A longer scale that goes by a rule is told by its ends: nobody reads a list of hundreds."""

NO_VERSION = 0

blueprint = Blueprint("models", __name__, url_prefix="/apparatus/models")
blueprint.context_processor(shown.for_templates)
mark_photos.add_to(blueprint)


class KindForm(DeskForm):
    """Of which kind is the model?"""

    kind = RadiosField("Apparatus kind", choices=[(key, kind.name) for key, kind in KINDS.items()])


@dataclass(frozen=True, slots=True)
class Stop:
    """One line of a scale table; ``canonical_mm`` where it differs from what the scale reads."""

    label: str
    length_mm: float
    canonical_mm: float | None


@dataclass(frozen=True, slots=True)
class ScaleTable:
    """An axis with its stops, all or only the first and last ones."""

    axis: Axis
    stops: list[Stop]
    is_whole: bool


@blueprint.get("/")
def index() -> str:
    """Every model, kind by kind."""
    with work() as session:
        known = desk_models.all_models(session)
    return render_template("hall/models/index.html", kinds=shown.by_kind(known))


@blueprint.get("/<int:model_id>")
def show(model_id: int) -> str:
    """One model: scales, geometry, times, history."""
    with work() as session:
        version = desk_models.model(session, model_id)
        history = desk_models.history(session, model_id)
        read_at = desk_mark_photos.of_model(session, model_id)
    return render_template(
        "hall/models/show.html",
        version=version,
        read_at=read_at,
        history=history,
        tables=_tables(version.model),
        crossed=version.model.crossed_rails,
        picture=_picture(version.model),
        tell_datum=partial(shown.datum, version.model),
    )


@blueprint.route("/new", methods=["GET", "POST"])
def new() -> Page:
    """Choose the kind of a further model."""
    form = KindForm()
    if form.accepted():
        return redirect(url_for("models.add", kind_key=form.kind.data), 303)
    return render_template("hall/models/kind.html", form=form), form.status


@blueprint.route("/new/<kind_key>", methods=["GET", "POST"])
def add(kind_key: str) -> Page:
    """Add a model of that kind."""
    kind = kind_of(kind_key)
    form = model_form(kind, None)
    typed = _typed_model(form, None)
    if typed is not None and not asks_about(form, typed, None) and request.form.get("do") == "save":
        with form.refusals(form["name"], NameTaken), work(writes=True) as session:
            added = desk_models.add_model(session, typed)
            tell(
                f"{typed.name} is added.",
                (url_for("apparatus.new", model=added.id), "Add an apparatus of this model"),
                (url_for("models.new"), "Add another model"),
            )
            return redirect(url_for("models.show", model_id=added.id), 303)
    return _editor(form, kind, typed, None)


@blueprint.route("/<int:model_id>/change", methods=["GET", "POST"])
def change(model_id: int) -> Page:
    """Record a further version of a model."""
    with work() as session:
        version = desk_models.model(session, model_id)
        by_marks = typed_marks.anybodys(session, model_id)
    form = model_form(version.model.kind, version.model, by_marks)
    if request.method == "GET":
        form["version"].data = str(version.version)
    typed = _typed_model(form, version.model)
    asks = typed is not None and asks_about(form, typed, version.model)
    if typed is not None and not asks and request.form.get("do") == "save":
        read = number_carried(form["version"].data, NO_VERSION)
        form["version"].raw_data = [str(version.version)]
        with (
            form.refusals(None, ChangedMeanwhile),
            form.refusals(form["name"], NameTaken),
            work(writes=True) as session,
        ):
            reason = form["reason"].data
            changed = desk_models.change_model(session, model_id, typed, reason, read)
            same = changed.version == version.version
            flash(
                "Nothing differs: the model stays as it was." if same else "The model is changed."
            )
            if not same and "keep_marks" in form and form["keep_marks"].data:
                tell_kept(typed_marks.keep(session, model_id, f"The marks stay: {reason}"))
            return redirect(url_for("models.show", model_id=model_id), 303)
    return _editor(form, version.model.kind, typed, version)


@blueprint.route("/<int:model_id>/take-away", methods=["GET", "POST"])
def take_away(model_id: int) -> Page:
    """Ask, and take away a model that was typed by mistake."""
    with work() as session:
        version = desk_models.model(session, model_id)
    name, versions = version.model.name, version.version
    parts = "1 version" if versions == 1 else f"{versions} versions"
    doomed = Doomed(
        model_id,
        name,
        desk_models.hanging,
        desk_mark_photos.take_away,
        url_for("models.show", model_id=model_id),
        f"The model goes, with its {parts}: scales, geometry and times.",
        "A model that was typed wrong is changed instead.",
    )
    return ask(doomed, url_for("models.index"))


def _typed_model(form: ModelForm, known: ApparatusModel | None) -> ApparatusModel | None:
    """The model that was posted, unless only other fields were asked for."""
    if request.form.get("do") == "fields" or not form.accepted():
        return None
    typed = form.model(known)
    if typed is None and request.form.get("do") == "drop" and form.middle_drop_mm is not None:
        form.take_drop()
        typed = form.model(known)
    return typed


def _editor(
    form: ModelForm, kind: Kind, typed: ApparatusModel | None, version: ModelVersion | None
) -> tuple[str, int]:
    pictured = typed or (version.model if version else plain_model(kind))
    page = render_template(
        "hall/models/edit.html",
        form=form,
        kind=kind,
        version=version,
        tables=_tables(typed) if typed else None,
        crossed=typed.crossed_rails if typed else None,
        of_its_kind=typed is None and version is None,
        picture=_picture(pictured) if pictured else None,
        leaning=form.leans,
        tell_datum=partial(shown.datum, typed) if typed else None,
    )
    return page, form.status


def _tables(model: ApparatusModel) -> list[ScaleTable]:
    return [_table(model, axis) for axis in model.axes]


def _table(model: ApparatusModel, axis: Axis) -> ScaleTable:
    count = axis.scale.count
    whole = count <= MOST_STOPS_LISTED or isinstance(axis.scale, TabulatedScale)
    listed = range(count) if whole else (0, 1, 2, count - 3, count - 2, count - 1)
    converted = axis.kind.quantity is Quantity.HEIGHT and not isinstance(model.geometry, Leaning)
    stops = []
    for stop in listed:
        length_mm = axis.scale.length_mm(stop)
        canonical_mm = model.alone_mm(axis, length_mm) if converted else length_mm
        differs = canonical_mm != length_mm
        stops.append(Stop(axis.scale.label(stop), length_mm, canonical_mm if differs else None))
    return ScaleTable(axis, stops, whole)


def _picture(model: ApparatusModel) -> Drawing:
    """The end view with every axis at the middle of its scale."""
    setup = tuple((axis.scale.count - 1) // 2 for axis in model.axes)
    return shown.picture(model, model.measures_mm(setup), model.marks(setup))
