"""The clubs of this installation, for who owns it: none of them is opened by it."""

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts import clubs
from settingsdesk.desk.accounts.accounts import CoachUnnamed
from settingsdesk.desk.accounts.clubs import LONGEST_NAME
from settingsdesk.desk.accounts.sign_ins import still_signed_in
from settingsdesk.domain.base.units import Unit
from settingsdesk.resources import folder
from settingsdesk.store.clubs import sign_in_key
from settingsdesk.web.accounts import people
from settingsdesk.web.frame.fields import RadiosField, WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import coach, desk, first_page

Page = str | Response | tuple[str, int]

blueprint = Blueprint("clubs", __name__, url_prefix="/clubs")

MYSELF, INVITED = "myself", "invited"


class ClubForm(DeskForm):
    """One more club, and who is its first owner."""

    name = WordsField("Name of the club", most=LONGEST_NAME, width="w-32")
    unit = RadiosField(
        "Lengths are shown and typed in",
        choices=[(unit.value, words) for unit, words in people.UNITS.items()],
        ask="Choose a unit",
    )
    first = RadiosField(
        "Its first owner is",
        choices=[(INVITED, "somebody I send a link to"), (MYSELF, "me")],
        ask="Choose who is its first owner",
    )
    owner_name = WordsField(
        "First owner's name, as others see it", most=LONGEST_NAME, needed_at_times=True
    )


class GiveForm(DeskForm):
    """Who can add and close clubs too."""

    sign_in_name = WordsField(
        "Sign-in name",
        width="w-16",
        render_kw={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"},
    )


@blueprint.route("/", methods=["GET", "POST"])
def index() -> Page:
    """Every club by its name, and a form for one more."""
    form = ClubForm()
    if form.accepted():
        with form.refusals(form.name), form.refusals(form.owner_name, CoachUnnamed):
            return _made(form)
    return render_template(
        "accounts/clubs.html",
        form=form,
        clubs=clubs.clubs(desk().store, desk().data.secret_key()),
        owners=clubs.owners(desk().store),
        give=GiveForm(),
        address_of=people.address_of,
        moment=moment,
    ), form.status


def _made(form: ClubForm) -> Response:
    books = folder("seed") / "rulebooks.toml"
    name, unit, owner_name = form.name.data or "", Unit(form.unit.data), form.owner_name.data or ""
    if form.first.data == INVITED and not owner_name:
        raise CoachUnnamed
    club_id = clubs.add_club(desk().store, name, unit, books, coach().shown_name)
    if form.first.data == MYSELF:
        clubs.own_it(desk().store, club_id, coach())
        flash(f"{name} is added, and you are its owner. Switch to it with its button above.")
    else:
        _invite(club_id, owner_name)
    return redirect(url_for("clubs.index"), 303)


@blueprint.post("/<int:club_id>/invite")
def invite(club_id: int) -> Response:
    """Make one more link for the first owner of a club in which nobody is."""
    _invite(club_id)
    return redirect(url_for("clubs.index"), 303)


def _invite(club_id: int, owner_name: str = "") -> None:
    secret, by = desk().data.secret_key(), coach().shown_name
    clubs.invite_owner(desk().store, secret, club_id, by, owner_name)
    flash("The link is below, at the club: send it to its first owner only.")


@blueprint.post("/<int:club_id>/close")
def close(club_id: int) -> Response:
    """Close a club; nothing of it is deleted."""
    name = clubs.close(desk().store, club_id, coach())
    flash(f"{name} is closed: nobody can sign in, and its cards and stations no longer work.")
    return redirect(url_for("clubs.index"), 303)


@blueprint.post("/<int:club_id>/open")
def open_again(club_id: int) -> Response:
    """Open a closed club again, as it was."""
    flash(f"{clubs.open_again(desk().store, club_id)} is open again, as it was.")
    return redirect(url_for("clubs.index"), 303)


@blueprint.post("/owners")
def give() -> Response:
    """Let somebody make and close clubs too."""
    name = request.form.get("sign_in_name", "")
    clubs.give_installation(desk().store, name)
    flash(f"'{sign_in_key(name)}' can add and close clubs too.")
    return redirect(url_for("clubs.index"), 303)


@blueprint.post("/owners/take")
def take() -> Response:
    """Let somebody make and close clubs no more."""
    name = request.form.get("sign_in_name", "")
    clubs.take_installation(desk().store, name)
    flash(f"'{sign_in_key(name)}' can no longer add or close clubs.")
    reader = still_signed_in(desk().store, coach().stamp)
    return redirect(
        url_for("clubs.index") if reader and reader.owns_installation else first_page(), 303
    )
