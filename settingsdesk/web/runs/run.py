"""At the bars: one run on a phone in a chalky hand or a tablet on a stand, step by step."""

from flask import Blueprint, flash, jsonify, redirect, render_template, request, url_for
from flask import Response as Answer
from werkzeug.wrappers import Response

from settingsdesk.desk.checks import check_lists
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunView, ScaleChanged
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.changeover import ChangeOver, change_over
from settingsdesk.domain.changeover.crew import CREWS, NotACrew
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    HandsNow,
    Happening,
    NotHere,
    Rechecked,
    Repeated,
    StepDone,
    TakenBack,
    TurnOver,
)
from settingsdesk.domain.changeover.run import NotNow, Stage
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.settings.settings import RailsInWrongOrder
from settingsdesk.planner.plan import Solution
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import read_off_form
from settingsdesk.web.frame.fields import CarriedField, ChecksField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import coach, desk, told, work
from settingsdesk.web.runs.happening_words import in_words

blueprint = Blueprint("bars", __name__, url_prefix="/bars")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]

REST_S = 0.6
"""So long a new order for the rest is waited for; the best by then is taken."""
AT_LEAST_ONE_TRIES, ONE_TRY_S = 50, 0.1
"""So often, and so long each time, it is waited on where there is none at all yet."""

LARGEST_NUMBER = 10**18

NOT_CONFIRMED = (
    NotACrew,
    NotNow,
    desk_run.ConfirmedMeanwhile,
    desk_run.RunUnderWay,
    WithdrawnFromUse,
)
"""What the run's page tells by itself, with what is to be done instead."""

FROM_NOW = "The rest was ordered from what stands there now."


class JoinForm(DeskForm):
    """Who gets turns besides those on the list."""

    seen = CarriedField()
    who = ChecksField("Athletes", read_choice=int, ask="Choose at least one athlete")


@blueprint.post("/begin")
def begin() -> Response:
    """Begin a rotation's run on one apparatus, or go on with the one that is under way."""
    rotation_id, apparatus_id = _number("rotation"), _number("apparatus")
    with work(writes=True) as session:
        run_id = desk_run.begin(session, coach().shown_name, rotation_id, apparatus_id)
    return _to(run_id)


