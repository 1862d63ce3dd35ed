"""Who changed what: to read, never to change."""

from flask import Blueprint, render_template, request

from settingsdesk.desk.squad import record
from settingsdesk.desk.squad.record import AT_ONCE
from settingsdesk.web.frame.fields import number_of_a_row
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import work

blueprint = Blueprint("record", __name__)


@blueprint.get("/record")
def index() -> str:
    """The last changes; ``before`` is the number from which an older page goes on."""
    before = request.args.get("before", type=number_of_a_row)
    with work() as session:
        changes = record.latest(session, before)
    older = changes[-1].id if len(changes) == AT_ONCE else None
    return render_template("today/record.html", changes=changes, older=older, moment=moment)
