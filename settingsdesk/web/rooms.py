"""The rooms of the desk: every blueprint there is, and which of them the head of a page lists.

A room's first page has the endpoint ``<blueprint>.index``.
"""

from dataclasses import dataclass

from flask import Blueprint, Flask, request, url_for

from settingsdesk.web import (
    accounts,
    apparatus,
    athletes,
    calibration,
    card,
    cards,
    convert,
    help_page,
    models,
    rotations,
    sheets,
    today,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    accounts.blueprint,
    help_page.blueprint,
    athletes.blueprint,
    apparatus.blueprint,
    calibration.blueprint,
    models.blueprint,
    convert.blueprint,
    rotations.blueprint,
    cards.blueprint,
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
    "cards": "Cards",
    "sheets": "Sheets",
}


@dataclass(frozen=True, slots=True)
class Room:
    """A link in the head of the page; ``here`` where this page is in it."""

    name: str
    address: str
    here: bool


def rooms(app: Flask) -> list[Room]:
    """The rooms in the order of the head."""
    return [
        Room(name, url_for(f"{key}.index"), request.blueprint == key)
        for key, name in IN_THE_HEAD.items()
        if key in app.blueprints
    ]
