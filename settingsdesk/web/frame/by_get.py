"""Where a browser's way back leads that comes to the answer of a form.

A form that was refused, a list that is looked at, a question before something is done: such pages
are answers to what was sent, and a browser that keeps nothing of ours cannot show one again
without sending it once more. The page says where its form stands, and ``static/answer.js`` has the
way back lead there. Without a script the browser asks before it sends anything again, and what is
confirmed counts once anyhow.
"""

from urllib.parse import urlsplit

from flask import current_app, request
from werkzeug.exceptions import HTTPException

from settingsdesk.web.frame.work import first_page


def by_get() -> str:
    """The address that shows what was answered: that of the form, or of the page it stood on."""
    if _can_be_shown(request.path):
        return f"{request.script_root}{request.full_path}".rstrip("?")
    try:
        came_from = urlsplit(request.referrer or "")
    except ValueError:  # a bracket that is not closed: no browser's
        return first_page()
    path = came_from.path.removeprefix(request.script_root)
    if came_from.netloc == request.host and _can_be_shown(path):
        return f"{request.script_root}{path}?{came_from.query}".rstrip("?")
    return first_page()


def _can_be_shown(path: str) -> bool:
    try:
        current_app.url_map.bind("").match(path, "GET")
    except HTTPException:
        return False
    return True
