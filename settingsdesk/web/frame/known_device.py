"""Devices that were let in before, known by a signed cookie which survives signing out.

Such a device is counted by itself where somebody tries in vain: nobody who guesses elsewhere keeps
it out (OWASP Cheat Sheet "Slow Down Online Guessing Attacks with Device Cookies"). The cookie lets
nobody in.
"""

import hmac
import secrets
from hashlib import sha256

from flask import after_this_request, current_app, request
from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug.wrappers import Response

from settingsdesk.web.frame.work import desk

KEPT_SECONDS = 400 * 24 * 3600
"""The longest that browsers keep a cookie; it is sent again with every sign-in."""
MOST_NAMES = 8


def known_as(name: str) -> str | None:
    """What this device is counted as, where it was let in under that name before."""
    number, names = _read()
    return f"device {number}" if number and _mark(name) in names else None


def know(name: str) -> None:
    """Know this device from now on as one that was let in under that name."""
    number, names = _read()
    marks = [_mark(name), *(one for one in names if one != _mark(name))]
    told = _serializer().dumps([number or secrets.token_hex(16), marks[:MOST_NAMES]])

    @after_this_request
    def send(response: Response) -> Response:
        config = current_app.config
        response.set_cookie(
            _cookie(),
            str(told),
            max_age=KEPT_SECONDS,
            secure=config["SESSION_COOKIE_SECURE"],
            httponly=True,
            samesite="Lax",
        )
        return response


def _read() -> tuple[str, list[str]]:
    try:
        number, names = _serializer().loads(request.cookies.get(_cookie(), ""))
    except (BadSignature, ValueError):
        return "", []
    return number, names


def _cookie() -> str:
    return f"{current_app.config['SESSION_COOKIE_NAME']}-device"


def _serializer() -> URLSafeSerializer:
    return URLSafeSerializer(desk().data.secret_key(), salt="known device")


def _mark(name: str) -> str:
    """A name as the cookie has it: whoever reads it on a shared computer learns no name."""
    return hmac.new(desk().data.secret_key(), f"device of {name}".encode(), sha256).hexdigest()[:20]
