"""Rotations: choosing who shares an apparatus, and the order in which least is readjusted."""

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk import apparatus, athletes, rotations, settings
from settingsdesk.desk.clock import today
from settingsdesk.desk.rotations import ESTIMATED_TURN_S, Order, RotationView
from settingsdesk.domain.drawing import Drawing
from settingsdesk.domain.strip import StripRow, strip
from settingsdesk.web.fields import ChecksField, DayField, WordsField
from settingsdesk.web.forms import DeskForm
from settingsdesk.web.work import coach, work

blueprint = Blueprint("rotations", __name__, url_prefix="/rotations")

Page = str | Response | tuple[str, int]


class RotationForm(DeskForm):
    """A rotation on one apparatus: the order of the ticked athletes is the coach's list."""

    name = WordsField("Name", optional=True, most=80, width="w-32")
    held_on = DayField("Day")
    who = ChecksField("Athletes", read_choice=int, ask="Choose at least one athlete")


class ListForm(DeskForm):
    """Who is on the list of a rotation."""

    who = ChecksField("Athletes", read_choice=int, ask="Choose at least one athlete")


@blueprint.get("/")
def index() -> str:
    """The last rotations, and the way to a new one."""
    with work() as session:
        lines = rotations.recent(session)
    return render_template("rotations/index.html", lines=lines)


@blueprint.get("/new")
def choose_apparatus() -> str:
    """First of all: on which apparatus?"""
    with work() as session:
        pieces = apparatus.all_pieces(session)
    return render_template("rotations/choose_apparatus.html", pieces=pieces)


@blueprint.route("/new/<int:apparatus_id>", methods=["GET", "POST"])
def new(apparatus_id: int) -> Page:
    """Who, and when; the rotation is ordered as soon as it is made."""
    form = RotationForm(held_on=today())
    with work() as session:
        piece = apparatus.piece(session, apparatus_id)
        squad = athletes.find(session)
        ready = settings.on_piece(session, [member.id for member in squad], piece)
    form.who.offer([(member.id, _offered(member)) for member in squad if member.id in ready])
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            view = rotations.add_rotation(
                session,
                coach().shown_name,
                form.name.data,
                form.held_on.data or today(),
                apparatus_id,
                form.who.data or [],
            )
            return redirect(url_for("rotations.show", rotation_id=view.id), 303)
    without = [member for member in squad if member.id not in ready]
    page = render_template("rotations/new.html", form=form, piece=piece, without=without)
    return page, form.status


@blueprint.get("/<int:rotation_id>")
def show(rotation_id: int) -> str:
    """The best order with what moves between turns, beside the list and the rule of thumb."""
    with work() as session:
        view = rotations.rotation(session, rotation_id)
    return render_template("rotations/show.html", view=view, picture=_strip(view))


@blueprint.post("/<int:rotation_id>/order")
def order_anew(rotation_id: int) -> Response:
    """Order it again from what stands on the apparatus now."""
    with work(writes=True) as session:
        rotations.order_anew(session, coach().shown_name, rotation_id)
    flash("The rotation was ordered from what stands there now.")
    return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)


@blueprint.route("/<int:rotation_id>/list", methods=["GET", "POST"])
def change_list(rotation_id: int) -> Page:
    """Who is on the list; those who stay keep their places, newcomers are put at its end."""
    with work() as session:
        view = rotations.rotation(session, rotation_id)
        squad = athletes.find(session)
        ready = settings.on_piece(session, [member.id for member in squad], view.piece)
    listed = [member.id for member in view.listed]
    form = ListForm(who=listed)
    form.who.offer([(member.id, _offered(member)) for member in squad if member.id in ready])
    if form.accepted():
        chosen = form.who.data or []
        kept = [one for one in listed if one in chosen]
        with form.refusals(), work(writes=True) as session:
            ids = kept + [one for one in chosen if one not in listed]
            rotations.change_list(session, coach().shown_name, rotation_id, ids)
            flash("The list was changed and ordered anew.")
            return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    return render_template("rotations/list.html", form=form, view=view), form.status


@blueprint.post("/<int:rotation_id>/move")
def move(rotation_id: int) -> Response:
    """One place up or down on the coach's list."""
    athlete_id = request.form.get("athlete", type=int)
    step = {"up": -1, "down": 1}.get(request.form.get("to", ""))
    with work(writes=True) as session:
        view = rotations.rotation(session, rotation_id)
        ids = [member.id for member in view.listed]
        if athlete_id not in ids or step is None:
            abort(400)
        here = ids.index(athlete_id)
        there = min(max(here + step, 0), len(ids) - 1)
        ids.insert(there, ids.pop(here))
        rotations.change_list(session, coach().shown_name, rotation_id, ids)
    address = url_for("rotations.show", rotation_id=rotation_id, _anchor="the-coach-s-list")
    return redirect(address, 303)


def _offered(member: athletes.Member) -> str:
    group = f" ({member.person.group_name})" if member.person.group_name else ""
    return f"{member.listed_name}{group}"


def _strip(view: RotationView) -> Drawing | None:
    if view.ordered is None:
        return None
    orders = (
        ("Best order", view.ordered.best),
        ("By height", view.ordered.by_height),
        ("As listed", view.ordered.as_listed),
    )
    return strip([_strip_row(name, order) for name, order in orders])


def _strip_row(name: str, order: Order) -> StripRow:
    turns = tuple((turn.change.seconds, ESTIMATED_TURN_S) for turn in order.turns)
    return StripRow(name, turns)
