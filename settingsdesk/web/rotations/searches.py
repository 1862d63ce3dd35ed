"""Ordering a rotation from a page: quick ones at once, long ones on a page that shows how far."""

from collections.abc import Callable, Sequence

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.plan import Solution, WishCost
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.work import coach, desk, work

blueprint = Blueprint("searching", __name__, url_prefix="/rotations")

FROM_NOW = "The rotation was planned from the present marks."
FROM_ITS_END = "The groups to come were planned from where the group at the bars will leave it."
AFTER_A_WHILE = "The rotation was planned."
"""Its page says from which marks."""
WHY = "why-this-order"
"""Where a rotation's page says it."""
AT_ONCE_S = 2.0
"""So long a page waits for the order itself before it shows that it is being worked out."""


def begin(view: RotationView, said: str = FROM_NOW, anchor: str | None = None) -> Response:
    """Plan a rotation as it is at hand, and go to its page, which then says what was done.

    One whose proven order is up to date is left as it is: a second press changes nothing. What
    takes longer has a page of its own meanwhile. Where there is no such order, or too much to do
    already, the rotation's page says so: what was asked is kept, and can be ordered again there.
    ``WithdrawnFromUse`` where one of its apparatus is withdrawn, ``OrderIsDrawn`` for a meet's
    start order.
    """
    done = redirect(url_for("rotations.show", rotation_id=view.id, _anchor=anchor), 303)
    view.must_not_be_drawn()
    view.must_be_in_use()
    if view.is_partly_over:
        with work() as session:
            left = desk_run.as_left(session, view)
        if left is not view:
            view, said = left, FROM_ITS_END
    if view.ordered and view.ordered.proven and not view.ordered.outdated:
        flash(said)
        return done
    in_club, planned = _in_its_club(), view

    def keep(solution: Solution) -> None:
        def kept(session: ClubSession) -> None:
            nonlocal planned
            planned = desk_rotation.keep_order(session, view, solution)

        in_club(kept)

    def keep_costs(costs: Sequence[WishCost]) -> None:
        in_club(lambda session: desk_rotation.keep_costs(session, planned, costs))

    club_id, searches = coach().club_id, desk().searches
    try:
        key = searches.begin(club_id, _what(view.id), view.problem, keep, keep_costs)
    except SettingsDeskError as refusal:
        flash(str(refusal))
        return done
    progress = searches.wait(club_id, key, AT_ONCE_S)
    if progress is not None and progress.running:
        return redirect(url_for("searching.look", rotation_id=view.id, key=key), 303)
    flash(progress.refusal if progress is not None and progress.refusal else said)
    return done


def _what(rotation_id: int) -> str:
    """What a search for a rotation is for, among all of a club."""
    return f"rotation {rotation_id}"


def _in_its_club() -> Callable[[Callable[[ClubSession], object]], None]:
    """What does something in a unit of work of the club that asks now, whenever that is."""
    club_id, by, account = coach().club_id, coach().shown_name, coach().account_id
    store = desk().store

    def in_club(do: Callable[[ClubSession], object]) -> None:
        def once() -> None:
            with store.work(club_id, by=by, account=account, writes=True) as session:
                do(session)

        store.again(once)

    return in_club


def is_weighing(rotation_id: int) -> bool:
    """Whether it is being worked out what each wish for a rotation costs."""
    return desk().searches.is_weighing(coach().club_id, _what(rotation_id))


@blueprint.post("/<int:rotation_id>/costs")
def weigh(rotation_id: int) -> Response:
    """Work out what each wish costs in the order that counts; the page shows it when it is there.

    Where it is known already, or no order is up to date, nothing is done.
    """
    done = redirect(url_for("rotations.show", rotation_id=rotation_id, _anchor=WHY), 303)
    with work() as session:
        view = desk_rotation.to_arrange(session, rotation_id)
    plan = view.best_plan
    if plan is None or not view.lacks_costs:
        return done
    in_club = _in_its_club()

    def keep_costs(costs: Sequence[WishCost]) -> None:
        in_club(lambda session: desk_rotation.keep_costs(session, view, costs))

    try:
        desk().searches.weigh(coach().club_id, _what(view.id), view.problem, plan, keep_costs)
    except SettingsDeskError as refusal:
        flash(str(refusal))
    return done


@blueprint.get("/<int:rotation_id>/search/<key>")
def look(rotation_id: int, key: str) -> str | Response:
    """How far the search is, and the best order so far; when it has ended, the order."""
    progress = desk().searches.look(coach().club_id, key)
    if progress is None:
        return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    if not progress.running:
        flash(progress.refusal or AFTER_A_WHILE)
        return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    return render_template(
        "rotations/search.html", rotation_id=rotation_id, key=key, progress=progress
    )


@blueprint.post("/<int:rotation_id>/search/<key>/stop")
def stop(rotation_id: int, key: str) -> Response:
    """End the search; the best order so far is taken."""
    desk().searches.stop(coach().club_id, key)
    flash("The search was stopped, and the best order so far was taken.")
    return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
