"""For how long athletes are kept, as the club sets it."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.meets import retention
from settingsdesk.desk.meets.retention import MOST_DAYS, Keeping
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import CountField
from settingsdesk.web.frame.work import work


class KeepingForm(EditForm):
    """Days; without a number those who left stay until somebody erases them."""

    guests_days = CountField(
        "Days after the meet’s last day", most=MOST_DAYS, ask="Enter for how many days"
    )
    left_days = CountField("Days after they left", most=MOST_DAYS, optional=True)


def add_to(blueprint: Blueprint) -> None:
    """Add this page to the room of the athletes."""
    blueprint.add_url_rule("/keeping", view_func=keeping, methods=["GET", "POST"])


def keeping() -> str | Response | tuple[str, int]:
    """See it, and set it."""
    with work() as session:
        known = retention.keeping(session)
    form = KeepingForm(data=_filled(known))
    if form.accepted():
        with form.refusals(), work(writes=True) as session:
            form.must_be_as_read(data=_filled(retention.keeping(session)))
            retention.keep(session, Keeping(form.guests_days.data or 0, form.left_days.data))
            flash("Saved. It is done by itself, once a day, while the desk runs.")
            return redirect(url_for("athletes.index"), 303)
    return render_template("squad/keeping.html", form=form), form.status


def _filled(known: Keeping) -> dict[str, int | None]:
    return {"guests_days": known.guests_days, "left_days": known.left_days}
