"""The rooms of the desk: every blueprint there is, and which of them the head of a page lists.

A room's first page has the endpoint ``<blueprint>.index``.
"""

from dataclasses import dataclass

from flask import Blueprint, request, url_for

from settingsdesk.web import (
    accounts,
    apparatus,
    apparatus_sheets,
    athletes,
    bars,
    calibration,
    card,
    cards,
    check_lists,
    checks,
    coach_lists,
    convert,
    crew_sheets,
    entries,
    findings,
    help_page,
    meet_cards,
    meets,
    models,
    parts,
    remarks,
    rotations,
    searching,
    sheets,
    square,
    start_orders,
    station,
    stations,
    times,
    today,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    accounts.blueprint,
    help_page.blueprint,
    athletes.blueprint,
    apparatus.blueprint,
    apparatus_sheets.blueprint,
    calibration.blueprint,
    square.blueprint,
    models.blueprint,
    times.blueprint,
    convert.blueprint,
    rotations.blueprint,
    crew_sheets.blueprint,
    bars.blueprint,
    searching.blueprint,
    checks.blueprint,
    check_lists.blueprint,
    findings.blueprint,
    parts.blueprint,
    cards.blueprint,
    meets.blueprint,
    entries.blueprint,
    coach_lists.blueprint,
    start_orders.blueprint,
    stations.blueprint,
    station.blueprint,
    meet_cards.blueprint,
    remarks.blueprint,
    card.blueprint,
    sheets.blueprint,
    today.blueprint,
)

IN_THE_HEAD = {
    "today": "Today",
    "athletes": "Athletes",
    "apparatus": "Apparatus",
    "convert": "Convert",
    "rotations": "Rotations",
    "meets": "Meets",
    "checks": "Checks",
    "cards": "Cards",
    "sheets": "Sheets",
}


@dataclass(frozen=True, slots=True)
class Room:
    """A link in the head of the page.

    ``here`` is "page" on the room's first page, "true" on any other page below its address, and
    empty elsewhere: the words of ARIA's ``aria-current``.
    """

    name: str
    address: str
    here: str


def rooms() -> list[Room]:
    """The rooms in the order of the head."""
    addresses = {name: url_for(f"{key}.index") for key, name in IN_THE_HEAD.items()}
    return [Room(name, address, _here(address)) for name, address in addresses.items()]


def _here(address: str) -> str:
    asked = request.script_root + request.path
    if asked == address:
        return "page"
    is_below = address != f"{request.script_root}/" and asked.startswith(address)
    return "true" if is_below else ""
