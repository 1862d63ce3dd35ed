"""The second factor: asked for after the password, set up and turned off on the account's page."""

from flask import Blueprint, flash, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.symbol import screen_symbol
from settingsdesk.desk.accounts import second_factor
from settingsdesk.desk.accounts.failed_tries import (
    SECOND_FACTORS,
    SECOND_FACTORS_OF_KNOWN,
    Limits,
    whence,
)
from settingsdesk.desk.accounts.second_factor import CodeNotRight, WaitedTooLong
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.web.frame.fields import WordsField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.known_device import know, known_as
from settingsdesk.web.frame.security import forget, own_address, remember
from settingsdesk.web.frame.work import coach, desk, first_page
from settingsdesk.web.stations.stations import qr_path

Page = str | Response | tuple[str, int]

blueprint = Blueprint("second_factor", __name__)

WAITS, SALT = "waits_for_code", "second_factor_salt"
"""What the cookie has between password and code, and while a second factor is set up."""


class CodeForm(DeskForm):
    """What the phone shows."""

    code = WordsField(
        "Code",
        width="w-16",
        ask="Enter the code that the phone shows",
        render_kw={"autocomplete": "one-time-code", "inputmode": "text", "spellcheck": "false"},
    )


def let_in(known: SignedIn) -> Response:
    """Go on with who showed a right password: to the code, or to the page that was asked for."""
    then = own_address(request.args.get("next"), otherwise=first_page())
    if known.waits_for_code:
        forget()
        session[WAITS] = known.stamp
        return redirect(url_for("second_factor.ask", next=then), 303)
    remember(known)
    know(known.sign_in_name)
    return redirect(then, 303)


@blueprint.route("/sign-in/code", methods=["GET", "POST"])
def ask() -> Page:
    """Ask for the code of whoever showed a right password."""
    form, stamp = CodeForm(), session.get(WAITS, "")
    try:
        account_id, name = second_factor.who_waits(desk().store, stamp)
        if form.accepted():
            with form.refusals(form.code, CodeNotRight):
                return _finished(stamp, form.code.data or "", account_id, name)
    except WaitedTooLong as refusal:
        session.pop(WAITS, None)  # and nothing else: whoever is signed in stays so
        flash(str(refusal))
        return redirect(url_for("accounts.sign_in"), 303)
    return render_template("accounts/second_factor/ask.html", form=form), form.status


def _finished(stamp: str, typed: str, account_id: int, name: str) -> Response:
    counts = (f"second factor of {account_id}", *_counted_as(name))
    is_guess = not second_factor.is_recovery(typed)
    if is_guess:
        desk().failed.begin(*counts)
    known = second_factor.finish(desk().store, _key(), stamp, typed)
    if is_guess:
        desk().failed.succeeded(*counts)
    return let_in(known)


@blueprint.route("/account/second-factor", methods=["GET", "POST"])
def own() -> Page:
    """Set it up, with recovery codes to keep on paper; or turn it off."""
    form, is_on = CodeForm(), second_factor.is_on(desk().store, coach())
    salt = session.get(SALT) or second_factor.new_salt()
    if not is_on:
        session[SALT] = salt
    if form.accepted():
        counts = (f"own second factor of {coach().account_id}", "", SECOND_FACTORS_OF_KNOWN)
        desk().failed.begin(*counts)
        with form.refusals(form.code, CodeNotRight):
            typed = form.code.data or ""
            if is_on:
                second_factor.turn_off(desk().store, _key(), coach(), typed)
                flash("Your account has no second factor any more.")
                answer: Page = redirect(url_for("second_factor.own"), 303)
            else:
                codes = second_factor.turn_on(desk().store, _key(), coach(), salt, typed)
                answer = render_template("accounts/second_factor/codes.html", codes=codes)
            session.pop(SALT, None)
            desk().failed.succeeded(*counts)
            return answer
    return _page(form, "" if is_on else salt), form.status


def _page(form: CodeForm, salt: str) -> str:
    """The way to turn it off, or with a salt to set it up."""
    if not salt:
        return render_template("accounts/second_factor/on.html", form=form)
    offer = second_factor.offer(_key(), coach(), salt)
    symbol = screen_symbol(offer.address)
    return render_template(
        "accounts/second_factor/set_up.html",
        form=form,
        offer=offer,
        side=symbol.side_modules,
        path=qr_path(symbol),
        needed=coach().lacks_second_factor,
    )


def _counted_as(sign_in_name: str) -> tuple[str, Limits]:
    known = known_as(sign_in_name)
    if known:
        return known, SECOND_FACTORS_OF_KNOWN
    return whence(request.remote_addr), SECOND_FACTORS


def _key() -> bytes:
    return desk().data.secret_key()
