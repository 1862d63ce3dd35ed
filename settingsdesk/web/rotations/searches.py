"""Ordering a rotation from a page: quick ones at once, long ones on a page that shows how far."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.plan import Solution
from settingsdesk.web.frame.work import coach, desk

blueprint = Blueprint("searching", __name__, url_prefix="/rotations")

FROM_NOW = "The rotation was planned from the present marks."
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
    club_id, by, account = coach().club_id, coach().shown_name, coach().account_id
    store = desk().store
    done = redirect(url_for("rotations.show", rotation_id=view.id, _anchor=anchor), 303)
    view.must_not_be_drawn()
    view.must_be_in_use()
    if view.ordered and view.ordered.proven and not view.ordered.outdated:
        flash(said)
        return done

    def keep(solution: Solution) -> None:
        with store.work(club_id, by=by, account=account, writes=True) as session:
            desk_rotation.keep_order(session, view, solution)

    searches = desk().searches
    try:
        key = searches.begin(
            club_id,
            f"rotation {view.id}",
            view.problem,
            lambda solution: store.again(lambda: keep(solution)),
        )
    except SettingsDeskError as refusal:
        flash(str(refusal))
        return done
    progress = searches.wait(club_id, key, AT_ONCE_S)
    if progress is not None and progress.running:
        return redirect(url_for("searching.look", rotation_id=view.id, key=key), 303)
    flash(progress.refusal if progress is not None and progress.refusal else said)
    return done


@blueprint.get("/<int:rotation_id>/search/<key>")
def look(rotation_id: int, key: str) -> str | Response:
    """How far the search is, and the best order so far; when it has ended, the order."""
    progress = desk().searches.look(coach().club_id, key)
    if progress is None:
        return redirect(url_for("rotations.show", rotation_id=rotation_id), 303)
    if not progress.running:
        flash(progress.refusal or FROM_NOW)
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
