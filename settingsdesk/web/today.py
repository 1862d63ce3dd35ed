"""Today: what stands where, and the rotations of the day."""

from flask import Blueprint, render_template

from settingsdesk.desk import apparatus, rotations
from settingsdesk.desk.clock import today
from settingsdesk.web.work import work

blueprint = Blueprint("today", __name__)


@blueprint.get("/")
def index() -> str:
    """The apparatus with what stands on them now, and today's rotations."""
    with work() as session:
        pieces = apparatus.all_pieces(session)
        lines = [line for line in rotations.recent(session) if line.held_on == today()]
    return render_template("today/index.html", pieces=pieces, lines=lines, day=today())
