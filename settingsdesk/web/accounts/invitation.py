"""What a link opens that an owner sent: an account, or a new password."""

from flask import Blueprint, g, redirect, render_template
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts import invitations
from settingsdesk.desk.accounts.accounts import SignInNameTaken
from settingsdesk.desk.accounts.invitations import Invited
from settingsdesk.desk.accounts.passwords import PasswordNotAccepted
from settingsdesk.web.accounts.device import device
from settingsdesk.web.accounts.second_factor import let_in
from settingsdesk.web.frame.fields import SecretField, WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import remember
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import coach, desk, first_page

Page = str | Response | tuple[str, int]

blueprint = Blueprint("invitation", __name__)


class NewPasswordForm(DeskForm):
    """The password alone: of an account that is there already."""

    new = SecretField("New password", autocomplete="new-password", width="w-16")


class NewAccountForm(DeskForm):
    """How somebody new will sign in."""

    sign_in_name = WordsField(
        "Sign-in name",
        width="w-16",
        render_kw={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"},
    )
    new = SecretField("New password", autocomplete="new-password", width="w-16")


@blueprint.route("/invitation/<code>", methods=["GET", "POST"])
def take(code: str) -> Page:
    """Choose name and password, and be signed in; the link then opens nothing any more."""
    invited = invitations.look(desk().store, code)
    form = NewPasswordForm() if invited.sign_in_name else NewAccountForm()
    if form.accepted():
        name = form.sign_in_name if isinstance(form, NewAccountForm) else None
        with (
            form.refusals(form.new, PasswordNotAccepted),
            form.refusals(name, SignInNameTaken),
        ):
            typed = (name.data or "" if name else "", form.new.data or "")
            known = invitations.accept(desk().store, code, *typed, device())
            return let_in(known)
    return _page(form, invited), form.status


@blueprint.post("/invitation/<code>/join")
def join(code: str) -> Response:
    """Come in with the account that is signed in here."""
    remember(invitations.join(desk().store, code, coach(), device()))
    return redirect(first_page(), 303)


def _page(form: DeskForm, invited: Invited) -> str:
    return render_template(
        "accounts/people/invitation.html",
        form=form,
        invited=invited,
        moment=moment,
        joins=bool(g.coach) and not invited.sign_in_name,
    )
