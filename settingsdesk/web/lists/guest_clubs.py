"""The host's page of the clubs that enter for a meet from this desk, without files."""

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.meets import guest_clubs, meets
from settingsdesk.desk.meets.guest_clubs import GuestClub
from settingsdesk.web.frame.fields import WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import desk, work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("guest_clubs", __name__, url_prefix="/meets/<int:meet_id>/guests")


class InviteForm(DeskForm):
    """Which club is invited."""

    entered_as = WordsField(
        "The club’s name in the entries", width="w-32", ask="Enter the club's name in the entries"
    )


@blueprint.route("/", methods=["GET", "POST"])
def index(meet_id: int) -> Page:
    """The clubs that were invited, what came from each and when, and a form for one more."""
    form = InviteForm()
    if form.accepted():
        with form.refusals(form.entered_as), work(writes=True) as session:
            name = form.entered_as.data or ""
            guest_clubs.invite(session, desk().data.secret_key(), meet_id, name)
            flash(f"The link for {name} is below: send it to its coach only.")
            return redirect(url_for("guest_clubs.index", meet_id=meet_id), 303)
    with work() as session:
        meet = meets.announced(session, meet_id)
        guests = guest_clubs.guest_clubs(session, desk().data.secret_key(), meet_id)
    return render_template(
        "lists/guest_clubs.html",
        form=form,
        meet=meet,
        meet_id=meet_id,
        guests=guests,
        address_of=_address_of,
        moment=moment,
    ), form.status


@blueprint.post("/<int:meet_guest_id>/end")
def end(meet_id: int, meet_guest_id: int) -> Response:
    """Take the link back, or take nothing more from that club; what came stays."""
    with work(writes=True) as session:
        name = guest_clubs.end(session, meet_id, meet_guest_id)
    flash(f"{name} can send no more entries. What has come stays.")
    return redirect(url_for("guest_clubs.index", meet_id=meet_id), 303)


def _address_of(guest: GuestClub) -> str:
    public = desk().reach.url.rstrip("/")
    return public + url_for("away.join", code=guest.code).removeprefix(request.script_root)
