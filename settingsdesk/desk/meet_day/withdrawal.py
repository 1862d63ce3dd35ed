"""An entry withdrawn while its athlete stands on start orders, perhaps in a run under way."""

from collections.abc import Iterator
from dataclasses import dataclass

from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.happenings import NotHere
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """What came of it: on which apparatus the athlete is not here now, and where that is open.

    ``not_noted`` says for each apparatus where it could not be noted what to do there.
    ``stands_on`` are the start orders that still have the athlete and have not begun.
    """

    entrant: Entrant
    not_here: tuple[str, ...]
    not_noted: tuple[str, ...]
    stands_on: tuple[str, ...]


def withdraw(session: ClubSession, entry_id: int) -> Withdrawal:
    """The athlete does not come: in runs under way they are not here from now on.

    The start orders stay as set, as they were announced.
    """
    entrant = desk_entries.withdraw_entry(session, entry_id)
    athlete_id = entrant.member.id
    not_here, not_noted = [], []
    for view in _runs_with(session, athlete_id):
        if view.run.stage is Stage.ON and view.run.turns[0].athlete_id == athlete_id:
            not_noted.append(f"{view.piece.name}: on now, so the turn is ended there")
            continue
        try:
            desk_run.go_on(session, view, view.number, NotHere(athlete_id))
            not_here.append(view.piece.name)
        except SettingsDeskError as refusal:
            not_noted.append(f"{view.piece.name}: {refusal}")
    meet = desk_meets.meet(session, desk_entries.meet_id_of_entry(session, entry_id))
    stands_on = [
        line.where
        for line in start_orders.orders_at(session, meet)
        if athlete_id in line.athlete_ids and not desk_run.of_rotation(session, line.rotation_id)
    ]
    return Withdrawal(entrant, tuple(not_here), tuple(not_noted), tuple(stands_on))


def _runs_with(session: ClubSession, athlete_id: int) -> Iterator[RunNow]:
    """The runs under way of a meet's orders in which the athlete, withdrawn now, has turns left."""
    for line in desk_run.under_way(session):
        view = desk_run.loaded(session, line.id)
        has_turns = any(turn.athlete_id == athlete_id for turn in view.run.turns)
        if has_turns and athlete_id in start_orders.withdrawn(session, view.rotation_id):
            yield view