@blueprint.get("/<int:run_id>")
def show(run_id: int) -> Page:
    """What is to be done now: the steps, the check, or who is on."""
    try:
        with work() as session:
            view = desk_run.run(session, run_id)
            items = check_lists.recheck_items(session, view.piece.model.kind.key)
    except ScaleChanged as refusal:
        return render_template("runs/bars/stopped.html", run_id=run_id, sentence=str(refusal)), 409
    return render_template(
        "runs/bars/show.html",
        view=view,
        run=view.run,
        stage=view.run.stage.value,
        items=items,
        picture=_picture(view),
        crews=CREWS,
        afterwards=_afterwards(view),
        moved=desk_rest.what_changed(view.run.order_before, view.run.turns),
        in_words=in_words,
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
    with work() as session:
        return jsonify(number=desk_run.latest_number(session, run_id))


@blueprint.post("/<int:run_id>/step")
def step(run_id: int) -> Response:
    """One step is done."""
    return _confirmed(run_id, StepDone(_number("step")))


@blueprint.post("/<int:run_id>/steps")
def all_steps(run_id: int) -> Response:
    """All steps that are left are done."""
    return _confirmed(run_id, AllDone())


@blueprint.post("/<int:run_id>/check")
def check(run_id: int) -> Response:
    """The check after the change-over was made."""
    return _confirmed(run_id, Rechecked(alone=request.form.get("who") != "second"))


@blueprint.post("/<int:run_id>/over")
def over(run_id: int) -> Response:
    """The turn is over."""
    return _confirmed(run_id, TurnOver())


@blueprint.post("/<int:run_id>/repeat")
def repeat(run_id: int) -> Response:
    """The same athlete has the turn once more."""
    return _confirmed(run_id, Repeated())


@blueprint.post("/<int:run_id>/back")
def take_back(run_id: int) -> Response:
    """The last confirmation was a slip."""
    return _confirmed(run_id, TakenBack(_number("event")))


@blueprint.post("/<int:run_id>/hands")
def hands(run_id: int) -> Response:
    """Another number of hands from here on."""
    return _confirmed(run_id, HandsNow(_number("hands")))


@blueprint.post("/<int:run_id>/not-here")
def not_here(run_id: int) -> Response:
    """An athlete is late or absent: the others are ordered anew."""
    return _confirmed(run_id, NotHere(_number("athlete")), orders=True)


@blueprint.post("/<int:run_id>/arrived")
def arrived(run_id: int) -> Response:
    """An athlete who was not here has come."""
    return _confirmed(run_id, Arrived(_number("athlete")), orders=True)


@blueprint.post("/<int:run_id>/order")
def order(run_id: int) -> Response:
    """Order the rest anew, for instance after somebody's setting was changed."""
    _order_rest(run_id)
    return _to(run_id)


@blueprint.post("/<int:run_id>/marks")
def new_marks(run_id: int) -> Response:
    """Take the marks that count now into an order that stays as it was set."""
    with work() as session:
        view = desk_run.run(session, run_id)
        what = desk_rest.with_new_marks(session, view.piece, view.run)
    return _confirmed(run_id, what)


@blueprint.route("/<int:run_id>/add", methods=["GET", "POST"])
def add(run_id: int) -> Page:
    """Somebody who was not on the list gets turns."""
    with work() as session:
        view = desk_run.run(session, run_id)
        view.piece.must_be_in_use()
        squad = athletes.find(session)
        ready = settings.on_piece(session, [member.id for member in squad], view.piece)
    known = {turn.athlete_id for turn in (*view.run.turns, *view.run.away)}
    form = JoinForm(data={"seen": str(view.number)})
    form.who.offer(
        [(one.id, one.listed_name) for one in squad if one.id in ready and one.id not in known]
    )
    if form.accepted():
        with form.refusals(at=form.who):
            with work(writes=True) as session:
                chosen = form.who.data or []
                desk_run.join(session, coach().shown_name, run_id, _seen(form), chosen)
            _order_rest(run_id)
            return _to(run_id)
    _has_seen(form, view)
    return render_template("runs/bars/add.html", form=form, view=view), form.status


@blueprint.route("/<int:run_id>/found", methods=["GET", "POST"])
def found(run_id: int) -> Page:
    """The apparatus stands at other marks than the run thinks."""
    with work() as session:
        view = desk_run.run(session, run_id)
    view.piece.must_be_in_use()
    form = read_off_form(view.piece.model, view.number)
    if form.accepted():
        stops = [form[axis.key].data for axis in view.piece.model.axes]
        with (
            form.refusals(),
            form.refusals(form[view.piece.model.axes[0].key], RailsInWrongOrder),
        ):
            with work(writes=True) as session:
                desk_run.found_at(session, coach().shown_name, run_id, _seen(form), stops)
            _order_rest(run_id, first_stays=view.run.is_set_for)
            return _to(run_id)
    _has_seen(form, view)
    return render_template("runs/bars/found.html", form=form, view=view), form.status


@blueprint.route("/<int:run_id>/end", methods=["GET", "POST"])
def end(run_id: int) -> Page:
    """End the run, whoever is left; asked once more before."""
    if request.method == "POST":
        with work(writes=True) as session:
            rotation_id = desk_run.end(session, coach().shown_name, run_id)
        flash("The run has ended. What was confirmed stays on record.")
        return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    return render_template("runs/bars/end.html", run_id=run_id)


def _confirmed(run_id: int, what: Happening, *, orders: bool = False) -> Response:
    """Confirm, and go back to the run's page, which also says what could not be confirmed."""
    try:
        with work(writes=True) as session:
            desk_run.confirm(session, coach().shown_name, run_id, _number("seen"), what)
    except NOT_CONFIRMED as refusal:
        flash(told(refusal))
        return _to(run_id)
    if orders:
        _order_rest(run_id)
    return _to(run_id)


def _order_rest(run_id: int, *, first_stays: bool = False) -> None:
    """Order what is left; where that cannot be done it stays as it is, and the page says why."""
    club_id, store, searches = coach().club_id, desk().store, desk().searches
    try:
        with work() as session:
            rest = desk_rest.rest(session, run_id, first_stays=first_stays)
        if rest is None:
            return

        def keep(solution: Solution) -> None:
            with store.work(club_id, writes=True) as session:
                desk_rest.keep(session, rest, solution)

        key = searches.begin(club_id, f"run {run_id}", rest.problem, keep)
    except SettingsDeskError as refusal:
        flash(f"The order of the rest was left as it is. {told(refusal)}")
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
        flash(f"The order of the rest was left as it is. {ended.refusal if ended else ''}".strip())


def _afterwards(view: RunView) -> tuple[Setup, ChangeOver] | None:
    """Where it shall stand after the last turn, and the way there; None where it does already."""
    run, final = view.run, view.asked.final_of(view.piece.id)
    if run.stage is not Stage.OVER or run.stands is None or final in (None, run.stands):
        return None
    return final, change_over(run.model, run.stands, final)


def _picture(view: RunView) -> Drawing | None:
    """What shall stand, filled, and what stands now, open, where that is something else."""
    run = view.run
    if not run.turns:
        return None
    goal = run.turns[0].setup
    return shown.picture(
        run.model,
        run.model.measures_mm(goal),
        run.model.marks(goal),
        view.piece.mat_mm,
        run.model.measures_mm(run.mostly_at) if run.stage is Stage.SETTING else None,
    )


def _seen(form: DeskForm) -> int:
    typed = str(form["seen"].data or "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else 0


def _has_seen(form: DeskForm, view: RunView) -> None:
    """Who was told that something came between has seen it now, and may press once more."""
    form["seen"].raw_data = [str(view.number)]


def _number(name: str) -> int:
    """A number that the page carries; -1 where it is none that a row could have."""
    number = request.form.get(name, default=-1, type=int)
    return number if 0 <= number <= LARGEST_NUMBER else -1


def _to(run_id: int) -> Response:
    return redirect(url_for("bars.show", run_id=run_id), 303)
