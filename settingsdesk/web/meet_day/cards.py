"""The cards of a meet: which, in which order, and the one file to print them from."""

from collections.abc import Sequence
from typing import TypeVar

from flask import Blueprint, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from settingsdesk.cards.languages import printed_in
from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.desk.cards import remarks
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day import printed_papers
from settingsdesk.desk.meet_day.cards import Choice, Grouping
from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.store.work import ClubSession
from settingsdesk.web.cards.issued import SIZES
from settingsdesk.web.frame.fields import ChecksField, RadiosField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import coach, code_key, desk, work

blueprint = Blueprint("meet_cards", __name__, url_prefix="/meets/<int:meet_id>/cards")
blueprint.context_processor(for_templates)

Page = str | Response | tuple[str, int]
Chosen = TypeVar("Chosen", int, str)

ORDERS = [
    (Grouping.BY_START.value, "By session, rotation and start number"),
    (Grouping.BY_CLUB.value, "By club"),
]


class PrintForm(DeskForm):
    """Which cards of the meet, in which order, and how large."""

    grouping = RadiosField("Order", choices=ORDERS, default=Grouping.BY_START.value)
    apparatus = ChecksField("Apparatus", read_choice=int, ask="Choose at least one apparatus")
    clubs = ChecksField("Clubs", ask="Choose at least one club")
    size = RadiosField("Size", choices=SIZES, default=Size.ID1.value)


@blueprint.route("", methods=["GET", "POST"])
def choose(meet_id: int) -> Page:
    """Which cards; making them is what the button does."""
    with work() as session:
        meet = meets.meet(session, meet_id)
        entrants = entries.entrants(session, meet_id)
    clubs = list(dict.fromkeys(entrant.from_club for entrant in entrants if entrant.is_in))
    pieces = [(stands.piece.id, stands.piece.name) for stands in meet.pieces]
    form = PrintForm(
        grouping=Grouping.BY_START.value,
        apparatus=[number for number, _ in pieces],
        clubs=clubs,
        size=Size.ID1.value,
    )
    form.apparatus.offer(pieces)
    form.clubs.offer([(club, club or "No club named") for club in clubs])
    if form.accepted():
        choice = Choice(
            Grouping(form.grouping.data),
            _some(form.apparatus.data, [number for number, _ in pieces]),
            _some(form.clubs.data, clubs),
        )
        with form.refusals(), work(writes=True) as session:
            made = desk_cards.issue(session, code_key(), meet_id, choice)
            address = _address("meet_cards.pdf", meet_id, choice, form.size.data or "")
            return render_template(
                "meet_day/cards/ready.html",
                meet=meet,
                made=made,
                file=address,
                again=url_for("meet_cards.choose", meet_id=meet_id),
                reach=desk().reach,
            )
    with work() as session:
        old = desk_cards.changed(session, meet, entrants)
        asked = _ask_first(session, meet, entrants)
    return (
        render_template(
            "meet_day/cards/choose.html",
            form=form,
            meet=meet,
            reach=desk().reach,
            clubs=clubs,
            changed=old,
            changed_numbers=" ".join(_told(printed.numbers) for printed in old),
            ask_first=asked,
        ),
        form.status,
    )


@blueprint.get("/cards.pdf")
def pdf(meet_id: int) -> Response:
    """The cards as they were issued, as one file."""
    choice, size = _asked()
    with work() as session:
        made = desk_cards.printed(session, code_key(), meet_id, choice)
    groups = [CardGroup(cards, heading) for heading, cards in made.groups]
    response = make_response(cards_pdf(groups, size, printed_in(coach().paper_language)))
    response.headers["Content-Type"] = "application/pdf"
    name = f"meet-cards-{size.value}.pdf"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@blueprint.post("/changed")
