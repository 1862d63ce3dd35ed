"""At the bars: one run on a phone in a chalky hand or a tablet on a stand, step by step."""

from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

from flask import (
    Blueprint,
    current_app,
    flash,
    redirect,
    render_template,
    request,
    send_from_directory,
    url_for,
)
from flask import Response as Answer
from werkzeug.wrappers import Response

from settingsdesk.desk.clock import today
from settingsdesk.desk.rotations.searches import Keep
from settingsdesk.desk.runs import late as desk_late
from settingsdesk.desk.runs import newcomers, presses
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.first_check import FirstCheck, first_check
from settingsdesk.desk.runs.refusals import ScaleChanged
from settingsdesk.desk.runs.rest import Rest
from settingsdesk.desk.runs.run import RunNow, RunView
from settingsdesk.desk.runs.state import state_of
from settingsdesk.desk.squad import athletes, choosing
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.changeover import ChangeOver, change_over
from settingsdesk.domain.changeover.happenings import Happening, NotHere, Placed
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.hall.models import Setup
from settingsdesk.planner.plan import Solution
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.axis_fields import alone_mm, blaming, read_off_form
from settingsdesk.web.frame.fields import CarriedField, number_carried
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import asked_by_script
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import coach, desk, told, work
from settingsdesk.web.runs.at_apparatus import (
    AT_THE_BARS,
    NOT_CONFIRMED,
    ToCheck,
    facts,
    latest_answer,
    marks_recorded,
    press,
    right_now,
    sign,
    to_check,
    words_of_the_script,
)
from settingsdesk.web.runs.happening_words import before_use_then, in_words, mats_then
from settingsdesk.web.runs.newcomer_form import newcomer_form
from settingsdesk.web.squad.choosing import ChoosingForm, athletes_field, typed_before

blueprint = Blueprint("bars", __name__, url_prefix="/bars")
blueprint.context_processor(for_templates)
blueprint.after_request(sign)

Page = str | Response | tuple[str, int]

REST_S = 0.6
"""So long a new order for the rest is waited for; the best by then is taken."""
AT_LEAST_ONE_TRIES, ONE_TRY_S = 50, 0.1
"""So often, and so long each time, it is waited on where there is none at all yet."""

MOST_MM = 10_000
"""No frame leans farther than it is high."""

LEFT_AS_IT_IS = "The order of the rest was left as it is."
FROM_NOW = "The rest was re-planned from the present marks."


class Shown(NamedTuple):
    """What a unit of work found for the run's page, or why there is nothing to be set by it.

    ``first`` says which check comes before the first turn of all, where that is to be said.
    """

    view: RunView | None
    check: ToCheck = ToCheck()
    first: FirstCheck | None = None
    stopped: str = ""

    @property
    def state(self) -> str:
        """Another one as soon as the page would be another one."""
        return state_of(self, self.view.name if self.view else "")


class JoinForm(ChoosingForm):
    """Who gets turns besides those on the list."""

    seen = CarriedField()
    who = athletes_field()


@blueprint.post("/begin")
def begin() -> Response:
    """Begin a rotation's run on one apparatus, or go on with the one that is under way."""
    rotation_id = number_carried(request.form.get("rotation"))
    apparatus_id = number_carried(request.form.get("apparatus"))
    group = request.form.get("group", type=int)
    with work(writes=True) as session:
        run_id = desk_run.begin(session, rotation_id, apparatus_id, group=group)
    return _to(run_id)


@blueprint.get("/worker.js")
def worker() -> Response:
    """Shows the copies of these pages; below their address, so that it serves only them."""
    return send_from_directory(str(current_app.static_folder), "apparatus_worker.js", max_age=0)


@blueprint.get("/<int:run_id>")
def show(run_id: int) -> Page:
    """What is to be done now: the steps, the check, or who is on."""
    return _page(run_id)


@blueprint.get("/<int:run_id>/record")
def record(run_id: int) -> str:
    """Everything that was confirmed: who, when, what."""
    with work() as session:
        view = desk_run.run(session, run_id)
    return render_template(
        "runs/bars/record.html",
        view=view,
        in_words=in_words,
        before_use_then=before_use_then,
        mats_then=partial(mats_then, unit=coach().length_unit),
    )


@blueprint.get("/<int:run_id>/latest")
def latest(run_id: int) -> Answer:
    """A state that is another one as soon as the run's page is not true any more.

    Every page asks each second: as long as nothing was written, the answer is the kept one.
    """

    return latest_answer(_state(run_id))


