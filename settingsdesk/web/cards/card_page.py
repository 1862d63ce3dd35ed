"""The page behind a card's code: for whoever holds the card, with nothing more than it needs."""

from datetime import UTC, datetime
from math import ceil

from flask import (
    Blueprint,
    flash,
    g,
    make_response,
    redirect,
    render_template,
    request,
    session,
    url_for,
)
from markupsafe import Markup
from werkzeug.wrappers import Response

from settingsdesk.cards.fit import NoRoomOnCard
from settingsdesk.cards.languages import printed_in
from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.desk.accounts.failed_tries import REMARKS, TooManyAttempts, whence
from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.in_hand import (
    CardHasEnded,
    Holder,
    NoSuchCard,
    NotAWholeCode,
    ScannedCard,
)
from settingsdesk.desk.cards.remarks import (
    LONGEST_REMARK,
    NothingSaid,
    RemarkTooLong,
    TooManyRemarks,
)
from settingsdesk.desk.clock import today
from settingsdesk.desk.runs import run_list
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Counted, Day, Moment, Sentence
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.store.clubs import this_club
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.errors import page as error_page
from settingsdesk.web.frame.fields import ParagraphField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.language import language, said
from settingsdesk.web.frame.work import code_key, desk
from settingsdesk.web.squad import what_is_kept
from settingsdesk.web.stations.phone import card_at_the_station

blueprint = Blueprint("card", __name__)

Page = str | Response | tuple[str, int]

LOOKED_UP_HERE = Markup("<!-- looked up -->")
"""Where the time goes into a kept page; nobody's words can say it, since theirs are escaped."""


class NotOnPaper(SettingsDeskError):
    """The card cannot be printed here any more; how that comes is for the coach to know."""

    sentence = Sentence(
        "There is no file of this card: it says more than its paper has room for, or in letters"
        " that are not installed here. Its page says all of it; for one on paper ask the coach"
    )


class RemarkForm(DeskForm):
    """What is wrong, as whoever holds the card says it."""

    said = ParagraphField(
        Sentence("What is wrong?"), most=LONGEST_REMARK, ask=Sentence("Write what is wrong")
    )


@blueprint.get("/c/<code>", alias=True)
@blueprint.get("/C/<code>")
@blueprint.get("/C/<code>/<digits:line>")
def show(code: str, line: str = "") -> str:
    """The setting in the marks of the apparatus asked for, and whether the card still counts.

    The line of lengths behind the code is for other desks; here the code alone counts.

    Codes carry capitals; whoever types the address in small letters is led to the same page. To a
    phone that is in at a station, the station answers, unless the card's own page is asked for.

    The page is kept while nothing that it could show is written. Whether the code opens anything
    is looked up each time, since it may end by the clock alone.
    """
    if g.phone and "whole" not in request.args:
        return card_at_the_station(code, line)
    apparatus_id = request.args.get("apparatus", type=number_of_a_row)
    holder = in_hand.holder_of(desk().store, code)
    if session:  # a coach's frame, or something to be said once
        return _page(code, holder, apparatus_id, _now())
    question = ("card", code, apparatus_id, request.script_root, language(), today())
    page = desk().kept.answer(
        question,
        holder.revision.records,
        lambda: _page(code, holder, apparatus_id, LOOKED_UP_HERE),
    )
    return page.replace(LOOKED_UP_HERE, _now())


def _page(code: str, holder: Holder, apparatus_id: int | None, looked_up: str) -> str:
    with desk().store.work(holder.club_id, writes=False) as work:
        seen, is_stopped, ask_first = _seen(work, holder, apparatus_id)
        remarks_made = remarks.told_on_card(work, holder.card_id)
    return render_template(
        "cards/card_page/show.html",
        seen=seen,
        is_stopped=is_stopped,
        said=remarks_made,
        ask_first=ask_first,
        may_be_kept=_may_be_kept(seen, is_stopped=is_stopped, ask_first=ask_first),
        code=code,
        day=Day,
        moment=lambda at: Moment(at.astimezone()),
        looked_up=looked_up,
    )


def _seen(
    work: ClubSession, holder: Holder, apparatus_id: int | None
) -> tuple[ScannedCard, bool, bool]:
    """A card, whether the work at that apparatus is stopped, and whether a remark waits."""
    seen = in_hand.scanned(work, holder.card_id, apparatus_id)
    whose = desk_issued.issued(work, holder.card_id).athlete_id
    stopped = run_list.stopped_apparatus(work)
    asked = remarks.ask_first(work, [whose], seen.now.kind)
    return seen, seen.apparatus_id in stopped, bool(asked)


def _may_be_kept(seen: ScannedCard, *, is_stopped: bool, ask_first: bool) -> bool:
    """Whether its marks may be set: nobody keeps a file that is wrong from the beginning."""
    halted = is_stopped or bool(seen.withdrawn_since)
    return seen.current and not (halted or ask_first or seen.scratched or seen.open_raise)


