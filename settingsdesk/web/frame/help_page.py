"""Help: what each room is for, the words used, and the cautions. Open to everybody."""

from flask import Blueprint, render_template

blueprint = Blueprint("help", __name__)


@blueprint.get("/help")
def page() -> str:
    """The one page of help."""
    return render_template("frame/help.html")
