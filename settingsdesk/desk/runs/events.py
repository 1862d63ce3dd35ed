"""Events of runs as they are kept, a row for each."""

from datetime import datetime

from settingsdesk.domain.changeover.happenings import Happening, from_data, to_data, word_of
from settingsdesk.domain.changeover.run import Confirmed
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now


def row_of(number: int, by: str, what: Happening, at: datetime | None = None) -> kept_runs.RunEvent:
    """The row of an event that is confirmed now, or was at that moment."""
    return kept_runs.RunEvent(
        number=number, word=word_of(what), told=to_data(what), by=by, at=at or utc_now()
    )


def read_event(row: kept_runs.RunEvent) -> Confirmed:
    """What was kept as one event of a run."""
    return Confirmed(row.number, row.at, row.by, from_data(row.word, row.told))
