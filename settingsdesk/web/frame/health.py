"""Health: whether the desk can answer, for what watches it or stands in front of it."""

from flask import Blueprint, Response

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.migrate import is_current
from settingsdesk.web.frame.work import desk

blueprint = Blueprint("health", __name__)


@blueprint.get("/health")
def page() -> Response:
    """200 where the database answers and is of this version, else 503; a line of plain text.

    It says nothing of what the desk holds, begins no session, and is never kept.
    """
    try:
        well, words = is_current(desk().store), "the database is of another version"
    except SettingsDeskError:
        well, words = False, "the database does not answer"
    answer = Response(f"{'well' if well else words}\n", 200 if well else 503, mimetype="text/plain")
    answer.headers["Cache-Control"] = "no-store"
    return answer
