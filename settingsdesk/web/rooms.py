"""The rooms of the house: every blueprint there is, and which of them the head of a page lists.

A room's first page has the endpoint ``<blueprint>.index``.
"""

from dataclasses import dataclass

from flask import Blueprint, request, url_for

from settingsdesk.web.accounts import accounts, clubs, invitation, people, second_factor
from settingsdesk.web.cards import card_page, remarks
from settingsdesk.web.cards import issued as web_issued
from settingsdesk.web.checks import check_lists, checks, findings, parts
from settingsdesk.web.frame import health, help_page
from settingsdesk.web.frame.who_may import may
from settingsdesk.web.hall import (
    apparatus,
    apparatus_sheets,
    calibrations,
    models,
    square,
    starters,
    usual_deviations,
)
from settingsdesk.web.hall import (
    conversions as web_conversions,
)
from settingsdesk.web.lists import away, coach_lists, guest_clubs, sheets
from settingsdesk.web.meet_day import cards as web_cards
from settingsdesk.web.meet_day import crew_sheets
from settingsdesk.web.meets import entries, meets, start_orders
from settingsdesk.web.rotations import rotation as web_rotation
from settingsdesk.web.rotations import searches
from settingsdesk.web.runs import learned_times
from settingsdesk.web.runs import run as web_run
from settingsdesk.web.squad import athletes, several, what_is_kept
from settingsdesk.web.stations import phone, stations
from settingsdesk.web.today import record, today

BLUEPRINTS: tuple[Blueprint, ...] = (
    accounts.blueprint,
    second_factor.blueprint,
    people.blueprint,
    clubs.blueprint,
    invitation.blueprint,
    health.blueprint,
    help_page.blueprint,
    athletes.blueprint,
    several.blueprint,
    what_is_kept.blueprint,
    apparatus.blueprint,
    apparatus_sheets.blueprint,
    calibrations.blueprint,
    square.blueprint,
    usual_deviations.blueprint,
    models.blueprint,
    starters.blueprint,
    learned_times.blueprint,
    web_conversions.blueprint,
    web_rotation.blueprint,
    crew_sheets.blueprint,
    web_run.blueprint,
    searches.blueprint,
    checks.blueprint,
    check_lists.blueprint,
    findings.blueprint,
    parts.blueprint,
    web_issued.blueprint,
    meets.blueprint,
    entries.blueprint,
    coach_lists.blueprint,
    guest_clubs.blueprint,
    away.blueprint,
    start_orders.blueprint,
    stations.blueprint,
    phone.blueprint,
    web_cards.blueprint,
    remarks.blueprint,
    card_page.blueprint,
    sheets.blueprint,
    record.blueprint,
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
    """The rooms that are open to who reads the page, in the order of the head."""
    open_rooms = ((f"{key}.index", name) for key, name in IN_THE_HEAD.items())
    addresses = {name: url_for(first) for first, name in open_rooms if may(first)}
    return [Room(name, address, _here(address)) for name, address in addresses.items()]


def _here(address: str) -> str:
    asked = request.script_root + request.path
    if asked == address:
        return "page"
    is_below = address != f"{request.script_root}/" and asked.startswith(address)
    return "true" if is_below else ""
