"""Still right? Confirming a setting, noting that somebody has grown, how long a season is."""

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import still_right as desk_still_right
from settingsdesk.desk.squad.still_right import MOST_DAYS
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import CountField, number_carried
from settingsdesk.web.frame.security import own_address
from settingsdesk.web.frame.work import work


class SeasonForm(EditForm):
    """After how many days settings are asked about; without a number, never for their age."""

    season_days = CountField("Days in a season", most=MOST_DAYS, optional=True)


def add_to(blueprint: Blueprint) -> None:
    """Add these pages and presses to the room of the athletes."""
    blueprint.add_url_rule("/season", view_func=season, methods=["GET", "POST"])
    blueprint.add_url_rule("/<int:athlete_id>/confirm", view_func=confirm, methods=["POST"])
    blueprint.add_url_rule("/<int:athlete_id>/grown", view_func=grown, methods=["POST"])


def season() -> str | Response | tuple[str, int]:
    """See it, and set it."""
    with work() as session:
        known = desk_still_right.season(session)
    form = SeasonForm(data={"season_days": known})
    if form.accepted():
        with form.refusals(at=form.season_days), work(writes=True) as session:
            form.must_be_as_read(data={"season_days": desk_still_right.season(session)})
            days = form.season_days.data
            desk_still_right.keep_season(session, days)
            flash(f"Settings are asked about after {days} days." if days else NEVER)
            return redirect(url_for("athletes.index"), 303)
    return render_template("squad/season.html", form=form), form.status


NEVER = "No setting is asked about for its age."


def confirm(athlete_id: int) -> Response:
    """The setting is right as it stands: one press, and back to where it was pressed."""
    setting_id = number_carried(request.form.get("setting"))
    seen = number_carried(request.form.get("seen"))
    with work(writes=True) as session:
        member = desk_athletes.member(session, athlete_id)
        version, done = desk_still_right.confirm(session, athlete_id, setting_id, seen)
    what = f"The setting of {member.printed_name} for {version.wanted_for}"
    tell(
        f"{what} is confirmed, version {version.version}."
        if done
        else f"{what} was confirmed already, version {version.version}.",
        (url_for("athletes.index", asked="y"), "Others that are asked about"),
    )
    return _back(athlete_id)


def grown(athlete_id: int) -> Response:
    """The athlete has grown: from now on every setting is asked about until it is confirmed."""
    seen = number_carried(request.form.get("seen"))
    with work(writes=True) as session:
        member = desk_athletes.member(session, athlete_id)
        done = desk_still_right.note_growth(session, athlete_id, seen)
    noted = "is noted" if done else "was noted already"
    flash(f"That {member.printed_name} has grown {noted}: confirm or change each setting.")
    return _back(athlete_id)


def _back(athlete_id: int) -> Response:
    there = url_for("athletes.show", athlete_id=athlete_id)
    return redirect(own_address(request.form.get("then"), otherwise=there), 303)