def _state(run_id: int) -> str:
    """The state of a run's page as this request found the club; the kept one while it is true."""

    def state() -> str:
        with work() as session:
            return _shown(session, run_id).state

    question = ("state of run", coach().club_id, run_id, today())
    return desk().kept.answer(question, coach().revision, state)


def _to_fill_in(session: ClubSession, run_id: int) -> tuple[RunNow, str]:
    """The run of a form, and the state of its page where nothing is sent yet."""
    if request.method == "POST":
        return desk_run.loaded(session, run_id), ""
    view = desk_run.run(session, run_id)
    return view, _found(session, view).state


def _right_now() -> dict[str, Any]:
    return {"words_here": words_of_the_script(AT_THE_BARS), **right_now()}


def _form_page(template: str, run_id: int, state: str, **about: Any) -> str:
    """A page with a form about a run, which says when something happened since it was made."""
    fresh = {"run_id": run_id, "state": state or _state(run_id), **_right_now()}
    return render_template(f"runs/bars/{template}.html", **about, **fresh)


@blueprint.post("/<int:run_id>/confirm")
def confirm(run_id: int) -> Page:
    """Confirm what the pressed button says. The script gets the page at once."""
    try:
        with work(writes=True) as session:
            presses.confirm(session, desk_run.loaded(session, run_id), press())
    except NOT_CONFIRMED as refusal:
        flash(told(refusal))
        return _page(run_id, 409) if asked_by_script() else _to(run_id)
    return _page(run_id) if asked_by_script() else _to(run_id)


@blueprint.route("/<int:run_id>/late/<int:athlete_id>", methods=["GET", "POST"])
def late(run_id: int, athlete_id: int) -> Page:
    """Somebody is not here, or has come at last: the ways to go on, each with what it costs."""
    if request.method == "POST":
        return _go_on(run_id, athlete_id)
    with work() as session:
        view = desk_run.run(session, run_id)
        state = _found(session, view).state
        try:
            _must_be_planned_here(view)
            ways = desk_late.late(view, athlete_id)
        except NOT_CONFIRMED as refusal:
            flash(told(refusal))
            return _to(run_id)
        left = _left_after(session, view, athlete_id)
    found = _tried(left, athlete_id) if left else None
    planned = desk_late.planned_again(view, athlete_id, left, found) if left and found else None
    return _form_page("late", run_id, state, view=view, late=ways, planned=planned)


def _go_on(run_id: int, athlete_id: int) -> Response:
    """As the pressed button of that page says; ``after`` is a place in the order."""
    sent, left = request.form, None
    do = sent.get("do", "")
    try:
        with work(writes=True) as session:
            now = desk_run.loaded(session, run_id)
            ways: dict[str, Happening] = {
                "place": Placed(athlete_id, number_carried(sent.get("after"))),
                "wait": NotHere(athlete_id),
                "plan": desk_late.gone_or_come(now.run, athlete_id),
            }
            _must_be_planned_here(now)
            if do not in ways:
                raise presses.NoSuchWord
            now = desk_run.go_on(session, now, number_carried(sent.get("seen")), ways[do])
            if do == "plan":
                left = _rest(session, now, with_before=True)
    except NOT_CONFIRMED as refusal:
        flash(told(refusal))
    _order(left)
    return _to(run_id)


def _must_be_planned_here(now: RunNow) -> None:
    """Nobody chooses in a start order as drawn: only the jury changes it, by its own button."""
    if now.asked.as_drawn:
        raise presses.NoSuchWord


@blueprint.post("/<int:run_id>/order")
def order(run_id: int) -> Response:
    """Re-plan the rest, for instance after somebody's setting was changed."""
    with work() as session:
        left = _rest(session, desk_run.loaded(session, run_id))
    _order(left)
    return _to(run_id)


