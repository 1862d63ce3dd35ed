"""At the bars: one run on a phone in a chalky hand or a tablet on a stand, step by step."""

from flask import Blueprint, flash, jsonify, redirect, render_template, request, url_for
from flask import Response as Answer
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from settingsdesk.desk.checks import checks
from settingsdesk.desk.clock import today
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import happening
from settingsdesk.desk.runs.rest import Rest
from settingsdesk.desk.runs.run import RunNow, RunView, ScaleChanged
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.changeover import ChangeOver, change_over
from settingsdesk.domain.changeover.happenings import Arrived, NotHere
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.settings.settings import RailsInWrongOrder
from settingsdesk.planner.plan import Solution
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import read_off_form
from settingsdesk.web.frame.fields import CarriedField, ChecksField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import coach, desk, told, work
from settingsdesk.web.runs.at_apparatus import (
    NOT_CONFIRMED,
    facts,
    number_of,
    press,
    recheck_items,
)
from settingsdesk.web.runs.happening_words import in_words

blueprint = Blueprint("bars", __name__, url_prefix="/bars")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

REST_S = 0.6
"""So long a new order for the rest is waited for; the best by then is taken."""
AT_LEAST_ONE_TRIES, ONE_TRY_S = 50, 0.1
"""So often, and so long each time, it is waited on where there is none at all yet."""

LEFT_AS_IT_IS = "The order of the rest was left as it is."
FROM_NOW = "The rest was ordered from what stands there now."


class JoinForm(DeskForm):
    """Who gets turns besides those on the list."""

    seen = CarriedField()
    who = ChecksField("Athletes", read_choice=int, ask="Choose at least one athlete")


@blueprint.post("/begin")
def begin() -> Response:
    """Begin a rotation's run on one apparatus, or go on with the one that is under way."""
    rotation_id = number_of(request.form.get("rotation"))
    apparatus_id = number_of(request.form.get("apparatus"))
    with work(writes=True) as session:
        run_id = desk_run.begin(session, coach().shown_name, rotation_id, apparatus_id)
    return _to(run_id)


@blueprint.get("/<int:run_id>")
def show(run_id: int) -> Page:
    """What is to be done now: the steps, the check, or who is on."""
    try:
        with work() as session:
            view = desk_run.run(session, run_id)
            items = recheck_items(session, view)
            care = checks.cares(session, [view.piece])[0]
    except ScaleChanged as refusal:
        return render_template("runs/bars/stopped.html", run_id=run_id, sentence=str(refusal)), 409
    return render_template(
        "runs/bars/show.html",
        afterwards=_afterwards(view),
        care=care,
        today=today(),
        **facts(view, items, shown.length),
    )


@blueprint.get("/<int:run_id>/record")
def record(run_id: int) -> str:
    """Everything that was confirmed: who, when, what."""
    with work() as session:
        view = desk_run.run(session, run_id)
    return render_template("runs/bars/record.html", view=view, in_words=in_words)


@blueprint.get("/<int:run_id>/latest")
def latest(run_id: int) -> Answer:
    """The number of the latest event, for pages that look whether something was confirmed."""

    def number() -> int:
        with work() as session:
            return desk_run.latest_number(session, run_id)

    question = ("number", coach().club_id, run_id)
    return jsonify(number=desk().kept.answer(question, coach().revision, number))


@blueprint.post("/<int:run_id>/confirm")
def confirm(run_id: int) -> Response:
    """Confirm what the pressed button says; where somebody went or came, the rest is ordered."""
    sent, by, left = press(), coach().shown_name, None
    try:
        with work(writes=True) as session:
            before = desk_run.loaded(session, run_id)
            what = happening(session, before, sent.seen, sent.word, sent.number)
            now = desk_run.go_on(session, by, before, sent.seen, what)
            if isinstance(what, NotHere | Arrived):
                left = _rest(session, now)
    except NOT_CONFIRMED as refusal:
        flash(told(refusal))
        return _to(run_id)
    _order(left)
    return _to(run_id)


@blueprint.post("/<int:run_id>/order")
def order(run_id: int) -> Response:
    """Order the rest anew, for instance after somebody's setting was changed."""
    with work() as session:
        left = _rest(session, desk_run.loaded(session, run_id))
    _order(left)
    return _to(run_id)


