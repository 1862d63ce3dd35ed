"""Ordering a rotation from a page: begin, and show what comes of it."""

from flask import flash, redirect, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk import rotations
from settingsdesk.web.work import coach, work

FROM_NOW = "The rotation was ordered from what stands there now."


def begin(rotation_id: int, said: str = FROM_NOW, anchor: str | None = None) -> Response:
    """Order a rotation, and go to its page, which then says what was done.

    One whose proven order is up to date is left as it is: a second press changes nothing.
    """
    with work(writes=True) as session:
        ordered = rotations.rotation(session, rotation_id).ordered
        if ordered is None or ordered.outdated or not ordered.proven:
            rotations.order_anew(session, coach().shown_name, rotation_id)
    flash(said)
    return redirect(url_for("rotations.show", rotation_id=rotation_id, _anchor=anchor), 303)
