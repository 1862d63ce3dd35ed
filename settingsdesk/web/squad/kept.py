"""Everything that is kept about one athlete, for the family: a page, and the same as a file."""

import json

from flask import Blueprint, Response, render_template

from settingsdesk.desk.meets.kept_about import kept_about
from settingsdesk.web.frame.work import coach, work


def add_to(blueprint: Blueprint) -> None:
    """Add these pages to the room of the athletes."""
    blueprint.add_url_rule("/<int:athlete_id>/kept", view_func=kept)
    blueprint.add_url_rule("/<int:athlete_id>/kept.json", view_func=kept_file)


def kept(athlete_id: int) -> str:
    """To read aloud, or to print."""
    with work() as session:
        seen = kept_about(session, athlete_id)
    return render_template(
        "squad/kept.html", member=seen.member, parts=seen.parts(coach().length_unit)
    )


def kept_file(athlete_id: int) -> Response:
    """As a file, whose name says a number only."""
    with work() as session:
        told = kept_about(session, athlete_id).to_data()
    return Response(
        json.dumps(told, ensure_ascii=False, indent=1) + "\n",
        mimetype="application/json",
        headers={"Content-Disposition": f'attachment; filename="athlete-{athlete_id}.json"'},
    )