def changed(meet_id: int) -> Response:
    """The cards that the page named as changed since they were made, anew, and no others."""
    named = tuple(map(_numbers, request.form.get("cards", "").split()))
    choice = Choice(Grouping.BY_CLUB, cards=named)
    with work(writes=True) as session:
        desk_cards.issue(session, code_key(), meet_id, choice)
    return redirect(_address("meet_cards.pdf", meet_id, choice, Size.ID1.value), 303)


@blueprint.route("/outdated", methods=["GET", "POST"])
def outdated(meet_id: int) -> Page:
    """Cards and crew sheets that say other than what counts now; one press makes them anew."""
    if request.method == "POST":
        with work(writes=True) as session:
            made = printed_papers.renew(session, code_key(), meet_id)
        files = {}
        if made.cards:
            card_file = _address("meet_cards.pdf", meet_id, made.cards, Size.ID1.value)
            files["Cards (PDF)"] = card_file
        if made.rotation_ids:
            sheet_file = url_for("crew_sheets.some_pdf", rotation=made.rotation_ids)
            files["Crew sheets (PDF)"] = sheet_file
        return render_template("meet_day/cards/renewed.html", meet=made.meet, files=files)
    with work() as session:
        old = printed_papers.outdated(session, meet_id)
    return render_template("meet_day/cards/outdated.html", meet=old.meet, old=old)


@blueprint.post("/entries/<int:entry_id>")
def anew(meet_id: int, entry_id: int) -> Response:
    """The cards of one entry anew, for every apparatus of the meet."""
    choice = Choice(Grouping.BY_CLUB, entry_ids=(entry_id,))
    with work(writes=True) as session:
        desk_cards.issue(session, code_key(), meet_id, choice)
    return redirect(_address("meet_cards.pdf", meet_id, choice, Size.A6.value), 303)


def _ask_first(session: ClubSession, meet: Meet, entrants: Sequence[Entrant]) -> list[str]:
    """Who of those that come is to be asked about first, on whichever of the meet's apparatus."""
    coming = {one.member.id: one.member.listed_name for one in entrants if one.is_in}
    kinds = {stands.piece.model.kind.key for stands in meet.pieces}
    asked = remarks.ask_first(session, coming, *sorted(kinds))
    return [name for one, name in coming.items() if one in asked]


def _some(
    chosen: Sequence[Chosen] | None, everything: Sequence[Chosen]
) -> tuple[Chosen, ...] | None:
    """What was chosen, or None where that is everything: the address stays short."""
    return None if list(chosen or ()) == list(everything) else tuple(chosen or ())


def _asked() -> tuple[Choice, Size]:
    told = request.args
    sizes = {size.value: size for size in Size}
    orders = {grouping.value: grouping for grouping in Grouping}
    choice = Choice(
        orders.get(told.get("order", ""), Grouping.BY_START),
        tuple(told.getlist("apparatus", type=number_of_a_row)) or None,
        tuple(told.getlist("club")) if "club" in told else None,
        tuple(told.getlist("entry", type=number_of_a_row)) or None,
        tuple(map(_numbers, told.getlist("card"))) or None,
    )
    return choice, sizes.get(told.get("size", ""), Size.ID1)


def _numbers(told: str) -> tuple[int, int]:
    """The numbers of a card's apparatus and entry: "1-17"; nobody's where it is no such pair."""
    apparatus, _, entry = told.partition("-")
    try:
        return number_of_a_row(apparatus), number_of_a_row(entry)
    except ValueError:
        return 0, 0


def _told(numbers: tuple[int, int]) -> str:
    """The same as an address and a form carry it."""
    return f"{numbers[0]}-{numbers[1]}"


def _address(endpoint: str, meet_id: int, choice: Choice, size: str) -> str:
    return url_for(
        endpoint,
        meet_id=meet_id,
        order=choice.grouping.value,
        apparatus=choice.apparatus_ids,
        club=choice.clubs,
        entry=choice.entry_ids,
        card=[_told(numbers) for numbers in choice.cards or ()],
        size=size,
    )
