"""Who may ask for what, and what every answer says to the browser.

Every page needs a sign-in unless its endpoint is listed here; a phone that was let in to a station
gets the station's pages and no other. Every request that changes something
needs the form's own token, which Flask-WTF checks, and must come from one of our own pages.
"""

from urllib.parse import urlsplit

from flask import Flask, Response, abort, g, redirect, request, session, url_for
from flask_wtf.csrf import CSRFProtect  # type: ignore[import-untyped]  # it ships no types
from werkzeug.wrappers import Response as AnyResponse

from settingsdesk.desk.accounts.sign_ins import SignedIn, still_signed_in
from settingsdesk.desk.stations.stations import PhoneIn, still_in
from settingsdesk.web.frame.work import desk

CAPABILITY_ENDPOINTS = frozenset({"card.kept", "card.show", "card.tell", "station.scanned"})
"""Pages whose address is the key: it must not be passed on."""

OPEN_ENDPOINTS = CAPABILITY_ENDPOINTS | {
    "accounts.sign_in",
    "bars.worker",
    "help.page",
    "privacy.page",
    "static",
    "station.enter",
    "station.worker",
}
"""What a stranger may ask for."""

STATION_ENDPOINTS = frozenset(
    {
        "station.now",
        "station.latest",
        "station.begin",
        "station.confirm",
        "station.end",
        "station.marks",
        "station.card",
        "station.leave",
    }
)
"""What a phone may ask for that was let in to a station; a coach who was not, may not."""

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

SCRIPT_HEADER = "Settingsdesk-Script"
"""What the script at the apparatus sends, and gets back: else an answer is not the desk's."""

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
ONE_YEAR_SECONDS = 365 * 24 * 3600

csrf = CSRFProtect()


def guard(app: Flask) -> None:
    """Put the checks before, and the headers behind, every view of the application."""
    app.before_request(see_who_asks)
    csrf.init_app(app)
    app.before_request(refuse_requests_from_elsewhere)
    app.before_request(send_strangers_to_sign_in)
    app.after_request(add_headers)


def see_who_asks() -> None:
    """Set ``g.coach`` and ``g.club_id``, and ``g.phone``; None for a stranger or what has ended."""
    g.coach, g.club_id, g.phone = None, None, None
    if request.endpoint == "static":
        return
    if "station" in session:
        g.phone = still_in(desk().store, session["station"])
    if "stamp" in session:
        g.coach = still_signed_in(desk().store, session["stamp"])
        g.club_id = g.coach.club_id if g.coach else None
    if "stamp" in session and g.coach is None:
        session.clear()
        if g.phone:
            let_phone_in(g.phone)
    elif "station" in session and g.phone is None:
        session.pop("station")


def remember(coach: SignedIn) -> None:
    """Begin a session; nothing of one before it is kept."""
    forget()
    session["stamp"] = coach.stamp
    session.permanent = True
    g.signed_in_now = coach.coach_id


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
    if site is None and origin != "null" and urlsplit(origin).netloc != request.host:
        abort(403)


def send_strangers_to_sign_in() -> AnyResponse | None:
    """Every route is closed unless it is listed as open; an unknown address is said to be one."""
    if request.endpoint in STATION_ENDPOINTS:
        return None if g.phone else _phone_is_out()
    if g.coach or request.endpoint is None or request.endpoint in OPEN_ENDPOINTS:
        return None
    back = request.full_path.rstrip("?") if request.method in SAFE_METHODS else None
    if asked_by_script():
        abort(401)
    return redirect(url_for("accounts.sign_in", next=back), 303)


def asked_by_script() -> bool:
    """Whether the script at the apparatus asks: it is not led on, it could not see whereto."""
    return SCRIPT_HEADER in request.headers


def _phone_is_out() -> AnyResponse:
    if asked_by_script():
        abort(410)
    return redirect(url_for("station.enter", out=1), 303)


def own_address(address: str | None, otherwise: str) -> str:
    """The address where it is a page of ours, else ``otherwise``: nobody is led off this site."""
    if not address or not address.startswith("/") or address.startswith(("//", "/\\")):
        return otherwise
    if not address.isprintable() or "\\" in address or urlsplit(address).netloc:
        return otherwise
    return address


def add_headers(response: Response) -> Response:
    """The headers of OWASP ASVS 5.0.0, 3.4 and 14.3, on every answer."""
    headers = response.headers
    headers.extend(ALWAYS)
    # No endpoint: no such page, or led on to the right spelling of an address that may be a key.
    may_be_a_key = request.endpoint is None or request.endpoint in CAPABILITY_ENDPOINTS
    headers["Referrer-Policy"] = "no-referrer" if may_be_a_key else "same-origin"
    if request.endpoint != "static":
        headers["Cache-Control"] = "no-store"
        headers["X-Robots-Tag"] = "noindex"
    elif "v" in request.args:  # another version has another address
        headers["Cache-Control"] = f"public, max-age={ONE_YEAR_SECONDS}, immutable"
    if request.is_secure:
        headers["Strict-Transport-Security"] = f"max-age={ONE_YEAR_SECONDS}; includeSubDomains"
    return response
