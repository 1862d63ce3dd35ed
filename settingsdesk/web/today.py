"""The first page: where a day at the desk begins."""

from flask import Blueprint, render_template

blueprint = Blueprint("today", __name__)


@blueprint.get("/")
def index() -> str:
    """The ways on from here."""
    return render_template("today/index.html")