@blueprint.route("/<int:run_id>/add", methods=["GET", "POST"])
def add(run_id: int) -> Page:
    """Somebody who was not on the list gets turns."""
    with work() as session:
        now = desk_run.loaded(session, run_id)
        now.piece.must_be_in_use()
        squad = athletes.find(session)
        ready = settings.on_piece(session, [member.id for member in squad], now.piece)
    known = {turn.athlete_id for turn in (*now.run.turns, *now.run.away)}
    form = JoinForm(data={"seen": str(now.number)})
    form.who.offer(
        [
            (member.id, member.listed_name)
            for member in squad
            if member.id in ready and member.id not in known
        ]
    )
    if form.accepted():
        with form.refusals(at=form.who):
            with work(writes=True) as session:
                chosen = form.who.data or []
                joined = desk_run.join(session, coach().shown_name, run_id, _seen(form), chosen)
                left = _rest(session, joined)
            _order(left)
            return _to(run_id)
    _has_seen(form, now)
    return render_template("runs/bars/add.html", form=form, view=now), form.status


@blueprint.route("/<int:run_id>/found", methods=["GET", "POST"])
def found(run_id: int) -> Page:
    """The apparatus stands at other marks than the run thinks."""
    with work() as session:
        before = desk_run.loaded(session, run_id)
    before.piece.must_be_in_use()
    form = read_off_form(before.piece.model, before.number)
    if form.accepted():
        stops = [form[axis.key].data for axis in before.piece.model.axes]
        with (
            form.refusals(),
            form.refusals(form[before.piece.model.axes[0].key], RailsInWrongOrder),
        ):
            with work(writes=True) as session:
                now = desk_run.found_at(session, coach().shown_name, run_id, _seen(form), stops)
                left = _rest(session, now, first_stays=before.run.is_set_for)
            _order(left)
            return _to(run_id)
    _has_seen(form, before)
    return render_template("runs/bars/found.html", form=form, view=before), form.status


@blueprint.route("/<int:run_id>/end", methods=["GET", "POST"])
def end(run_id: int) -> Page:
    """End the run, whoever is left; asked once more before."""
    if request.method == "POST":
        with work(writes=True) as session:
            rotation_id = desk_run.end(session, coach().shown_name, run_id)
        flash("The run has ended. What was confirmed stays on record.")
        return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    return render_template("runs/bars/end.html", run_id=run_id)


@blueprint.post("/<int:run_id>/take-up")
def take_up(run_id: int) -> Response:
    """Go on with a run that was ended, where it ended."""
    with work(writes=True) as session:
        desk_run.take_up(session, coach().shown_name, run_id)
    return _to(run_id)


def _rest(session: Session, now: RunNow, *, first_stays: bool = False) -> Rest | None:
    """What is left to be ordered; where that cannot be done the page says why, and all stays."""
    try:
        return desk_rest.rest(session, now, first_stays=first_stays)
    except SettingsDeskError as refusal:
        flash(f"{LEFT_AS_IT_IS} {told(refusal)}")
        return None


def _order(left: Rest | None) -> None:
    """Order what is left; where that cannot be done it stays as it is, and the page says why."""
    if left is None:
        return
    club_id, store, searches = coach().club_id, desk().store, desk().searches

    def keep(solution: Solution) -> None:
        with store.work(club_id, writes=True) as session:
            desk_rest.keep(session, left, solution)

    try:
        key = searches.begin(club_id, f"run {left.run_id}", left.problem, keep)
    except SettingsDeskError as refusal:
        flash(f"{LEFT_AS_IT_IS} {told(refusal)}")
        return
    progress = searches.wait(club_id, key, REST_S)
    for _ in range(AT_LEAST_ONE_TRIES):
        if progress is None or not progress.running or progress.best is not None:
            break
        progress = searches.wait(club_id, key, ONE_TRY_S)
    searches.stop(club_id, key)
    ended = searches.look(club_id, key)  # what was found is kept as it ends, or refused then
    if ended is not None and ended.best is not None and not ended.refusal:
        flash(FROM_NOW)
    else:
        flash(f"{LEFT_AS_IT_IS} {ended.refusal if ended else ''}".strip())


def _afterwards(view: RunView) -> tuple[Setup, ChangeOver] | None:
    """Where it shall stand after the last turn, and the way there; None where it does already."""
    run, final = view.run, view.asked.final_of(view.piece.id)
    if run.stage is not Stage.OVER or run.stands is None or final in (None, run.stands):
        return None
    return final, change_over(run.model, run.stands, final)


def _seen(form: DeskForm) -> int:
    return number_of(form["seen"].data)


def _has_seen(form: DeskForm, now: RunNow) -> None:
    """Who was told that something came between has seen it now, and may press once more."""
    form["seen"].raw_data = [str(now.number)]


def _to(run_id: int) -> Response:
    return redirect(url_for("bars.show", run_id=run_id), 303)
