"""Who may ask for what, and what every answer says to the browser.

Every page needs a sign-in, and a role that ``who_may`` opens it to, unless it is listed there as
open; a phone that was let in to a station gets the station's pages and no other. Every request that
changes something needs the form's own token, which Flask-WTF checks, and must come from one of our
own pages.
"""

from dataclasses import replace
from typing import cast
from urllib.parse import urlsplit

from flask import Flask, Response, abort, g, redirect, request, session, url_for
from flask_wtf.csrf import CSRFProtect  # type: ignore[import-untyped]  # it ships no types
from werkzeug.routing import RequestRedirect
from werkzeug.wrappers import Response as AnyResponse

from settingsdesk.desk.accounts.sign_ins import SignedIn, note_visit, still_signed_in
from settingsdesk.desk.stations.stations import Out, PhoneIn, still_in, why_out
from settingsdesk.domain.base.units import Unit
from settingsdesk.web.frame.sessions import QUESTION_ENDPOINTS
from settingsdesk.web.frame.who_may import (
    LINK_ENDPOINTS,
    OPEN_ENDPOINTS,
    SAFE_METHODS,
    STATION_ENDPOINTS,
    may,
    must_be_allowed,
    opens,
)
from settingsdesk.web.frame.work import desk, first_page

POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "object-src 'none'",
        "frame-ancestors 'none'",
    ]
)
ALWAYS = (
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", "camera=(self), microphone=(), geolocation=()"),
)
"""The headers that every answer has, and that no view sets."""

WITHOUT_SECOND_FACTOR = frozenset({"second_factor.own", "accounts.sign_out"})
"""What is open to whoever has to set up a second factor first."""

SCRIPT_HEADER = "Settingsdesk-Script"
"""What the script at the apparatus sends, and gets back: else an answer is not the desk's."""

ONE_YEAR_SECONDS = 365 * 24 * 3600

csrf = CSRFProtect()

UNIT_FIELD = "page_unit"
"""What a form tells the unit of its page by; see ``read_in_the_unit_of_the_page``."""
_UNITS = {unit.value: unit for unit in Unit}


def guard(app: Flask) -> None:
    """Put the checks before, and the headers behind, every view of the application."""
    app.before_request(see_who_asks)
    csrf.init_app(app)
    app.before_request(refuse_requests_from_elsewhere)
    app.before_request(let_nobody_past)
    app.before_request(read_in_the_unit_of_the_page)
    # Called in the opposite order: what is put in the answer's place gets its headers too.
    app.after_request(add_headers)
    app.after_request(stay_at_this_address)
    app.add_template_global(may)
    app.add_template_global(unit_of_the_page)
    app.add_template_filter(opens)


def see_who_asks() -> None:
    """Set ``g.coach`` and ``g.club_id``, and ``g.phone``; None for a stranger or what has ended."""
    g.coach, g.club_id, g.phone = None, None, None
    endpoint = request.endpoint
    if endpoint == "static":
        return
    stamp, station, store = session.get("stamp"), session.get("station"), desk().store
    phone = still_in(store, station) if station is not None else None
    coach = still_signed_in(store, stamp) if stamp is not None else None
    g.coach, g.club_id, g.phone = coach, coach.club_id if coach else None, phone
    if coach and endpoint not in QUESTION_ENDPOINTS:
        note_visit(store, coach)
    if stamp is not None and coach is None:
        session.clear()
        if phone:
            let_phone_in(phone)
    elif station is not None and phone is None and not asked_by_script():
        g.why_out = why_out(store, station)  # said once, on a page
        session.pop("station")


def remember(coach: SignedIn) -> None:
    """Begin a session; nothing of one before it is kept."""
    forget()
    session["stamp"] = coach.stamp
    session.permanent = True
    g.signed_in_now = coach.account_id


def renew_token() -> None:
    """Let no form count any more that was shown before; the session goes on."""
    session.pop("csrf_token", None)


def let_phone_in(phone: PhoneIn) -> None:
    """Remember a phone that was let in to a station; a coach's sign-in beside it goes on."""
    session["station"] = phone.stamp
    session.permanent = True


def put_phone_out() -> None:
    """Forget the station of this browser."""
    session.pop("station", None)


def forget() -> None:
    """End the session of this browser."""
    session.clear()


def refuse_requests_from_elsewhere() -> None:
    """Refuse a change that another site's page asked for.

    Browsers say so in Sec-Fetch-Site, or on plain http in Origin. Origin is "null" from a page
    with no-referrer: there the token alone decides.
    """
    if request.method in SAFE_METHODS:
        return
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin", "null")
    if site not in (None, "same-origin", "none"):
        abort(403)
    if site is None and origin != "null" and not _is_ours(origin):
        abort(403)


