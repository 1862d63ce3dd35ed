"""What was typed into a form whose token is no longer good, to be sent once more from its refusal.

Whoever types for long may be signed out meanwhile, here or from another device. Only what a page
of this desk sent is carried, as the browser says and no other site can: otherwise another site's
words would stand behind a button of ours. Secrets and files are not carried.
"""

from flask import g, request

from settingsdesk.web.frame.security import is_from_here
from settingsdesk.web.frame.who_may import OPEN_ENDPOINTS, STATION_ENDPOINTS

TOKEN = "csrf_token"  # noqa: S105 -- the name of the field
SECRET_ROOMS = frozenset({"accounts", "second_factor"})
"""Forms with passwords and codes of a device."""


def carried() -> list[tuple[str, str]] | None:
    """Name and value of each field of a coach's form; None where it has to be typed anew."""
    endpoint = request.endpoint
    if endpoint is None or endpoint in OPEN_ENDPOINTS | STATION_ENDPOINTS:
        return None
    if request.blueprint in SECRET_ROOMS or not is_from_here():
        return None
    if any(file.filename for file in request.files.values()):
        return None
    typed = [(name, value) for name, value in request.form.items(multi=True) if name != TOKEN]
    return typed or None


def is_signed_out() -> bool:
    """Whether nobody is signed in on this device any more."""
    return g.get("coach") is None
