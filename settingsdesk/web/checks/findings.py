"""Findings: what is wrong with an apparatus, step by step until it is released."""

import secrets
from collections.abc import Iterable

from flask import Blueprint, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.report import report_pdf
from settingsdesk.desk.checks import findings, reports
from settingsdesk.desk.checks.findings import Finding
from settingsdesk.desk.hall import apparatus, photos
from settingsdesk.desk.runs import run_list
from settingsdesk.domain.checks.findings import ReasonMissing, Step, step_of
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import (
    CarriedField,
    ParagraphField,
    RadiosField,
    WordsField,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.photo_fields import (
    held_field,
    let_wait,
    photo_field,
    photos_in,
)
from settingsdesk.web.frame.work import work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("findings", __name__, url_prefix="/findings")
blueprint.context_processor(shown.for_templates)
blueprint.context_processor(lambda: {"Step": Step})

PHOTO = {"photo": "held"}


class NewFindingForm(DeskForm):
    """What somebody saw outside a check."""

    words = WordsField(
        "What you saw",
        most=findings.MOST_LETTERS_OF_A_HEADING,
        ask="Enter what you saw, and where on the apparatus",
    )
    withdraws = RadiosField(
        "What follows",
        choices=[
            ("yes", "Take it out of use, at once"),
            ("no", "Only note it: it can be used without danger"),
        ],
        ask="Choose what follows. When in doubt, out of use",
    )
    remark = ParagraphField("Anything else about it", optional=True)
    photo = photo_field()
    held = held_field()
    press = CarriedField()


def _choices(steps: Iterable[Step]) -> list[tuple[str, str]]:
    return [(step.value, step.words) for step in steps]


class StepForm(DeskForm):
    """The next step. Any can be sent: which may follow is for the desk to say."""

    step = RadiosField("It is now", choices=_choices(Step), ask="Choose what it is now")
    remark = ParagraphField(
        "Remark",
        needed_at_times=True,
        description="To whom it was reported, what was done. For a release: the reason.",
    )
    photo = photo_field()
    held = held_field()


@blueprint.get("/")
def index() -> str:
    """What is not released yet, and what was."""
    with work() as session:
        left = findings.unreleased(session)
        over = [finding for finding in findings.recent(session) if finding.is_over]
    return render_template("checks/findings/index.html", left=left, over=over)


@blueprint.route("/apparatus/<int:apparatus_id>/new", methods=["GET", "POST"])
def new(apparatus_id: int) -> Page:
    """Report a fault, and withdraw the apparatus where it is unsafe or in doubt."""
    with work() as session:
        piece = apparatus.piece(session, apparatus_id)
    asked = {"words": findings.brief(request.args.get("words", ""))}
    form = NewFindingForm(data={**asked, "press": secrets.token_urlsafe(16)})
    if request.method == "POST":
        readable, sent = form.accepted(), photos_in(form, PHOTO)
        if readable and not form.mistakes:
            with form.refusals(at=form.words), work(writes=True) as session:
                found = findings.add_finding(
                    session,
                    apparatus_id,
                    form.words.data,
                    withdraws=form.withdraws.data == "yes",
                    press_key=form.press.data or secrets.token_urlsafe(16),
                    remark=form.remark.data,
                    photo=sent.get("photo"),
                )
                _say_opened(found)
                return redirect(url_for("findings.show", finding_id=found.id), 303)
        let_wait(form, PHOTO, sent)
    return render_template("checks/findings/new.html", form=form, piece=piece), form.status


@blueprint.route("/<int:finding_id>", methods=["GET", "POST"])
def show(finding_id: int) -> Page:
    """A finding with its life, and its next step."""
    with work() as session:
        found = findings.finding(session, finding_id)
        seen = findings.seen_again(session, finding_id)
        runs = run_list.under_way(session) if found.keeps_out_of_use else []
    form = StepForm()
    if request.method == "POST":
        readable, sent = form.accepted(), photos_in(form, PHOTO)
        if readable and not form.mistakes:
            # A step that lies behind has a page of its own: somebody was here in the meantime.
            with form.refusals(form.remark, ReasonMissing), work(writes=True) as session:
                changed = findings.take_step(
                    session,
                    finding_id,
                    step_of(form.step.data or ""),
                    form.remark.data,
                    sent.get("photo"),
                )
                _say_taken(session, changed)
                return redirect(url_for("findings.show", finding_id=finding_id), 303)
        let_wait(form, PHOTO, sent)
    form.step.offer(_choices(found.next_steps))
    page = render_template(
        "checks/findings/show.html",
        found=found,
        seen=seen,
        under_way=next((run for run in runs if run.apparatus_id == found.apparatus_id), None),
        form=form,
    )
    return page, form.status


@blueprint.get("/apparatus/<int:apparatus_id>/report")
def report(apparatus_id: int) -> str:
    """All that the service company needs about one apparatus."""
    with work() as session:
        told = reports.of_apparatus(session, apparatus_id)
        piece = apparatus.piece(session, apparatus_id)
    return render_template("checks/findings/report.html", told=told, piece=piece)


@blueprint.get("/apparatus/<int:apparatus_id>/report.pdf")
def report_paper(apparatus_id: int) -> Response:
    """The same on paper, with a line to sign on."""
    with work() as session:
        told = reports.of_apparatus(session, apparatus_id)
    response = make_response(report_pdf(told))
    response.headers["Content-Type"] = "application/pdf"
    response.headers["Content-Disposition"] = f'attachment; filename="report-{apparatus_id}.pdf"'
    return response


@blueprint.get("/photos/<int:photo_id>")
def photo(photo_id: int) -> Response:
    """A photo of the club's, as the desk encoded it."""
    with work() as session:
        kept = photos.kept_photo(session, photo_id)
    response = make_response(kept.content)
    response.headers["Content-Type"] = photos.MEDIA_TYPE
    response.headers["Content-Disposition"] = f'inline; filename="photo-{photo_id}.jpg"'
    return response


def _say_taken(session: ClubSession, changed: Finding) -> None:
    """And where the work waits there all the same, that it is another page which lets it go on."""
    words = f"The finding is {changed.state.value}."
    held_up = run_list.held_up(session) if changed.is_over else {}
    waits = [one for one in run_list.under_way(session) if one.id in held_up] if held_up else []
    for run in waits:
        if run.apparatus_id == changed.apparatus_id:
            address = url_for("bars.show", run_id=run.id)
            words += " The work there is stopped still, until a coach says there that it goes on."
            tell(words, (address, "To the work that is stopped"))
            return
    tell(words)


def _say_opened(found: Finding) -> None:
    words = "The finding is on record."
    if found.withdraws:
        words += f" {found.apparatus} is out of use until a coach releases it."
    address = url_for("findings.report", apparatus_id=found.apparatus_id)
    tell(words, (address, "Report for the service company"))
