"""The check before use, where a run is about to let the first athlete up."""

from typing import NamedTuple

from settingsdesk.desk.checks import checks
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.changeover.run import Run, Stage
from settingsdesk.store.work import ClubSession


class FirstCheck(NamedTuple):
    """The check before use, in words, and whether it is still to be made today."""

    in_words: str
    is_due: bool


def first_check(session: ClubSession, piece: Piece, run: Run | None) -> FirstCheck | None:
    """What is said of it before the first turn of a run, or of the next rotation (``run`` None).

    None once somebody has been on. Where nothing was moved it is said though it was made today:
    then it is all that was looked at before the first goes up.
    """
    if run is not None and (run.over or run.stage not in (Stage.SETTING, Stage.CHECKING)):
        return None
    (care,) = checks.cares(session, [piece])
    is_due = care.first(today()) is not None
    is_untouched = run is not None and run.stage is Stage.CHECKING and not run.change.steps
    return FirstCheck(care.first_in_words(today()), is_due) if is_due or is_untouched else None
