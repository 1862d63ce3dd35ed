"""Cards: choosing whose, printing them, finding one by its code, withdrawing one."""

from collections.abc import Iterator, Mapping

from flask import Blueprint, flash, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.languages import printed_in
from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.in_hand import NeverIssued
from settingsdesk.desk.cards.issued import Need
from settingsdesk.desk.cards.read_off import PrintedElsewhere, read_off
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.in_use import withdrawals
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import athletes, choosing
from settingsdesk.desk.squad.choosing import Offer
from settingsdesk.domain.base.figures import lower_first
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.domain.settings.lengths_line import read_line
from settingsdesk.store.work import ClubSession
from settingsdesk.web.cards import paper_language
from settingsdesk.web.frame.fields import (
    AS_PRINTED,
    RadiosField,
    TickField,
    WordsField,
    number_of_a_row,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import coach, code_key, desk, work
from settingsdesk.web.hall.conversion_form import converting
from settingsdesk.web.squad.choosing import ChoosingForm, athletes_field
from settingsdesk.words.languages import NAMES

blueprint = Blueprint("cards", __name__, url_prefix="/cards")
blueprint.context_processor(for_templates)
paper_language.add_to(blueprint)

Page = str | Response | tuple[str, int]

LONGEST_TYPED = 300
"""Letters of a card's address as a hand-held reader types it."""

SIZES = [
    (Size.A6.value, "A6, one card on each page"),
    (Size.ID1.value, "Bank-card size (85.60 × 53.98 mm), ten on A4 with cut marks"),
    (Size.A4_SQUAD.value, "A6, four on A4 with cut marks"),
]


class PrintForm(ChoosingForm):
    """Whose cards, and how large."""

    who = athletes_field()
    size = RadiosField("Size", choices=SIZES, default=Size.A6.value)
    with_club = TickField("Print the club's name on the cards")


class CodeForm(DeskForm):
    """What a hand-held reader or a person types of a card: its address, short code or line."""

    code = WordsField(
        "Short code of a card, or its line of digits",
        ask="Enter the short code of the card, or its line of digits",
        width="w-16",
        most=LONGEST_TYPED,
        render_kw=AS_PRINTED,
    )


@blueprint.route("/", methods=["GET", "POST"])
def index() -> Page:
    """On which apparatus; or which card is this?"""
    form = CodeForm()
    with work() as session:
        pieces = apparatus.all_pieces(session)
        if form.accepted():
            with form.refusals(at=form.code):
                return redirect(_told_by(session, form.code.data), 303)
    page = render_template(
        "cards/index.html", form=form, pieces=pieces, printed_in=NAMES[coach().paper_language]
    )
    return page, form.status


@blueprint.route("/<int:apparatus_id>", methods=["GET", "POST"])
def choose(apparatus_id: int) -> Page:
    """Whose cards for an apparatus; issuing them is what the button does."""
    with work() as session:
        piece = apparatus.piece(session, apparatus_id)
        wanted = _preselected(session) if request.method == "GET" else []
        form = PrintForm(who=wanted, size=Size.A6.value)
        offer = choosing.for_kind(session, piece.model.kind, form.sought(), form.who.data or ())
        shown = {member.id: member.listed_name for member in offer.members}
        asked = remarks.ask_first(session, shown, piece.model.kind.key)
        # Whoever makes them has chosen: only the choice says who needs one.
        is_choice = request.method == "GET" or bool(form.names)
        needed = desk_issued.needed(session, code_key(), piece, offer.members) if is_choice else {}
    form.take(offer, why=_why(needed, offer))
    if form.names == "needed" or (request.method == "GET" and not wanted):
        form.who.data = list(needed)
    if not form.names and form.accepted():
        with form.refusals(), work(writes=True) as session:
            ticked = [member.id for member in offer.ticked]
            nameless = desk_issued.without_letters(session, ticked)
            # With nobody left, issuing refuses, and says why of the first.
            ids = [one for one in ticked if one not in nameless] or ticked
            desk_issued.issue(
                session,
                code_key(),
                apparatus_id,
                ids,
                with_club=bool(form.with_club.data),
            )
            for sentence in (*nameless.values(), *_no_card_for(session, piece, offer)):
                flash(sentence)
            return redirect(_address("cards.ready", apparatus_id, form.size.data or "", ids), 303)
    if not is_choice:
        with work() as session:
            needed = desk_issued.needed(session, code_key(), piece, offer.members)
        form.take(offer, why=_why(needed, offer))
    page = render_template(
        "cards/choose.html",
        form=form,
        piece=piece,
        reach=desk().reach,
        offer=offer,
        ask_first=[name for athlete_id, name in shown.items() if athlete_id in asked],
        needed=needed,
        nobody_has_one=_nobody_has_one(needed, offer),
    )
    return page, form.status


@blueprint.get("/<int:apparatus_id>/ready")
def ready(apparatus_id: int) -> str:
    """What was issued, and the file to print."""
    ids, size = _asked()
    with work() as session:
        piece = apparatus.piece(session, apparatus_id)
        issued = desk_issued.printed(session, code_key(), apparatus_id, ids)
    file = _address("cards.pdf", apparatus_id, size.value, ids)
    return render_template(
        "cards/ready.html",
        piece=piece,
        issued=issued,
        file=file,
        rotation_ids=_numbers("rotation"),
        reach=desk().reach,
    )


@blueprint.get("/<int:apparatus_id>/cards.pdf")
def pdf(apparatus_id: int) -> Response:
    """The cards as they were issued, as a file."""
    ids, size = _asked()
    with work() as session:
        issued = desk_issued.printed(session, code_key(), apparatus_id, ids)
    response = make_response(
        cards_pdf([CardGroup(tuple(issued))], size, printed_in(coach().paper_language))
    )
    response.headers["Content-Type"] = "application/pdf"
    response.headers["Content-Disposition"] = f'attachment; filename="cards-{size.value}.pdf"'
    return response


@blueprint.get("/athlete/<int:athlete_id>")
def of_athlete(athlete_id: int) -> str:
    """Every card of an athlete, and which of them count; one is marked that was looked for."""
    with work() as session:
        member = athletes.member(session, athlete_id)
        issued = desk_issued.of_athlete(session, athlete_id)
        outdated = in_hand.outdated_of(session, athlete_id)
        withdrawn = withdrawals(session)
    return render_template(
        "cards/of_athlete.html",
        member=member,
        issued=issued,
        outdated=outdated,
        found=request.args.get("found"),
        withdrawn=withdrawn,
    )


@blueprint.route("/withdraw/<card_id>", methods=["GET", "POST"])
def withdraw(card_id: str) -> Page:
    """Ask once more, then make the card's code open nothing any more."""
    with work(writes=request.method == "POST") as session:
        card = desk_issued.issued(session, card_id)
        member = athletes.member(session, card.athlete_id)
        if request.method == "POST":
            desk_issued.revoke(session, card_id)
            flash(f"Card version {card.version} of {member.listed_name} no longer works.")
            return redirect(url_for("cards.of_athlete", athlete_id=member.id), 303)
    return render_template("cards/withdraw.html", card=card, member=member)


def _told_by(session: ClubSession, typed: str) -> str:
    """Where the card that was typed is shown; of one that another desk printed, its lengths.

    Raises what is wrong with it, or ``PrintedElsewhere``.
    """
    shown = read_off(typed)
    if shown.code:
        try:
            card = in_hand.find(session, code_key(), shown.code)
            here = url_for("cards.of_athlete", athlete_id=card.athlete_id, found=card.id)
            return f"{here}#found"
        except NeverIssued as refusal:
            if not shown.line:
                raise PrintedElsewhere from refusal
    return converting(session, read_line(shown.line))


def _nobody_has_one(needed: Mapping[int, Need], offer: Offer) -> bool:
    return [*needed.values()] == [Need.LACKING] * len(offer.members)


def _why(needed: Mapping[int, Need], offer: Offer) -> dict[int, str]:
    """Why each needs a card, beside their names; nothing where it is true of all alike."""
    if _nobody_has_one(needed, offer):
        return {}
    return {number: need.value for number, need in needed.items()}


def _no_card_for(session: ClubSession, piece: Piece, offer: Offer) -> Iterator[str]:
    """Who of the groups whose cards are made has none, since no setting is entered.

    Of a rotation's cards nobody else is expected.
    """
    if _numbers("rotation"):
        return
    groups = {one.person.group_name for one in offer.ticked}
    lacking = choosing.lacking(session, piece.model.kind, groups)
    if lacking:
        names = "; ".join(member.listed_name for member in lacking)
        kind = lower_first(piece.model.kind.name)
        yield f"No card for {names}: no setting for {kind} is entered."


def _preselected(session: ClubSession) -> list[int]:
    """Who is ticked at first: a rotation's athletes, or those whom the address names."""
    rotation_ids = _numbers("rotation")
    if rotation_ids:
        return [member.id for member in desk_rotation.rotation(session, rotation_ids[0]).listed]
    return _numbers("athlete")


def _asked() -> tuple[list[int], Size]:
    sizes = {size.value: size for size in Size}
    return _numbers("athlete"), sizes.get(request.args.get("size", ""), Size.A6)


def _numbers(name: str) -> list[int]:
    """The numbers of that name in the address, less what is none that the desk ever gave."""
    return request.args.getlist(name, type=number_of_a_row)


def _address(endpoint: str, apparatus_id: int, size: str, athlete_ids: list[int]) -> str:
    return url_for(
        endpoint,
        apparatus_id=apparatus_id,
        size=size,
        athlete=athlete_ids,
        rotation=_numbers("rotation") or None,
    )
