"""What is kept about athletes, in plain words: for families, and for whoever holds a card."""

from flask import Blueprint, g, render_template

from settingsdesk.desk.meets import retention
from settingsdesk.desk.meets.retention import Keeping
from settingsdesk.store.clubs import Club, all_clubs, club_by_id
from settingsdesk.web.frame.kept_log import KEPT_DAYS
from settingsdesk.web.frame.work import desk

blueprint = Blueprint("privacy", __name__)


@blueprint.get("/what-is-kept")
def page() -> str:
    """Open to everybody; with the days of the reader's club, or of the only one of this desk."""
    reader = g.get("coach") or g.get("phone")
    with desk().store.installation(writes=False) as session:
        clubs = [club_by_id(session, reader.club_id)] if reader else list(all_clubs(session))
    return shown(clubs[0] if len(clubs) == 1 else None)


def shown(club: Club | None, code: str = "") -> str:
    """The page of a club, or of none of them.

    Reached from a card, by its code, it does not name the club: whoever finds the card would know
    where its athlete trains.
    """
    keeping: Keeping | None = retention.keeping_of(club) if club else None
    return render_template(
        "squad/what_is_kept.html",
        club=club.name if club else "",
        keeping=keeping,
        code=code,
        log_days=KEPT_DAYS,
    )
