"""The check before use, at a run: it is asked for until it is made."""

from typing import NamedTuple

from settingsdesk.desk.checks import checks
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.changeover.run import Run, Stage
from settingsdesk.store.work import ClubSession


class FirstCheck(NamedTuple):
    """The check before use, in words, and whether it is still to be made today.

    ``went_up`` says that somebody has gone up already, though it was not made.
    """

    in_words: str
    is_due: bool
    went_up: bool


def first_check(session: ClubSession, piece: Piece, run: Run | None) -> FirstCheck | None:
    """What is said of it at a run, or before the next rotation (``run`` None).

    None once it is made, or no turn is left. Before the first turn, where nothing was moved, it is
    said though it was made today: then it is all that was looked at before the first goes up.
    """
    if run is not None and run.stage is Stage.OVER:
        return None
    (care,) = checks.cares(session, [piece])
    is_due = care.first(today()) is not None
    went_up = run is not None and (bool(run.over) or run.stage is Stage.ON)
    is_untouched = (
        run is not None and not went_up and run.stage is Stage.CHECKING and not run.change.steps
    )
    if not (is_due or is_untouched):
        return None
    return FirstCheck(care.first_in_words(today()), is_due, went_up)