def is_from_here() -> bool:
    """Whether the browser says that a page of this desk asked; False where it says nothing."""
    site = request.headers.get("Sec-Fetch-Site")
    return site == "same-origin" or (site is None and _is_ours(request.headers.get("Origin", "")))


def _is_ours(told: str) -> bool:
    """Whether a page of that origin is of this desk: asked at the same place, or at the public one.

    A server in front may pass on another port than it was asked at. Where the desk is reached by
    https, a page that came in the clear may be anybody's.
    """
    try:
        origin = urlsplit(told)
    except ValueError:  # a bracket that is not closed: no browser's
        return False
    public = urlsplit(desk().reach.url)
    if origin.netloc not in (request.host, public.netloc):
        return False
    return origin.scheme == "https" or not request.is_secure


def let_nobody_past() -> AnyResponse | None:
    """Every route is closed unless it is listed as open; an unknown address is said to be one.

    ``RoleMayNot`` where somebody is signed in whose role does not open it.
    """
    endpoint = request.endpoint
    if endpoint in STATION_ENDPOINTS:
        return None if g.phone else _phone_is_out()
    if endpoint is None or endpoint in OPEN_ENDPOINTS:
        return None
    coach: SignedIn | None = g.coach
    if coach:
        must_be_allowed(coach, endpoint, request.method)
        if coach.lacks_second_factor and endpoint not in WITHOUT_SECOND_FACTOR:
            return redirect(url_for("second_factor.own"), 303)
        return None
    back = request.full_path.rstrip("?") if request.method in SAFE_METHODS else None
    if asked_by_script():
        abort(401)
    return redirect(url_for("accounts.sign_in", next=back), 303)


def read_in_the_unit_of_the_page() -> None:
    """Read a form, and answer it, in the unit in which its page was shown.

    The club may read in another one since: a length that was typed as centimetres is never read as
    inches. The page after it is in the club's.
    """
    sent = request.args if request.method in SAFE_METHODS else request.form
    unit = _UNITS.get(sent.get(UNIT_FIELD, ""))
    if g.coach and unit:
        g.coach = replace(g.coach, length_unit=unit)


def unit_of_the_page() -> str:
    """What a form carries of it; empty for strangers, who type no lengths."""
    coach: SignedIn | None = g.get("coach")
    return coach.length_unit.value if coach else ""


def asked_by_script() -> bool:
    """Whether the script at the apparatus asks: it is not led on, it could not see whereto."""
    return SCRIPT_HEADER in request.headers


def _phone_is_out() -> AnyResponse:
    if asked_by_script():
        abort(410)
    return redirect(url_for("station.enter", out=g.get("why_out", Out.LEFT).value), 303)


def own_address(address: str | None, otherwise: str) -> str:
    """The address where it is a page of ours, else ``otherwise``: nobody is led off this site.

    Nor to a page that is not open to who asks: the first page then.
    """
    led_to = address if address and _is_a_page_here(address) else otherwise
    return led_to if not led_to or opens(led_to) else first_page()


def _is_a_page_here(address: str) -> bool:
    if not address.startswith("/") or address.startswith(("//", "/\\")):
        return False
    # No page of ours has it, and what a browser or a server in front makes of it is its own matter.
    path = address.partition("?")[0]
    if "//" in path or "/.." in path:
        return False
    return address.isprintable() and "\\" not in address and not urlsplit(address).netloc


def stay_at_this_address(response: Response) -> Response:
    """Lead on to the right spelling of an address without naming the desk.

    The router does it with a whole address, of what the request's Host says.
    """
    led_on = request.routing_exception
    if not isinstance(led_on, RequestRedirect):
        return response
    there = urlsplit(led_on.new_url)
    query = f"?{there.query}" if there.query else ""
    return cast("Response", redirect(f"/{there.path.lstrip('/')}{query}", led_on.code))


def add_headers(response: Response) -> Response:
    """The headers of OWASP ASVS 5.0.0, 3.4 and 14.3, on every answer."""
    headers = response.headers
    headers.extend(ALWAYS)
    # No endpoint: no such page, or led on to the right spelling of an address that may be a key.
    may_be_a_key = request.endpoint is None or request.endpoint in LINK_ENDPOINTS
    headers["Referrer-Policy"] = "no-referrer" if may_be_a_key else "same-origin"
    if request.endpoint != "static":
        headers["Cache-Control"] = "no-store"
        headers["X-Robots-Tag"] = "noindex"
    elif "v" in request.args:  # another version has another address
        headers["Cache-Control"] = f"public, max-age={ONE_YEAR_SECONDS}, immutable"
    if request.is_secure:
        headers["Strict-Transport-Security"] = f"max-age={ONE_YEAR_SECONDS}; includeSubDomains"
    return response
