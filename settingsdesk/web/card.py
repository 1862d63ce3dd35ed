"""The page behind a card's code: for whoever holds the card, with nothing more than it needs."""

from datetime import UTC, datetime

from flask import Blueprint, render_template, request

from settingsdesk.desk import cards
from settingsdesk.desk.cards import NoSuchCard
from settingsdesk.web.shown import day, moment
from settingsdesk.web.work import desk

blueprint = Blueprint("card", __name__)


@blueprint.get("/c/<code>", alias=True)
@blueprint.get("/C/<code>")
def show(code: str) -> str:
    """The setting in the marks of the apparatus asked for, and whether the card still counts.

    Codes carry capitals; whoever types the address in small letters is led to the same page.
    """
    seen = cards.scanned(desk().store, code, request.args.get("apparatus", type=int))
    looked_up = moment(datetime.now(UTC))
    return render_template("card/show.html", seen=seen, code=code, day=day, looked_up=looked_up)


@blueprint.errorhandler(NoSuchCard)
def opens_nothing(refusal: NoSuchCard) -> tuple[str, int]:
    """Never issued, withdrawn, or of somebody who has left: to whoever scans, all the same."""
    return render_template("card/none.html", sentence=str(refusal)), 404