@blueprint.route("/<int:run_id>/add", methods=["GET", "POST"])
def add(run_id: int) -> Page:
    """Somebody who was not on the list gets turns."""
    joined = None
    with work(writes=request.method == "POST") as session:
        now, state = _to_fill_in(session, run_id)
        now.piece.must_be_in_use()
        known = {turn.athlete_id for turn in (*now.run.turns, *now.run.away)}
        form = JoinForm(typed_before(), data={"seen": str(now.number)})
        leaves = form.left_for_a_setting(now.piece.model_id)
        if leaves:
            return leaves
        sought, ticked = replace(form.sought(), besides=known), form.who.data or ()
        offer = choosing.for_kind(session, now.piece.model.kind, sought, ticked)
        form.take(offer, with_groups=True)
        if not form.names and form.accepted():
            with form.refusals(at=form.who), session.or_nothing():
                joined = desk_run.join(session, now, _seen(form), form.who.data or [])
                left = _rest(session, joined, with_before=True)
    if joined:
        _order(left)
        return _to(run_id)
    _has_seen(form, now)
    return _form_page("add", run_id, state, form=form, view=now, offer=offer), form.status


@blueprint.route("/<int:run_id>/newcomer", methods=["GET", "POST"])
def newcomer(run_id: int) -> Page:
    """Somebody who is not in the squad stands there: a name and marks, and turns in this run."""
    joined, namesakes = None, []
    with work(writes=request.method == "POST") as session:
        now, state = _to_fill_in(session, run_id)
        now.piece.must_be_in_use()
        _must_be_planned_here(now)
        mates = newcomers.mates(session, now)
        form = newcomer_form(now, mates)
        if form.accepted():
            with form.refusing(now.piece.model), session.or_nothing():
                athletes.must_have_letters(form.person())
                namesakes = athletes.of_same_names(session, form.person())
                form.must_be_meant(namesakes)
                joined = newcomers.take(session, now, _seen(form), form.person(), form.begins())
    if joined:
        return _to(run_id)
    _has_seen(form, now)
    about = {"form": form, "view": now, "namesakes": namesakes}
    return _form_page("newcomer", run_id, state, **about), form.status


@blueprint.route("/<int:run_id>/found", methods=["GET", "POST"])
def found(run_id: int) -> Page:
    """The apparatus stands at other marks than the run thinks."""
    now = None
    with work(writes=request.method == "POST") as session:
        before, state = _to_fill_in(session, run_id)
        before.piece.must_be_in_use()
        model = before.piece.model
        form = read_off_form(model, before.number)
        if form.accepted():
            stops = [form[axis.key].data for axis in model.axes]
            with (
                form.refusals(),
                blaming(form, model, alone_mm(model, stops), alone_mm(model, before.piece.setup)),
                session.or_nothing(),
            ):
                now = desk_run.read_off(session, before, _seen(form), stops)
                left = _rest(session, now, first_stays=before.run.is_set_for)
    if now:
        _order(left)
        flash(marks_recorded(None, now.run))  # the page itself says for whom; the run is read once
        return _to(run_id)
    _has_seen(form, before)
    return _form_page("found", run_id, state, form=form, view=before), form.status


@blueprint.post("/<int:run_id>/lean")
def lean(run_id: int) -> Response:
    """The frame was measured to lean, by the square aid: tensioning begins against it."""
    sent = request.form
    side, end = number_carried(sent.get("side")), sent.get("end", "")
    by_mm = sent.get("by", type=float)
    seen = number_carried(sent.get("seen"))
    try:
        if side not in (0, 1) or end not in ("", "0", "1") or not by_mm or not 0 < by_mm < MOST_MM:
            raise presses.NoSuchWord
        at = None if end == "" else int(end)
        with work(writes=True) as session:
            desk_run.lean_measured(session, run_id, seen, side, at, by_mm)
    except NOT_CONFIRMED as refusal:
        flash(told(refusal))
    return _to(run_id)


@blueprint.route("/<int:run_id>/end", methods=["GET", "POST"])
def end(run_id: int) -> Page:
    """End the run, whoever is left; asked once more before."""
    if request.method == "POST":
        with work(writes=True) as session:
            rotation_id = desk_run.end(session, run_id)
        flash("The run has ended. What was confirmed stays on record.")
        return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    with work() as session:
        shown_now = _shown(session, run_id)
    view = shown_now.view
    return _form_page("end", run_id, shown_now.state, left=view.not_taken if view else None)


@blueprint.post("/<int:run_id>/take-up")
def take_up(run_id: int) -> Response:
    """Go on with a run that was ended, where it ended."""
    with work(writes=True) as session:
        desk_run.take_up(session, run_id)
    return _to(run_id)


