"""The check before use, at a run: nobody goes up before it is known to be made."""

from typing import NamedTuple

from settingsdesk.desk.checks import checks
from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.changeover.run import Run, Stage
from settingsdesk.store.work import ClubSession


class FirstCheck(NamedTuple):
    """The check before use, in words, and whether it is still to be made today.

    ``is_on`` says that somebody is on already, though it was not made.
    """

    in_words: str
    is_due: bool
    is_on: bool


def first_check(session: ClubSession, piece: Piece, run: Run | None) -> FirstCheck | None:
    """What is said of it at a run, or before the next rotation (``run`` None).

    None once it is made, or no turn is left. Made on paper it holds in the run in which that was
    said, on that day, until the apparatus is out of use. Before the first turn, where nothing was
    moved, it is said though it was made today: then it is all that was looked at before the first
    goes up.
    """
    if run is not None and (run.stage is Stage.OVER or _is_on_paper(run)):
        return None
    (care,) = checks.cares(session, [piece])
    is_due = care.first(today()) is not None
    is_untouched = (
        run is not None and not run.over and run.stage is Stage.CHECKING and not run.change.steps
    )
    if not (is_due or is_untouched):
        return None
    is_on = run is not None and run.stage is Stage.ON
    return FirstCheck(care.first_in_words(today()), is_due, is_on)


def _is_on_paper(run: Run) -> bool:
    return run.before_use is not None and local_date(run.before_use.at) == today()
