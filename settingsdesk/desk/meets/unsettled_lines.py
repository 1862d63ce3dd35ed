"""What was left out of clubs' lists for a meet: each a line, until somebody settles it.

A list that is taken leaves out every cell that was in doubt. Its lines stay on the list of what is
to be settled before the day, whatever else comes in for the same athlete.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass

from settingsdesk.desk.meets.refusals import NotOfThisMeet
from settingsdesk.store import left_out as kept_left_out
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Line:
    """One cell, setting or athlete of a list that was not taken: what was read, and why not.

    ``athlete_id`` is None where it is about nobody who is entered; ``place`` is where it stands in
    the list, empty where that is no one cell.
    """

    athlete_id: int | None
    place: str
    read: str
    why: str


@dataclass(frozen=True, slots=True)
class OpenLine:
    """A line that is to be settled with the club whose list it was in."""

    id: int
    sent_by: str
    line: Line


def keep(
    session: ClubSession, meet_id: int, sent_by: str, layout_key: str, lines: Iterable[Line]
) -> None:
    """Keep what a list left out; a newer list of the layout settles what the one before did."""
    for row in kept_left_out.still_open(session, meet_id):
        if (row.sent_by, row.layout_key) == (sent_by, layout_key):
            _settle(row, session.by)
    about = {
        "meet_id": meet_id,
        "sent_by": sent_by,
        "layout_key": layout_key,
        "told_by": session.by,
    }
    kept_left_out.add_all(session, [{**about, **asdict(line)} for line in lines])


def still_open(session: ClubSession, meet_id: int) -> list[OpenLine]:
    """Open questions of a meet's lists."""
    return [
        OpenLine(row.id, row.sent_by, Line(row.athlete_id, row.place, row.read, row.why))
        for row in kept_left_out.still_open(session, meet_id)
    ]


def settle(session: ClubSession, meet_id: int, line_id: int) -> None:
    """Somebody has settled a line with the club; ``NotOfThisMeet`` where it is another meet's."""
    row = kept_left_out.by_id(session, line_id)
    if row.meet_id != meet_id:
        raise NotOfThisMeet("line", kept_meets.by_id(session, meet_id).name)
    if row.settled_at is None:
        _settle(row, session.by)
        session.flush()


def _settle(row: kept_left_out.LeftOut, by: str) -> None:
    row.settled_at, row.settled_by = utc_now(), by
