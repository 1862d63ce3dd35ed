"""How much of what takes long, or is open to everybody, is asked for at a time.

A reader of a card leaves no trace in the database: what is counted is counted in memory.
"""

from flask import request, session
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts.failed_tries import whence
from settingsdesk.domain.base.sentences import Counted, Sentence
from settingsdesk.web.frame.bare_page import bare_page
from settingsdesk.web.frame.bodies import FILE_ENDPOINTS
from settingsdesk.web.frame.language import language
from settingsdesk.web.frame.paces import Kind, Pace
from settingsdesk.web.frame.who_may import SAFE_METHODS
from settingsdesk.web.frame.work import desk

HEADING = Sentence("Wait a little")


CARDS = Kind("cards", Pace(400, 20), Pace(1500, 100))
"""What a card's or a station's code opens, for whoever holds it.

A hall has one address. 200 spectators who all scan two cards in the same moment are let through
at once, and each may then look at another one every ten seconds for as long as they like. Five
such halls fill the 100 a second of all, which keep a third of one processor busy.
"""

PAPERS = Kind("papers", Pace(200, 1), Pace(400, 2))
"""PDF and XLSX: drawn anew each time, for a tenth of a second and more."""

COPIES = Kind("copies", Pace(60, 0.2), Pace(200, 1))
"""A family's copy of its card: drawn anew each time as papers are, and open to strangers, so that
it is counted by itself and nobody waits for a crew sheet because of it."""

SHEETS = Kind("sheets", Pace(200, 0.5), Pace(400, 1))
"""Sheets, lists and start orders that are sent in: a large meet brings a hundred in an evening."""

CARD_ENDPOINTS = frozenset({"card.show", "card.tell", "station.scanned"})
PAPER_ENDPOINTS = frozenset(
    {
        "cards.pdf",
        "checks.paper",
        "crew_sheets.pdf",
        "crew_sheets.session_pdf",
        "crew_sheets.session_xlsx",
        "crew_sheets.some_pdf",
        "crew_sheets.xlsx",
        "findings.report_paper",
        "meet_cards.pdf",
        "rotations.paper",
        "sheets.squad_as_csv",
        "sheets.squad_as_xlsx",
        "sheets.template_as_xlsx",
    }
)


def refuse_too_much() -> Response | None:
    """Before anything is looked up: refuse what is asked for too often."""
    kind = _kind()
    if kind is None:
        return None
    stamp = session.get("stamp") or session.get("station")
    # Who works in the hall is not kept waiting by those who look on.
    is_at_work = kind is CARDS and stamp is not None
    client = f"stamp {stamp}" if stamp else whence(request.remote_addr)
    seconds = desk().load.take(kind, client, of_all=not is_at_work)
    if not seconds:
        return None
    wait = [("Retry-After", str(seconds))]
    return bare_page(429, HEADING, _sentence(kind, seconds), wait, language())


def _kind() -> Kind | None:
    endpoint = request.endpoint
    if endpoint in CARD_ENDPOINTS:
        return CARDS
    if endpoint in PAPER_ENDPOINTS:
        return PAPERS
    if endpoint == "card.file":
        return COPIES
    if endpoint in FILE_ENDPOINTS and request.method not in SAFE_METHODS:
        return SHEETS
    return None


def _sentence(kind: Kind, seconds: int) -> Sentence:
    if kind is CARDS:
        return Counted(
            "Very many cards are being looked up just now. Wait 1 second, then load the page"
            " again. What is printed on the card can be used meanwhile.",
            "Very many cards are being looked up just now. Wait %(count)s seconds, then load the"
            " page again. What is printed on the card can be used meanwhile.",
            seconds,
        )
    return Counted(
        "Very many papers and sheets were asked for just now. Wait 1 second, go back, and try once"
        " more.",
        "Very many papers and sheets were asked for just now. Wait %(count)s seconds, go back, and"
        " try once more.",
        seconds,
    )
