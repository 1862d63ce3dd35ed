"""Runs of the demo's rotation, begun and carried out without a page."""

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.domain.changeover.happenings import AllDone, Rechecked, TurnOver
from settingsdesk.domain.changeover.run import Stage
from tests.conftest import DemoClub
from tests.made_once import made_once

TONIGHT, BY = 1, "Runa"


def ordered(club: DemoClub, asked: OrderRequest) -> int:
    """Tonight's rotation with what is asked, at the bars; the number of the run."""
    return made_once(club.store, ("a run", asked), lambda: _begun(club, asked))


def _begun(club: DemoClub, asked: OrderRequest) -> int:
    with club.work(writes=True) as session:
        desk_rotation.change_wishes(session, desk_rotation.rotation(session, TONIGHT), asked)
        view = desk_rotation.order_anew(session, TONIGHT)
        return desk_run.begin(session, TONIGHT, view.piece.id)


def confirm(club: DemoClub, run_id: int, *told: object) -> RunNow:
    for what in told:
        with club.work(writes=True) as session:
            seen = desk_run.run(session, run_id).number
            view = desk_run.confirm(session, run_id, seen, what)
    return view


def turn(club: DemoClub, run_id: int) -> RunNow:
    """One turn from the change-over to its end."""
    return made_once(club.store, ("a turn", run_id), lambda: _had(club, run_id))


def _had(club: DemoClub, run_id: int) -> RunNow:
    with club.work() as session:
        view = desk_run.run(session, run_id)
    if view.run.stage is Stage.SETTING:
        view = confirm(club, run_id, AllDone())
    if view.run.stage is Stage.CHECKING:
        view = confirm(club, run_id, Rechecked(alone=True))
    return confirm(club, run_id, TurnOver())
