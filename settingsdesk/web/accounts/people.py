"""Who may sign in, for the owners of a club: invited, what each is, disabled, devices ended."""

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts import clubs, invitations, people
from settingsdesk.desk.accounts import second_factor as desk_second_factor
from settingsdesk.desk.accounts.invitations import Invited
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import still_signed_in
from settingsdesk.domain.base.units import Unit
from settingsdesk.web.frame.edit_form import EditForm
from settingsdesk.web.frame.fields import LENGTH_LABELS, RadiosField, WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import coach, desk, first_page, work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("people", __name__, url_prefix="/people")

LONGEST_NAME = 60
UNITS = {Unit.CENTIMETRE: "centimetres", Unit.INCH: "inches"}
"""What the units are called where one is chosen."""


class InviteForm(DeskForm):
    """Who comes, and what they may do."""

    shown_name = WordsField("Name that others see", most=LONGEST_NAME, width="w-32")
    role = RadiosField(
        "What they may do",
        choices=[(role.value, f"{role.capitalize()}: {role.may}") for role in reversed(Role)],
        ask="Choose what they may do",
    )


class OwnClubForm(EditForm):
    """What the club is called, and in which unit it reads lengths."""

    name = WordsField("Name of the club", most=clubs.LONGEST_NAME, width="w-32")
    unit = RadiosField(
        "Lengths are shown and typed in",
        choices=[(unit.value, words) for unit, words in UNITS.items()],
        ask="Choose a unit",
    )


@blueprint.route("/", methods=["GET", "POST"])
def index() -> Page:
    """Everybody, the links that wait, and a form for one more."""
    form = InviteForm()
    if form.accepted():
        with form.refusals(form.shown_name), work(writes=True) as session:
            invitations.invite(session, _secret(), Role(form.role.data), form.shown_name.data or "")
            flash(f"The link for {form.shown_name.data} is below: send it to nobody else.")
            return redirect(url_for("people.index", _anchor="links"), 303)
    with work() as session:
        links = invitations.waiting(session, _secret())
        needed = desk_second_factor.is_needed(session)
    return render_template(
        "accounts/people/index.html",
        form=form,
        people=people.people(desk().store, coach()),
        links=links,
        address_of=address_of,
        needed=needed,
        reads_in=UNITS[coach().length_unit],
        moment=moment,
    ), form.status


@blueprint.get("/<int:membership_id>")
def show(membership_id: int) -> str:
    """One person: what they are, and where they are signed in."""
    return render_template(
        "accounts/people/show.html",
        person=people.person(desk().store, coach(), membership_id),
        roles=list(Role),
        moment=moment,
    )


@blueprint.post("/<int:membership_id>/role")
def role(membership_id: int) -> Response:
    """Make somebody an owner, a coach or a helper."""
    chosen = request.form.get("role", "")
    if chosen not in set(Role):
        abort(400)
    people.set_role(desk().store, coach().club_id, membership_id, Role(chosen))
    return _done(membership_id, f"Changed: {chosen} from the next page on.")


@blueprint.post("/<int:membership_id>/disable")
def disable(membership_id: int) -> Response:
    """Sign somebody out everywhere, and let them in no more."""
    people.disable(desk().store, coach().club_id, membership_id)
    return _done(membership_id, "Signed out on every device, and cannot sign in any more.")


@blueprint.post("/<int:membership_id>/enable")
def enable(membership_id: int) -> Response:
    """Let somebody in again."""
    people.enable(desk().store, coach().club_id, membership_id)
    return _done(membership_id, "Can sign in again.")


@blueprint.post("/<int:membership_id>/new-password")
def new_password(membership_id: int) -> Response:
    """Make a link by which somebody chooses a new password."""
    invitations.offer_new_password(desk().store, _secret(), coach(), membership_id)
    flash("The link is below. Nobody learns the password that is chosen there.")
    return redirect(url_for("people.index", _anchor="links"), 303)


@blueprint.post("/<int:membership_id>/second-factor")
def second_factor(membership_id: int) -> Response:
    """Take the second factor off somebody who lost the phone."""
    desk_second_factor.take_off(desk().store, coach(), membership_id)
    return _done(membership_id, "The second factor is off: the password alone is enough.")


@blueprint.post("/second-factor")
def need_second_factor() -> Response:
    """Ask everybody of the club for a second factor, or nobody any more."""
    needed = request.form.get("needed") == "yes"
    desk_second_factor.need(desk().store, coach().club_id, needed=needed)
    flash(
        "Everybody sets one up before their next page."
        if needed
        else "Everybody decides for themselves."
    )
    return redirect(url_for("people.index"), 303)


@blueprint.route("/club", methods=["GET", "POST"])
def club() -> Page:
    """The club's name, and the unit of its lengths; nothing that is kept changes by it."""
    with work(writes=request.method == "POST") as session:
        form = OwnClubForm(data=clubs.facts(session))
        if form.accepted():
            with form.refusals(at=form.name), session.or_nothing():
                form.must_be_as_read()
                clubs.rename(desk().store, session, form.name.data)
                clubs.read_in(session, Unit(form.unit.data))
                flash(f"Kept: {form.name.data}, lengths {LENGTH_LABELS[Unit(form.unit.data)]}.")
                return redirect(url_for("people.index"), 303)
    return render_template("accounts/people/club.html", form=form), form.status


@blueprint.post("/devices/<int:sign_in_id>/end")
def end_device(sign_in_id: int) -> Response:
    """Sign somebody out on one device."""
    membership_id = people.end_device(desk().store, coach().club_id, sign_in_id)
    return _done(membership_id, "Signed out on that device.")


@blueprint.post("/links/<int:invitation_id>/take-back")
def take_back(invitation_id: int) -> Response:
    """End a link that nobody has used."""
    with work(writes=True) as session:
        invitations.take_back(session, invitation_id)
    flash("That link no longer works.")
    return redirect(url_for("people.index"), 303)


def address_of(link: Invited) -> str:
    """The whole address of a link, as it is sent to who is invited."""
    public = desk().reach.url.rstrip("/")
    return public + url_for("invitation.take", code=link.code).removeprefix(request.script_root)


def _secret() -> bytes:
    return desk().data.secret_key()


def _done(membership_id: int, words: str) -> Response:
    """The page of whom it was about; the first page for who has made that page another's."""
    flash(words)
    reader = still_signed_in(desk().store, coach().stamp)
    if reader is None or not reader.role.covers(Role.OWNER):
        return redirect(first_page(), 303)
    return redirect(url_for("people.show", membership_id=membership_id), 303)
