"""Checks at the apparatus: made item by item on a phone, and looked at afterwards."""

import secrets
from collections.abc import Mapping, Sequence

from flask import Blueprint, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import Field

from settingsdesk.cards.report import report_pdf
from settingsdesk.desk.checks import check_lists, checks, findings, parts, reports
from settingsdesk.desk.checks.checks import (
    Circumstances,
    ListChanged,
    LookedAtBefore,
    NotMadeYet,
)
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.photos import Photo
from settingsdesk.domain.checks.checks import (
    Answer,
    CheckItem,
    CheckList,
    EachByItself,
    Group,
    NoSuchItem,
    NotAnswered,
    NothingSaid,
    Occasion,
    Reply,
    occasion_of,
)
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.axis_fields import form_of
from settingsdesk.web.frame.done import tell
from settingsdesk.web.frame.fields import (
    CarriedField,
    ChecksField,
    DayField,
    ParagraphField,
    RadiosField,
    TickField,
    WordsField,
    number_carried,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.photo_fields import (
    held_field,
    let_wait,
    photo_field,
    photos_in,
)
from settingsdesk.web.frame.security import own_address
from settingsdesk.web.frame.work import coach, work

Page = str | Response | tuple[str, int]

blueprint = Blueprint("checks", __name__, url_prefix="/checks")
blueprint.context_processor(shown.for_templates)
blueprint.context_processor(
    lambda: {"occasions": list(Occasion), "today": today(), "Answer": Answer}
)


class CheckForm(DeskForm):
    """What a check holds besides its items; those are added when the list is known."""

    made_on = DayField("Made on")
    made_by = WordsField("Who made the check", width="w-16", ask="Enter who made the check")
    second_by = WordsField(
        "Who looked a second time",
        width="w-16",
        optional=True,
        description="Empty: the check is recorded as made alone.",
    )
    place = WordsField("Place", width="w-16", optional=True)
    address = WordsField("Address of who made it", most=160, optional=True)
    remark = ParagraphField("Remark on the whole check", optional=True)
    recheck = WordsField("What has to be looked at again", most=160, optional=True)
    recheck_on = DayField("Check it again by", optional=True)
    rest = TickField("")
    together = ChecksField("Answered together", optional=True)
    left = CarriedField()
    version = CarriedField()
    press = CarriedField()

    unanswered: frozenset[str] = frozenset()
    """The keys of the items that the page marks as not answered."""


@blueprint.get("/")
def index() -> str:
    """Every apparatus with its checks, the findings that are not released, the parts."""
    with work() as session:
        cares = checks.cares(session, apparatus.all_pieces(session))
        open_findings = findings.unreleased(session)
        stock = parts.all_parts(session)
    return render_template(
        "checks/index.html", cares=cares, open_findings=open_findings, stock=stock
    )


@blueprint.get("/apparatus/<int:apparatus_id>")
def of_apparatus(apparatus_id: int) -> str:
    """The checks of one apparatus: which to make, which were made."""
    with work() as session:
        piece = apparatus.piece(session, apparatus_id)
        care = checks.cares(session, [piece])[0]
        made = checks.checks_of(session, apparatus_id)
        found = findings.recent(session, apparatus_id=apparatus_id)
    return render_template(
        "checks/of_apparatus.html", piece=piece, care=care, made=made, findings=found
    )


@blueprint.route("/apparatus/<int:apparatus_id>/<occasion>", methods=["GET", "POST"])
def begin(apparatus_id: int, occasion: str) -> Page:
    """Make a check, item by item; then back to the run from which the coach came."""
    when = occasion_of(occasion)
    with work() as session:
        piece = apparatus.piece(session, apparatus_id)
        asked = check_lists.check_list(session, piece.model.kind.key, when)
        again = [recheck.item for recheck in checks.open_rechecks(session, apparatus_id)]
    items = (*asked.items, *again)
    form = _form(piece, asked, items)
    if request.method == "POST":
        names = {_photo(item): _held(item) for item in items}
        readable = form.accepted()
        photos = photos_in(form, names)
        if readable and not form.mistakes:
            done = _made(form, piece, asked, items, photos)
            if done is not None:
                return done
        let_wait(form, names, photos)
    page = render_template(
        "checks/begin.html",
        form=form,
        piece=piece,
        asked=asked,
        again=again,
        occasion=when,
        then=_then(),
        left=_untouched(form, asked) if form.left.data else [],
        edition=check_lists.shipped_edition(),
    )
    return page, form.status


@blueprint.get("/<int:check_id>")
def show(check_id: int) -> str:
    """A check as it was made."""
    with work() as session:
        check = checks.check(session, check_id)
        piece = apparatus.piece(session, check.apparatus_id)
    return render_template("checks/show.html", check=check, piece=piece)


@blueprint.get("/<int:check_id>.pdf")
def paper(check_id: int) -> Response:
    """The record of a check on paper, with a line to sign on."""
    with work() as session:
        report = reports.of_check(session, check_id)
    response = make_response(report_pdf(report))
    response.headers["Content-Type"] = "application/pdf"
    response.headers["Content-Disposition"] = f'attachment; filename="check-{check_id}.pdf"'
    return response


def _form(piece: Piece, asked: CheckList, items: Sequence[CheckItem]) -> CheckForm:
    fields: dict[str, Field] = {}
    for item in items:
        fields[_answer(item)] = RadiosField(
            item.words,
            choices=[(answer.value, answer.words) for answer in Answer],
            needed_at_times=True,
        )
        fields[_remark(item)] = ParagraphField("Remark", needed_at_times=True)
        fields[_photo(item)] = photo_field()
        fields[_held(item)] = held_field()
    known = {
        "made_on": today(),
        "made_by": coach().shown_name,
        "place": piece.place or coach().club_name,
        "version": str(asked.version),
        "press": secrets.token_urlsafe(16),
    }
    form = form_of(fields, CheckForm)(data=known)
    if asked.occasion.may_answer_together:
        form.together.offer(
            (group.value, f"All {len(items)} of these: seen and tried, OK")
            for group, items in asked.groups
            if not group.stops_use and len(items) > 1
        )
    return form


def _made(
    form: CheckForm,
    piece: Piece,
    asked: CheckList,
    items: Sequence[CheckItem],
    photos: Mapping[str, Photo],
) -> Response | None:
    """Keep the check and go to it; None where the form must be shown again.

    ``items`` are those of the list, and what is to be looked at again.
    """
    replies = _replies(form, items, photos)
    rest = bool(form.rest.data)
    left = set(_untouched(form, asked))
    if rest and not left <= set(form.left.data.split(",")):
        rest = False  # more is untouched than was shown when the tick was offered
    try:
        with work(writes=True) as session:
            check = checks.make_check(
                session,
                piece.id,
                asked.occasion,
                number_carried(form.version.data),
                replies,
                _circumstances(form),
                form.press.data or secrets.token_urlsafe(16),
                photos_of={
                    item.key: photos[_photo(item)] for item in items if _photo(item) in photos
                },
                rest_in_order=rest,
                together=[Group(key) for key in form.together.data or ()],
            )
    except NotAnswered as refusal:
        _ask_for_the_rest(form, asked, refusal)
    except NothingSaid as refusal:
        for item in refusal.items:
            _mistake(form, _remark(item), f"{item.words}: say what you saw")
    except (ListChanged, NoSuchItem, EachByItself) as refusal:
        form.form_errors.append(str(refusal))
        form.version.raw_data = [str(asked.version)]
    except NotMadeYet as refusal:
        _mistake(form, "made_on", str(refusal))
    except LookedAtBefore as refusal:
        _mistake(form, "recheck_on", str(refusal))
    else:
        _say(check, piece)
        return redirect(url_for("checks.show", check_id=check.id), 303)
    return None


def _ask_for_the_rest(form: CheckForm, asked: CheckList, refusal: NotAnswered) -> None:
    """Say what is open; in the routine, offer to put what nobody touched in order together."""
    _mistake(form, _answer(refusal.items[0]), str(refusal))
    form.unanswered = frozenset(item.key for item in refusal.items)
    if asked.occasion.may_answer_together:
        form.left.data = ",".join(_untouched(form, asked))
        form.left.raw_data = [form.left.data]
        form.rest.data = False


def _mistake(form: CheckForm, name: str, sentence: str) -> None:
    form[name].errors = [*form[name].errors, sentence]


def _replies(
    form: CheckForm, items: Sequence[CheckItem], photos: Mapping[str, Photo]
) -> dict[str, Reply]:
    """What was put beside each item, and beside items that are not asked about now."""
    replies = {
        item.key: Reply(
            Answer(form[_answer(item)].data) if form[_answer(item)].data else None,
            form[_remark(item)].data,
            photographed=_photo(item) in photos,
        )
        for item in items
    }
    known = {_answer(item) for item in items}
    for name, value in request.form.items():
        if name.startswith("answer-") and name not in known and value:
            replies[name.removeprefix("answer-")] = Reply(None)
    return replies


def _untouched(form: CheckForm, asked: CheckList) -> list[str]:
    """The keys of the items beside which nothing was put, and under which nothing was ticked."""
    return [
        item.key
        for item in asked.items
        if item.group.value not in (form.together.data or ())
        and not any(form[name(item)].data for name in (_answer, _remark, _photo, _held))
    ]


def _circumstances(form: CheckForm) -> Circumstances:
    return Circumstances(
        made_on=form.made_on.data or today(),
        place=form.place.data,
        made_by=form.made_by.data,
        second_by=form.second_by.data,
        address=form.address.data,
        remark=form.remark.data,
        recheck=form.recheck.data,
        recheck_on=form.recheck_on.data,
    )


def _then() -> str:
    """The run from which the coach came to make the check; empty for none."""
    return own_address(request.args.get("then"), otherwise="")


def _say(check: checks.Check, piece: Piece) -> None:
    to_the_run = ((then, "Back to the run"),) if (then := _then()) else ()
    if check.doubted:
        tell(
            f"The check is saved. {piece.name} is out of use until a coach releases it.",
            *to_the_run,
            (url_for("findings.report", apparatus_id=piece.id), "Report for the service company"),
        )
    else:
        tell(
            "The check is saved.",
            *to_the_run,
            (url_for("apparatus.show", apparatus_id=piece.id), f"Go to {piece.name}"),
            (url_for("today.index"), "Go to today"),
        )


def _answer(item: CheckItem) -> str:
    return f"answer-{item.key}"


def _remark(item: CheckItem) -> str:
    return f"remark-{item.key}"


def _photo(item: CheckItem) -> str:
    return f"photo-{item.key}"


def _held(item: CheckItem) -> str:
    return f"held-{item.key}"
