"""Start orders of a meet: typed, sent as a sheet, or drawn by lot, and never re-arranged."""

from collections.abc import Iterable

from flask import Blueprint, flash, redirect, render_template, request, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from settingsdesk.desk import meets, start_orders
from settingsdesk.desk.meets import Entrant, Meet, MeetSession
from settingsdesk.desk.start_lists import StartList, read_sent, read_typed
from settingsdesk.domain.crew import CREWS
from settingsdesk.sheets.reading import read_table
from settingsdesk.web.fields import ChecksField, ChoiceField, CountField, PaperField, ParagraphField
from settingsdesk.web.forms import DeskForm
from settingsdesk.web.shown import for_templates
from settingsdesk.web.work import coach, work

blueprint = Blueprint("start_orders", __name__, url_prefix="/start-orders")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

HANDS = [(crew, {1: "One pair", 2: "Two pairs", 4: "Four pairs"}[crew]) for crew in CREWS]


class PlaceForm(DeskForm):
    """Which rotation of the session, on which apparatus, for how many hands."""

    number = CountField("Rotation", least=1, most=start_orders.MOST_ROTATIONS)
    apparatus = ChoiceField("Apparatus", read_choice=int)
    hands = ChoiceField("Hands at the apparatus", choices=HANDS, read_choice=int)


class TypedForm(PlaceForm):
    """The order as it is typed, or as a sheet that was sent."""

    order = ParagraphField("Start order", most=10_000, optional=True)
    file = PaperField("Or a sheet", accept=".xlsx,.csv,.tsv,.txt", optional=True)


class DrawForm(PlaceForm):
    """Who takes part in the lot."""

    clubs = ChecksField("Clubs", optional=True)
    divisions = ChecksField("Divisions", optional=True)


@blueprint.get("/<int:rotation_id>")
def show(rotation_id: int) -> str:
    """One start order: who, in which order, at which marks, and how it came."""
    with work() as session:
        order = start_orders.start_order(session, rotation_id)
    carried = order.view.carried[order.view.piece.id]
    return render_template(
        "start_orders/show.html", order=order, carried=carried, came_by=start_orders.CAME_BY
    )


@blueprint.route("/sessions/<int:session_id>/new", methods=["GET", "POST"])
def new(session_id: int) -> Page:
    """Type the order of one rotation, or send it as a sheet."""
    with work() as session:
        meet, part, entrants = _at(session, session_id)
    form = TypedForm(data=_usual(request.args.get("rotation", type=int)))
    _offer(form, meet)
    faults: StartList | None = None
    if form.accepted():
        with form.refusals(form.order):
            found, came_by = _listed(form, entrants)
            if not found.faults:
                return _set(form, session_id, found.athlete_ids, came_by)
            faults = found
            form.order.errors = [*form.order.errors, *map(str, found.faults)]
    page = render_template(
        "start_orders/new.html", form=form, meet=meet, part=part, faults=faults, entrants=entrants
    )
    return page, form.status


@blueprint.route("/sessions/<int:session_id>/draw", methods=["GET", "POST"])
def draw(session_id: int) -> Page:
    """Draw the order of one rotation by lot."""
    with work() as session:
        meet, part, entrants = _at(session, session_id)
    form = DrawForm(data=_usual(request.args.get("rotation", type=int)))
    _offer(form, meet)
    coming = [one for one in entrants if one.is_in]
    form.clubs.offer(_names(one.from_club for one in coming))
    form.divisions.offer(_names(one.division for one in coming))
    if form.accepted():
        chosen = [
            one.member.id
            for one in coming
            if (not form.clubs.data or one.from_club in form.clubs.data)
            and (not form.divisions.data or one.division in form.divisions.data)
        ]
        with form.refusals(form.number), work(writes=True) as session:
            line = start_orders.draw(
                session,
                coach().shown_name,
                session_id,
                form.number.data or 1,
                form.apparatus.data,
                chosen,
                form.hands.data,
            )
            flash("The start order is drawn.")
            return redirect(url_for("start_orders.show", rotation_id=line.rotation_id), 303)
    return render_template("start_orders/draw.html", form=form, meet=meet, part=part), form.status


@blueprint.post("/<int:rotation_id>/move")
def move(rotation_id: int) -> Response:
    """One athlete a place up or down: the jury's change, typed in."""
    athlete_id = request.form.get("athlete", default=0, type=int)
    by = -1 if request.form.get("way") == "up" else 1
    with work(writes=True) as session:
        order = start_orders.start_order(session, rotation_id)
        listed = list(order.line.athlete_ids)
        if athlete_id in listed:
            place = listed.index(athlete_id)
            other = max(0, min(len(listed) - 1, place + by))
            listed[place], listed[other] = listed[other], listed[place]
            start_orders.set_order(
                session,
                coach().shown_name,
                order.line.session.id,
                order.line.number,
                order.line.apparatus_id,
                listed,
                "typed",
                order.view.asked.hands,
            )
    return redirect(url_for("start_orders.show", rotation_id=rotation_id), 303)


@blueprint.post("/<int:rotation_id>/away")
def take_away(rotation_id: int) -> Response:
    """Take the order away; the entries stay."""
    with work(writes=True) as session:
        session_id = start_orders.take_away(session, rotation_id)
        meet = meets.meet_of_session(session, session_id)
    flash("The start order is taken away.")
    return redirect(url_for("meets.show", meet_id=meet.id), 303)


def _at(session: Session, session_id: int) -> tuple[Meet, MeetSession, list[Entrant]]:
    meet = meets.meet_of_session(session, session_id)
    return meet, meet.session(session_id), meets.entrants(session, meet.id)


def _usual(number: int | None) -> dict[str, int]:
    return {"number": number or 1, "hands": 2}


def _offer(form: PlaceForm, meet: Meet) -> None:
    form.apparatus.offer([(one.piece.id, one.piece.name) for one in meet.pieces])


def _names(words: Iterable[str]) -> list[tuple[str, str]]:
    return [(one, one) for one in dict.fromkeys(words) if one]


def _listed(form: TypedForm, entrants: list[Entrant]) -> tuple[StartList, str]:
    file = form.file.data
    if file is not None and file.filename:
        table = read_table(file.stream.read(), file.filename)
        return read_sent(table, entrants), "imported"
    return read_typed(form.order.data, entrants), "typed"


def _set(form: TypedForm, session_id: int, athlete_ids: tuple[int, ...], came_by: str) -> Response:
    with work(writes=True) as session:
        line = start_orders.set_order(
            session,
            coach().shown_name,
            session_id,
            form.number.data or 1,
            form.apparatus.data,
            athlete_ids,
            came_by,
            form.hands.data,
        )
    flash("The start order is set.")
    return redirect(url_for("start_orders.show", rotation_id=line.rotation_id), 303)
