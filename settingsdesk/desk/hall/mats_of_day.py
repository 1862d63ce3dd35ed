"""The mats of a day: more or fewer than on record, said once, and over with the day by itself.

What was shown of them stays with what was confirmed by it (``Rechecked.more_mat_mm``) and on the
papers of that day; the day itself is forgotten some time after it is over.
"""

from datetime import date, timedelta

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece, must_be_mats
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store.apparatus import MatsOfDay
from settingsdesk.store.work import ClubSession

FARTHEST_AHEAD = timedelta(days=366)
KEPT_AFTERWARDS = timedelta(days=31)
"""So long a page of that day still says it."""


def to_come(piece: Piece) -> list[tuple[date, int]]:
    """The days on which other mats lie there, from today on, each with how much more."""
    return sorted((day, more) for day, more in piece.mats.more_by_day.items() if day >= today())


def lie_on(session: ClubSession, apparatus_id: int, day: date, more_mm: int) -> Piece:
    """From now on that much more lies there on a day than on record; below 0 less, 0 as usual.

    The apparatus as it is then. ``NotADayForMats`` for one that is over or far ahead,
    ``NotTheseMats`` where less than nothing or more than a metre would lie there.
    """
    now = today()
    if not now <= day <= now + FARTHEST_AHEAD:
        raise NotADayForMats(now, now + FARTHEST_AHEAD)
    row = kept_apparatus.by_id(session, apparatus_id)
    must_be_mats(row.name, row.mat_mm, more_mm)
    known = {kept.day: kept for kept in kept_apparatus.mats_of_days(session, apparatus_id)}
    for over, kept in known.items():
        if over < now - KEPT_AFTERWARDS:
            session.delete(kept)
    kept_on = known.get(day)
    if kept_on is None and more_mm:
        session.add(MatsOfDay(apparatus_id=apparatus_id, day=day, more_mm=more_mm))
    elif kept_on is not None and not more_mm:
        session.delete(kept_on)
    elif kept_on is not None:
        kept_on.more_mm = more_mm
    session.flush()
    session.refresh(row)
    return desk_apparatus.piece(session, apparatus_id)


class NotADayForMats(SettingsDeskError):
    """Mats were to lie on a day that is over, or of which nobody knows yet what lies then."""

    def __init__(self, first: date, last: date) -> None:
        self.first, self.last = first, last

    def __str__(self) -> str:
        return (
            f"The day must be between today, {day_in_words(self.first)}, and"
            f" {day_in_words(self.last)}"
        )
