"""Signing in and out, and changing the password."""

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts import accounts, sign_ins
from settingsdesk.desk.accounts.accounts import OldPasswordNotRight
from settingsdesk.desk.accounts.failed_tries import (
    PASSWORDS,
    PASSWORDS_OF_KNOWN,
    Limits,
    whence,
)
from settingsdesk.desk.accounts.passwords import PasswordNotAccepted, in_turn
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.clubs import sign_in_key
from settingsdesk.web.accounts.device import device
from settingsdesk.web.accounts.second_factor import let_in
from settingsdesk.web.frame.fields import SecretField, WordsField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.known_device import known_as
from settingsdesk.web.frame.security import forget, remember, renew_token
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import coach, desk, first_page

Page = str | Response | tuple[str, int]

blueprint = Blueprint("accounts", __name__)


class NotLetIn(SettingsDeskError):
    """The same for an unknown name and a wrong password, so that neither can be found out."""

    sentence = "The sign-in name or the password is not right. Type both again"


class SignInForm(DeskForm):
    """Who are you?"""

    sign_in_name = WordsField(
        "Sign-in name",
        width="w-16",
        render_kw={
            "autocomplete": "username",
            "autocorrect": "off",
            "autocapitalize": "none",
            "spellcheck": "false",
        },
    )
    password = SecretField("Password", autocomplete="current-password", width="w-16")


class PasswordForm(DeskForm):
    """Another password, with the present one as a proof."""

    present = SecretField("Present password", autocomplete="current-password", width="w-16")
    new = SecretField("New password", autocomplete="new-password", width="w-16")


@blueprint.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Page:
    """Ask who it is; then go on to the page that was asked for."""
    form = SignInForm()
    if form.accepted():
        name = sign_in_key(form.sign_in_name.data or "")
        counts = (name, *_counted_as(name))
        with in_turn():
            desk().failed.begin(*counts)
            with form.refusals(at=form.sign_in_name):
                known = _known(name, form.password.data or "")
                desk().failed.succeeded(*counts)
                return let_in(known)
    return render_template("accounts/sign_in.html", form=form), form.status


def _known(sign_in_name: str, password: str) -> SignedIn:
    known = accounts.sign_in(desk().store, sign_in_name, password, device())
    if known is None:
        raise NotLetIn
    return known


@blueprint.post("/sign-out")
def sign_out() -> Response:
    """Sign out on this device, for copies of its cookie too; the coach's others go on."""
    sign_ins.sign_out(desk().store, coach().stamp)
    forget()
    flash("You are signed out on this device.")
    response = redirect(url_for("accounts.sign_in"), 303)
    response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response


@blueprint.route("/account", methods=["GET", "POST"])
def password() -> Page:
    """Change the password; the coach is signed out on every other device."""
    form = PasswordForm()
    if form.accepted():
        counts = (f"present password of {coach().account_id}", "", PASSWORDS_OF_KNOWN)
        with in_turn():
            desk().failed.begin(*counts)
            with (
                form.refusals(form.present, OldPasswordNotRight),
                form.refusals(form.new, PasswordNotAccepted),
            ):
                remember(_changed(form))
                desk().failed.succeeded(*counts)
                flash("Your password is changed. You are signed out on every other device.")
                return redirect(url_for("accounts.password"), 303)
    return render_template(
        "accounts/password.html",
        form=form,
        devices=sign_ins.devices(desk().store, coach()),
        moment=moment,
    ), form.status


@blueprint.post("/account/club")
def club() -> Response:
    """Act for another club on this device; the head of each page says for which.

    Forms that are open for the club before count no more: what is typed there is meant for it.
    """
    club_id = request.form.get("club", default=0, type=number_of_a_row)
    sign_ins.act_for(desk().store, coach(), club_id)
    renew_token()
    return redirect(first_page(), 303)


@blueprint.post("/account/devices/<int:sign_in_id>/end")
def end_device(sign_in_id: int) -> Response:
    """Sign oneself out on another device."""
    sign_ins.end_device(desk().store, coach(), sign_in_id)
    flash("You are signed out on that device.")
    return redirect(url_for("accounts.password"), 303)


def _changed(form: PasswordForm) -> SignedIn:
    return accounts.change_password(
        desk().store, coach(), form.present.data or "", form.new.data or "", device()
    )


def _counted_as(sign_in_name: str) -> tuple[str, Limits]:
    """Whence a try comes, and what holds there: a device that was in before is by itself."""
    known = known_as(sign_in_name)
    return (known, PASSWORDS_OF_KNOWN) if known else (whence(request.remote_addr), PASSWORDS)
