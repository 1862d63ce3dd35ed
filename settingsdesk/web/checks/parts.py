"""Spare parts: counted by the coach, with a word where one is short."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.checks import parts
from settingsdesk.desk.checks.parts import MOST_OF_A_PART
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import ChoiceField, CountField, WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.taking_away import Doomed, ask
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("parts", __name__, url_prefix="/parts")
blueprint.context_processor(shown.for_templates)


class PartForm(DeskForm):
    """A part that should lie in stock."""

    name = WordsField("Part", most=60, width="w-16")
    kind = ChoiceField(
        "For which apparatus",
        choices=[(kind.key, kind.name) for kind in KINDS.values()],
        optional=True,
    )
    minimum = CountField("At least", most=MOST_OF_A_PART, default=1)


class CountForm(EditForm):
    """What somebody counted, and at least how many there should be."""

    counted = CountField("Counted", most=MOST_OF_A_PART, ask="Enter how many there are")
    minimum = CountField("At least", most=MOST_OF_A_PART)
    remark = WordsField("Remark", optional=True)


@blueprint.route("/", methods=["GET", "POST"])
def index() -> Page:
    """Every part with its last count; add one."""
    form = PartForm()
    if form.accepted():
        with form.refusals(at=form.name), work(writes=True) as session:
            added = parts.add_part(
                session,
                form.name.data,
                form.kind.data or "",
                form.minimum.data or 0,
            )
            flash(f"{added.name} is on the list. Count it next.")
            return redirect(url_for("parts.count", part_id=added.id), 303)
    with work() as session:
        stock = parts.all_parts(session)
        suggested = parts.suggestions(session)
    page = render_template(
        "checks/parts/index.html", form=form, stock=stock, suggested=suggested, kinds=KINDS
    )
    return page, form.status


@blueprint.route("/<int:part_id>", methods=["GET", "POST"])
def count(part_id: int) -> Page:
    """Count a part; every count stays on record."""
    with work() as session:
        part = parts.part(session, part_id)
    form = CountForm(data={"minimum": part.minimum})
    if form.accepted():
        with form.refusals(at=form.counted), work(writes=True) as session:
            form.must_be_as_read(data={"minimum": parts.part(session, part_id).minimum})
            parts.change_minimum(session, part_id, form.minimum.data or 0)
            parts.count_part(session, part_id, form.counted.data or 0, form.remark.data)
            flash(f"{part.name}: {form.counted.data} counted.")
            return redirect(url_for("parts.index"), 303)
    return render_template("checks/parts/count.html", form=form, part=part), form.status


@blueprint.route("/<int:part_id>/take-away", methods=["GET", "POST"])
def take_away(part_id: int) -> Page:
    """Ask, and take away a part that was put on the list by mistake."""
    with work() as session:
        part = parts.part(session, part_id)
    doomed = Doomed(
        part_id,
        part.name,
        parts.hanging,
        parts.take_away,
        url_for("parts.count", part_id=part_id),
        "The part goes, with every count of it.",
    )
    return ask(doomed, url_for("parts.index"))
