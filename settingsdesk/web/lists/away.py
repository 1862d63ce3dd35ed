"""A guest's pages of a meet of another club of this desk: athletes handed over without a file."""

from collections.abc import Collection

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.lists import handing_over
from settingsdesk.desk.lists.handing_over import AtHost, NoLongerOpen, OfOneName
from settingsdesk.desk.lists.listed_people import ListedSetting
from settingsdesk.desk.meets import guest_clubs
from settingsdesk.desk.meets.guest_clubs import Away
from settingsdesk.desk.squad import choosing
from settingsdesk.domain.base.figures import so_many
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import day, length, measured, moment
from settingsdesk.web.frame.work import coach, desk, work
from settingsdesk.web.squad.choosing import ChoosingForm, athletes_field

Page = str | Response | tuple[str, int]

blueprint = Blueprint("away", __name__)


class WhoForm(ChoosingForm):
    """Who is handed over."""

    who = athletes_field()


@blueprint.route("/guest/<code>", methods=["GET", "POST"])
def join(code: str) -> Page:
    """Say yes to a host's link for the club that one acts for."""
    form = DeskForm()
    if form.accepted():
        with form.refusals():
            meet_away_id = guest_clubs.accept(desk().store, code, coach())
            flash(
                "Your club is a guest of this meet now. Nothing is sent until you choose who comes."
            )
            return redirect(url_for("away.show", meet_away_id=meet_away_id), 303)
    offer = guest_clubs.offered(desk().store, code)
    return render_template("lists/away/join.html", form=form, offer=offer), form.status


@blueprint.get("/meets/away/<int:meet_away_id>")
def show(meet_away_id: int) -> str:
    """The meet as its host announces it, and who was handed over."""
    with work() as session:
        there = guest_clubs.away(session, meet_away_id)
    hall, over = None, ""
    try:
        hall = handing_over.at_host(desk().store, coach(), there)
    except NoLongerOpen as refusal:
        over = str(refusal)
    with work() as session:
        handed = handing_over.handed(session, meet_away_id)
        changed = handing_over.changed_since(session, there, hall, handed) if hall else ()
    return render_template(
        "lists/away/show.html",
        there=there,
        handed=handed,
        changed=changed,
        hall=hall,
        over=over,
        day=day,
        moment=moment,
    )


@blueprint.route("/meets/away/<int:meet_away_id>/choose", methods=["GET", "POST"])
def choose(meet_away_id: int) -> Page:
    """Choose who is handed over; then see what it comes to."""
    form = WhoForm()
    there, hall = _there(meet_away_id)
    with work() as session:
        offer = choosing.anybody(session, form.sought(), form.who.data or ())
    form.take(offer)
    if not form.names and form.accepted():
        with form.refusals(form.who, OfOneName):
            return _preview(there, hall, [member.id for member in offer.ticked])
    return render_template(
        "lists/away/choose.html", form=form, there=there, hall=hall, offer=offer
    ), form.status


@blueprint.post("/meets/away/<int:meet_away_id>/send")
def send(meet_away_id: int) -> Page:
    """Hand them over, if it would still do just what was shown; else show what it comes to now."""
    there, hall = _there(meet_away_id)
    chosen = request.form.getlist("who", type=number_of_a_row)
    fingerprint = request.form.get("fingerprint", "")
    if not fingerprint:
        return _preview(there, hall, chosen)
    done = handing_over.hand_over(desk().store, coach(), there, hall, chosen, fingerprint)
    told = [
        f"{so_many(done.entered, 'athlete')} entered",
        f"{so_many(done.settings, 'setting')} saved at {there.host_name}",
    ]
    if done.not_sent:
        told.append(f"{so_many(done.not_sent, 'setting')} not sent as the model is not there")
    if done.left:
        told.append(f"{so_many(len(done.left), 'question')} left for {there.host_name} to settle")
    if not (done.not_sent or done.left):
        told.append("nothing left out")
    tell(f"{', '.join(told)}.")
    return redirect(url_for("away.show", meet_away_id=meet_away_id), 303)


@blueprint.post("/meets/away/<int:meet_away_id>/scratch/<int:athlete_id>")
def scratch(meet_away_id: int, athlete_id: int) -> Response:
    """Say that somebody does not come."""
    with work() as session:
        there = guest_clubs.away(session, meet_away_id)
    name = handing_over.withdraw(desk().store, coach(), there, athlete_id)
    flash(f"{name} is scratched at {there.host_name}.")
    return redirect(url_for("away.show", meet_away_id=meet_away_id), 303)


def _there(meet_away_id: int) -> tuple[Away, AtHost]:
    with work() as session:
        there = guest_clubs.away(session, meet_away_id)
    return there, handing_over.at_host(desk().store, coach(), there)


def _preview(there: Away, hall: AtHost, chosen: Collection[int]) -> str:
    seen = handing_over.preview(desk().store, coach(), there, hall, chosen)
    return render_template(
        "lists/away/preview.html",
        there=there,
        hall=hall,
        seen=seen,
        chosen=sorted(chosen),
        in_words=_in_words,
        measured=measured,
    )


def _in_words(listed: ListedSetting) -> str:
    """A setting as the host would keep it: "Low rail 165.0 cm, high rail 245.0 cm"."""
    if listed.setting is None:
        return ""
    axes = {axis.key: axis.name for axis in listed.setting.kind.axes}
    return ", ".join(
        f"{axes[key]} {length(wanted.wanted_mm)}" for key, wanted in listed.setting.axes.items()
    )
