"""How to ask for every page: of some, with more than the numbers in their address."""

from collections.abc import Callable
from urllib.parse import urlsplit

from werkzeug.routing import Rule

from tests.web.every_press import (
    apparatus_sheet,
    late,
    list_of_meet,
    list_of_squad,
    searching,
    sheet,
)
from tests.web.everybody import Hall, named


def address_of(hall: Hall, rule: Rule) -> str:
    """Where to ask for a page."""
    name = named(rule)
    if name in ADDRESSES:
        return ADDRESSES[name](hall)
    question = QUESTIONS.get(name)
    return hall.desk.address(rule) + (f"?{question}" if question else "")


ADDRESSES: dict[str, Callable[[Hall], str]] = {
    "apparatus_sheets.look": lambda hall: apparatus_sheet(hall).address,
    "athletes.squad_mates": lambda hall: "/athletes/13/settings/2/squad-mates",
    "bars.late": lambda hall: late(hall).address,
    "card.file": lambda hall: f"{urlsplit(hall.meet_card).path}/card.pdf",  # nothing is asked of it
    "coach_lists.look": lambda hall: list_of_meet(hall).address,
    "crew_sheets.some_pdf": lambda hall: f"/crew-sheets/some.pdf?rotation={hall.order_id}",
    "coach_lists.look: squad": lambda hall: list_of_squad(hall).address,
    "searching.look": searching,
    "coach_lists.look: ours": lambda hall: sheet(hall).address,
    "station.scanned": lambda hall: f"/S/{hall.station_code}",
    "static": lambda hall: "/static/station.css",
}
"""Pages whose address is not made of the numbers on the desk alone."""

QUESTIONS: dict[str, str] = {
    "apparatus_sheets.file": "hall=Main&apparatus=1&apparatus=2",
    "apparatus_sheets.show": "hall=Main&apparatus=1&apparatus=2",
    "athletes.marks": "on=apparatus-1",
    "athletes.squad": "model=1",
    "cards.pdf": "athlete=1&athlete=2",
    "cards.ready": "athlete=1&athlete=2",
    "convert.index": "from=apparatus-1&what=lengths",
}
"""What is asked of a page behind its address."""
