"""Converting: marks or lengths on one apparatus to the marks of another of its kind."""

from collections.abc import Mapping
from dataclasses import dataclass

from flask import Blueprint, render_template, request

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall import rule_books
from settingsdesk.desk.hall.conversions import Reading, in_datums, in_every_datum
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.doubts import not_believed
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.hall.rule_books import OutsideRule, RuleBook, outside
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.domain.settings.transfer import Fit, Transfer, transfer
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.work import coach, work
from settingsdesk.web.hall.conversion_form import AskedForm, asked_form, choose_form

blueprint = Blueprint("convert", __name__, url_prefix="/convert")
blueprint.context_processor(shown.for_templates)


@dataclass(frozen=True, slots=True)
class Side:
    """A model, or an apparatus on its own scales: where a conversion begins or ends."""

    key: str
    name: str
    model: ApparatusModel
    mat_mm: int
    scale_used: str
    other_mats: str = ""
    """What is otherwise of its mats today; empty on most days."""


@dataclass(frozen=True, slots=True)
class Conversion:
    """What a conversion found, ready for the page."""

    begin: Side
    end: Side
    setting: Setting
    begin_marks: Mapping[str, str] | None
    transfer: Transfer
    readings: list[Reading]
    warnings: list[str]
    doubts: list[str]
    rule_warnings: list[OutsideRule]
    as_asked: Mapping[str, Reading]
    """What a tape finds there by axis, held as it was for what was asked, where that differs."""
    read_in: Unit

    @property
    def begin_picture(self) -> Drawing:
        """What is asked for, on the apparatus it comes from."""
        measures_mm = {key: float(want.wanted_mm) for key, want in self.setting.axes.items()}
        return shown.picture(self.begin.model, measures_mm, self.begin_marks, self.begin.mat_mm)

    @property
    def end_picture(self) -> Drawing:
        """What would stand on the other apparatus."""
        fit = self.transfer.best
        return shown.picture(
            self.end.model, measures_of(fit), self.end.model.marks(fit.setup), self.end.mat_mm
        )


@blueprint.get("/")
def index() -> tuple[str, int]:
    """Choose where from; type what stands there; read what it is on the other."""
    with work() as session:
        sides = all_sides(session)
        books = rule_books.all_books(session)
    unit = coach().length_unit
    chooser = choose_form(((key, _listed(side)) for key, side in sides.items()), unit)
    if "from" not in request.args or not chooser.validate():
        return render_template(
            "hall/conversions/index.html", form=chooser, sides=sides
        ), chooser.status
    begin = sides[chooser["from"].data]
    by = chooser["by"].data
    form = asked_form(begin.model, begin.mat_mm, by, unit, _ends(begin, sides), books)
    found = None
    if form.was_asked and form.validate():
        with form.misreadings(begin.model):
            found = _converted(form, begin, sides, books)
    page = render_template("hall/conversions/ask.html", form=form, begin=begin, by=by, found=found)
    return page, form.status


def all_sides(session: ClubSession) -> dict[str, Side]:
    """Every apparatus and every model of the club by key, kind by kind."""
    pieces = [
        Side(
            f"apparatus-{piece.id}",
            piece.name,
            piece.model,
            piece.mat_mm,
            piece.scale_used,
            shown.mats_in_words(piece.mats),
        )
        for piece in desk_apparatus.all_pieces(session)
    ]
    models = [
        Side(f"model-{model.id}", model.model.name, model.model, 0, "scale of the model")
        for model in desk_models.all_models(session)
    ]
    order = list(KINDS)
    ranked = sorted([*pieces, *models], key=lambda side: order.index(side.model.kind.key))
    return {side.key: side for side in ranked}


def measures_of(fit: Fit) -> dict[str, float]:
    """What a tape would find at a combination of stops."""
    return {axis.axis.key: axis.measure_mm for axis in fit.axes}


def _converted(
    form: AskedForm, begin: Side, sides: Mapping[str, Side], books: list[RuleBook]
) -> Conversion:
    setting = form.setting(begin.model)
    end = sides[form["to"].data]
    found = transfer(setting, end.model)
    level = form["level"].data or "" if "level" in form else ""
    return Conversion(
        begin=begin,
        end=end,
        setting=setting,
        begin_marks=form.marks(begin.model),
        transfer=found,
        readings=in_every_datum(begin.model, setting, form["mat"].data or 0),
        warnings=[
            axis.warning_in(coach().length_unit)
            for axis in found.best.axes
            if axis.out_of_range or (axis.warning and form.accepts_mm is not None)
        ],
        doubts=_doubts(setting) if form.marks(begin.model) is None else [],
        rule_warnings=list(outside(books, setting.kind, level, measures_of(found.best))),
        as_asked=in_datums(
            end.model, measures_of(found.best), form.heights_taken, form.spread_taken, end.mat_mm
        ),
        read_in=form.read_in,
    )


def _doubts(setting: Setting) -> list[str]:
    """Of which lengths it is asked whether they are right; all are converted as they were typed."""
    found = (not_believed(axis, setting.axes[axis.key].wanted_mm) for axis in setting.kind.axes)
    return [doubt.told(coach().length_unit) for doubt in found if doubt]


def _ends(begin: Side, sides: Mapping[str, Side]) -> list[tuple[str, str]]:
    """Where a conversion may end: the same kind, others first."""
    same = [side for side in sides.values() if side.model.kind.key == begin.model.kind.key]
    same.sort(key=lambda side: side.key == begin.key)
    return [(side.key, _named(side)) for side in same]


def _listed(side: Side) -> str:
    return f"{side.model.kind.name}: {_named(side)}"


def _named(side: Side) -> str:
    return f"{side.name} ({side.key.partition('-')[0]})"
