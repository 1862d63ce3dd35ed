"""The page behind a card's code: for whoever holds the card, with nothing more than it needs."""

from flask import Blueprint, make_response, render_template, request
from werkzeug.wrappers import Response

from settingsdesk.desk import cards
from settingsdesk.web.work import desk

blueprint = Blueprint("card", __name__)


@blueprint.get("/C/<code>")
def show(code: str) -> Response:
    """The setting in the marks of the apparatus asked for, and whether the card still counts."""
    seen = cards.scanned(desk().store, code, request.args.get("apparatus", type=int))
    response = make_response(render_template("card/show.html", seen=seen, code=code))
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response
