"""How much a request may bring, by what it asks for: known before anything of it is kept.

The server asks as soon as it has read a request's head, the application once more before it reads
the form. A stranger can send no file anywhere, and no more than a few typed lines.
"""

from typing import Any

from flask import Flask, abort, request, session
from werkzeug.exceptions import HTTPException

from settingsdesk.web.frame.who_may import OPEN_ENDPOINTS, SAFE_METHODS, STATION_ENDPOINTS

MOST_REQUEST_BYTES = 12 * 1024 * 1024
"""The largest file that is taken in, with its form."""

MOST_PHOTO_FORM_BYTES = 60_000_000
"""Of one form with all its photos."""

MOST_FORM_BYTES = 1024 * 1024
"""The most that the typed fields of one form may hold together."""

MOST_OF_A_STRANGER_BYTES = 64 * 1024
"""A remark on a card has 1000 letters, a sign-in two lines."""

MOST_FIELDS = 10_000
"""Of one form: the longest of ours has a few fields for each of 400 people."""

FILE_ENDPOINTS = frozenset(
    {
        "apparatus_sheets.send",
        "coach_lists.send",
        "sheets.index",
        "start_orders.edit",
        "start_orders.new",
    }
)
"""Whose forms carry a sheet or a list."""

PHOTO_ENDPOINTS = frozenset({"checks.begin", "findings.new", "findings.show", "models.read_at"})
"""Whose forms carry photos."""


def most_bytes(endpoint: str | None, *, signed_in: bool) -> int:
    """How much may be sent to an endpoint; None is an address that is not there."""
    is_for_strangers = endpoint in OPEN_ENDPOINTS or endpoint in STATION_ENDPOINTS
    if endpoint is None or is_for_strangers or not signed_in:
        return MOST_OF_A_STRANGER_BYTES
    if endpoint in PHOTO_ENDPOINTS:
        return MOST_PHOTO_FORM_BYTES
    if endpoint in FILE_ENDPOINTS:
        return MOST_REQUEST_BYTES
    return MOST_FORM_BYTES


def most_bytes_of(app: Flask, environ: dict[str, Any]) -> int:
    """The same for a request of which only the head is there.

    That its cookie is signed is enough: whether the sign-in has ended is looked up by the page.
    """
    asked = app.request_class(environ)
    try:
        endpoint, _ = app.url_map.bind_to_environ(environ).match()
    except HTTPException:
        return MOST_OF_A_STRANGER_BYTES
    known = app.session_interface.open_session(app, asked)
    return most_bytes(endpoint, signed_in=known is not None and "stamp" in known)


def bound_body() -> None:
    """Before anything reads the form: how much of it, and of how many fields."""
    if request.method in SAFE_METHODS:
        return
    allowed = most_bytes(request.endpoint, signed_in="stamp" in session)
    request.max_content_length = allowed
    if request.mimetype == "application/x-www-form-urlencoded":
        request.max_content_length = min(allowed, MOST_FORM_BYTES)
        if request.get_data().count(b"&") >= MOST_FIELDS:
            abort(413)
