"""Who changed what: to read, never to change."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, render_template, request, url_for

from settingsdesk.desk.squad import record
from settingsdesk.desk.squad.record import AT_ONCE, Line
from settingsdesk.web.frame.fields import number_of_a_row
from settingsdesk.web.frame.shown import moment
from settingsdesk.web.frame.work import work

blueprint = Blueprint("record", __name__)

PAGES: Mapping[str, tuple[str, str]] = {
    "apparatus": ("apparatus.show", "apparatus_id"),
    "apparatus_check": ("checks.show", "check_id"),
    "apparatus_model": ("models.show", "model_id"),
    "finding": ("findings.show", "finding_id"),
    "meet": ("meets.show", "meet_id"),
    "part": ("parts.count", "part_id"),
    "rotation": ("rotations.show", "rotation_id"),
}
"""The page of one row of a table, and how it takes the number."""


@blueprint.get("/record")
def index() -> str:
    """The last changes; ``before`` is the number from which an older page goes on."""
    before = request.args.get("before", type=number_of_a_row)
    with work() as session:
        changes = record.latest(session, before)
    older = changes[-1].id if len(changes) == AT_ONCE else None
    return render_template(
        "today/record.html", changes=changes, older=older, moment=moment, leads_to=leads_to
    )


def leads_to(line: Line) -> str | None:
    """The page of what was changed, where it is one thing and has one."""
    if line.number is None:
        return None
    endpoint, number = PAGES[line.table]
    values: dict[str, Any] = {number: line.number}
    return url_for(endpoint, **values)