@blueprint.post("/<int:run_id>/looked")
def looked(run_id: int) -> Response:
    """Go on after a look at what somebody at the apparatus said is wrong."""
    try:
        with work(writes=True) as session:
            desk_run.after_a_look(session, run_id)
    except NOT_CONFIRMED as refusal:
        flash(told(refusal))
    return _to(run_id)


def _shown(session: ClubSession, run_id: int) -> Shown:
    try:
        view = desk_run.run(session, run_id)
    except ScaleChanged as refusal:
        return Shown(None, stopped=str(refusal))
    return _found(session, view)


def _found(session: ClubSession, view: RunView) -> Shown:
    first = first_check(session, view.piece, view.run)
    return Shown(view, to_check(session, view), first)


def _page(run_id: int, status: int = 200) -> tuple[str, int]:
    with work() as session:
        shown_now = _shown(session, run_id)
    about = {"run_id": run_id, "state": shown_now.state, **_right_now()}
    view = shown_now.view
    if view is None:
        sentence = shown_now.stopped
        return render_template("runs/bars/stopped.html", sentence=sentence, **about), 409
    page = render_template(
        "runs/bars/show.html",
        afterwards=_afterwards(view),
        first=shown_now.first,
        **facts(view, shown_now.check, coach().length_unit, "findings.photo"),
        **about,
    )
    return page, status


def _rest(
    session: ClubSession, now: RunNow, *, first_stays: bool = False, with_before: bool = False
) -> Rest | None:
    """What is left to be ordered; where that cannot be done the page says why, and all stays."""
    try:
        return desk_rest.rest(session, now, first_stays=first_stays, with_before=with_before)
    except SettingsDeskError as refusal:
        flash(f"{LEFT_AS_IT_IS} {told(refusal)}")
        return None


def _order(left: Rest | None) -> None:
    """Order what is left; where that cannot be done it stays as it is, and the page says why."""
    if left is None:
        return
    club_id, store = coach().club_id, desk().store

    def keep(solution: Solution) -> None:
        with store.work(club_id, by=desk_rest.BY_THE_DESK, writes=True) as session:
            desk_rest.keep(session, left, solution)

    ended = _searched(left, f"run {left.run_id}", lambda found: store.again(lambda: keep(found)))
    if isinstance(ended, Solution):
        flash(FROM_NOW)
    else:
        flash(f"{LEFT_AS_IT_IS} {ended}".strip())


def _left_after(session: ClubSession, view: RunView, athlete_id: int) -> Rest | None:
    """What would be planned again without who is late, or with who has come; None if it cannot."""
    try:
        return desk_late.rest_after(session, view, athlete_id)
    except SettingsDeskError:
        return None


def _tried(left: Rest, athlete_id: int) -> Solution | None:
    """The order that planning again would find, which is not kept; None where none is found."""
    found = _searched(left, f"run {left.run_id}, late {athlete_id}", lambda _: None)
    return found if isinstance(found, Solution) else None


def _searched(left: Rest, what: str, keep: Keep) -> Solution | str:
    """The order that is found in a moment, or why there is none."""
    club_id, searches = coach().club_id, desk().searches
    try:
        key = searches.begin(club_id, what, left.problem, keep)
    except SettingsDeskError as refusal:
        return told(refusal)
    progress = searches.wait(club_id, key, REST_S)
    for _ in range(AT_LEAST_ONE_TRIES):
        if progress is None or not progress.running or progress.best is not None:
            break
        progress = searches.wait(club_id, key, ONE_TRY_S)
    searches.stop(club_id, key)
    ended = searches.look(club_id, key)  # what was found is kept as it ends, or refused then
    if ended is None or ended.best is None or ended.refusal:
        return ended.refusal if ended else ""
    return ended.best


def _afterwards(view: RunView) -> tuple[Setup, ChangeOver] | None:
    """Where it shall stand after the last turn, and the way there; None where it does already."""
    run, final = view.run, view.asked.final_of(view.piece.id)
    if run.stage is not Stage.OVER or run.stands is None or final in (None, run.stands):
        return None
    return final, change_over(run.model, run.stands, final)


def _seen(form: DeskForm) -> int:
    return number_carried(form["seen"].data)


def _has_seen(form: DeskForm, now: RunNow) -> None:
    """Who was told that something came between has seen it now, and may press once more."""
    form["seen"].raw_data = [str(now.number)]


def _to(run_id: int) -> Response:
    return redirect(url_for("bars.show", run_id=run_id), 303)
