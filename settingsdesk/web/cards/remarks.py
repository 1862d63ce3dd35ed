"""What holders of cards say is wrong, and the coach's answers."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.desk.cards import remarks
from settingsdesk.desk.cards.remarks import LONGEST_REMARK
from settingsdesk.web.frame.fields import ParagraphField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import work

blueprint = Blueprint("remarks", __name__, url_prefix="/remarks")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]


class AnswerForm(DeskForm):
    """What is answered; the holder of the card reads it on the card's page."""

    words = ParagraphField("Answer", most=LONGEST_REMARK, ask="Write the answer")


@blueprint.get("/")
def index() -> str:
    """What nobody has answered yet, the oldest first."""
    with work() as session:
        waiting = remarks.unanswered(session)
    return render_template("cards/remarks/index.html", waiting=waiting)


@blueprint.route("/<int:remark_id>", methods=["GET", "POST"])
def answer(remark_id: int) -> Page:
    """One remark, what was said before, and the answer to it."""
    form = AnswerForm()
    with work() as session:
        remark = remarks.remark(session, remark_id)
        earlier = [
            said for said in remarks.of_athlete(session, remark.member.id) if said.id != remark_id
        ]
    if form.accepted():
        with form.refusals(form.words), work(writes=True) as session:
            remarks.answer(session, remark_id, form.words.data)
            flash("The answer stands on the card's page now.")
            return redirect(url_for("remarks.index"), 303)
    page = render_template("cards/remarks/answer.html", remark=remark, earlier=earlier, form=form)
    return page, form.status
