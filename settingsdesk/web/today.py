"""Today: the rotations of the day, and what stands where."""

from flask import Blueprint, render_template

from settingsdesk.desk import apparatus, rotations
from settingsdesk.desk.clock import local_date, today
from settingsdesk.web.shown import day
from settingsdesk.web.work import work

blueprint = Blueprint("today", __name__)


@blueprint.get("/")
def index() -> str:
    """Today's rotations, and the apparatus with what stands on them now."""
    with work() as session:
        pieces = apparatus.all_pieces(session)
        lines = rotations.on_day(session, today())
    return render_template(
        "today/index.html",
        pieces=pieces,
        lines=lines,
        today=today(),
        day=day,
        local_date=local_date,
    )