@blueprint.get("/C/<code>/card.pdf")
def file(code: str) -> Response:
    """The family's copy: the card once more where it counts, in the language of who reads it.

    A PDF and not a page that is saved: it prints at its true size, with its square code, and no
    saved page looks for years like one that was just looked up. On it stand version and day, and
    whoever scans it learns whether it still counts. ``NotOnPaper`` where it cannot be printed.
    """
    holder = in_hand.holder_of(desk().store, code)
    with desk().store.work(holder.club_id, writes=False) as work:
        seen, is_stopped, ask_first = _seen(work, holder, None)
        card = in_hand.copy_of(work, code_key(), holder.card_id)
    if card is None or not _may_be_kept(seen, is_stopped=is_stopped, ask_first=ask_first):
        return redirect(url_for("card.show", code=code), 303)
    try:
        pdf = cards_pdf([CardGroup((card,))], Size.A6, printed_in(language().tag))
    except (CharacterNotInFont, NoRoomOnCard) as refusal:
        raise NotOnPaper from refusal
    response = make_response(pdf)
    response.headers["Content-Type"] = "application/pdf"
    response.headers["Content-Disposition"] = (
        f'attachment; filename="card-version-{card.version}.pdf"'
    )
    return response


def _now() -> str:
    return language().moment(datetime.now(UTC))


@blueprint.route("/C/<code>/remark", methods=["GET", "POST"])
def tell(code: str) -> Page:
    """Something is wrong: it reaches the coach, and changes nothing.

    On a page of its own, so that the card itself sets no cookie.
    """
    form = RemarkForm()
    holder = in_hand.holder_of(desk().store, code)
    if form.accepted():
        _count_remark(holder)
        with form.refusals(form.said, NothingSaid, RemarkTooLong, TooManyRemarks):
            remarks.receive(desk().store, code, form.said.data)
            flash(
                said(
                    Sentence(
                        "The coach can read it now. Until there is an answer, ask before you set by"
                        " it."
                    )
                )
            )
            return redirect(url_for("card.show", code=code), 303)
    with desk().store.work(holder.club_id, writes=False) as work:
        seen = in_hand.scanned(work, holder.card_id)
    return render_template(
        "cards/card_page/tell.html", form=form, code=code, seen=seen, day=Day
    ), form.status


@blueprint.get("/C/<code>/kept")
def kept(code: str) -> str:
    """What the card's club keeps about athletes."""
    holder = in_hand.holder_of(desk().store, code)
    with desk().store.work(holder.club_id, writes=False) as work:
        return what_is_kept.shown(this_club(work), code)


def _count_remark(holder: Holder) -> None:
    """Card by card: of a whole hall behind one address, nobody speaks for the others."""
    about = f"a remark about the card {holder.card_id}"
    try:
        desk().attempts.begin(about, whence(request.remote_addr), REMARKS)
    except TooManyAttempts as refusal:
        raise TooManyRemarksNow(refusal.wait_seconds) from refusal


@blueprint.errorhandler(NotOnPaper)
def is_not_on_paper(refusal: NotOnPaper) -> Response:
    """Said to a family, with the way back to all that the card says."""
    code = (request.view_args or {})["code"]
    return error_page(
        409, str(refusal), (url_for("card.show", code=code), Sentence("Back to the card"))
    )


@blueprint.errorhandler(NoSuchCard)
def opens_nothing(refusal: NoSuchCard) -> tuple[str, int]:
    """Never issued, withdrawn, ended, or of somebody who has left."""
    sentence = str(refusal)
    if isinstance(refusal, CardHasEnded) and _is_of_the_past(refusal):
        sentence = Sentence(
            "Nothing to do: the meet of this card is over. It counted until %(counted_until)s",
            counted_until=Day(refusal.counted_until),
        )
    is_whole = not isinstance(refusal, NotAWholeCode)
    return render_template("cards/card_page/none.html", sentence=sentence, is_whole=is_whole), 404


def _is_of_the_past(refusal: CardHasEnded) -> bool:
    holder = refusal.holder
    if holder is None:
        return False
    with desk().store.work(holder.club_id, writes=False) as work:
        return in_hand.meet_is_over(work, holder.card_id)


class TooManyRemarksNow(TooManyAttempts):
    """More remarks about one card than anybody has to make."""

    def __str__(self) -> str:
        minutes = ceil(self.wait_seconds / 60)
        return Counted(
            "Many remarks about this card came in a short time. Wait 1 minute, or tell the coach by"
            " word of mouth",
            "Many remarks about this card came in a short time. Wait %(count)s minutes, or tell the"
            " coach by word of mouth",
            minutes,
        )
