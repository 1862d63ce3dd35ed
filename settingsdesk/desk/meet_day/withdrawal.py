"""An entry withdrawn while its athlete stands on start orders, perhaps in a run under way."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.events import read_event
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.happenings import NotHere, everybody_in
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.store import runs as kept_runs
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
    meet = desk_meets.meet(session, desk_entries.meet_id_of_entry(session, entry_id))
    orders = start_orders.orders_at(session, meet)
    runs = kept_runs.of_rotations_whole(session, [line.rotation_id for line in orders])
    not_here, not_noted = [], []
    for row in _under_way_with(runs, athlete_id):
        try:
            now = desk_run.loaded(session, row.id)
            if not any(turn.athlete_id == athlete_id for turn in now.run.turns):
                continue
            if now.run.stage is Stage.ON and now.run.turns[0].athlete_id == athlete_id:
                not_noted.append(f"{now.piece.name}: on now, so the turn is ended there")
                continue
            desk_run.go_on(session, now, now.number, NotHere(athlete_id))
            not_here.append(now.piece.name)
        except SettingsDeskError as refusal:
            not_noted.append(f"{row.apparatus.name}: {refusal}")
    begun = {row.rotation_id for row in runs}
    stands_on = [
        line.where
        for line in orders
        if athlete_id in line.athlete_ids and line.rotation_id not in begun
    ]
    return Withdrawal(entrant, tuple(not_here), tuple(not_noted), tuple(stands_on))


def _under_way_with(runs: Iterable[kept_runs.Run], athlete_id: int) -> Iterator[kept_runs.Run]:
    """Those that are under way and that the athlete was in from the beginning, or joined."""
    for row in runs:
        happenings = (read_event(event).what for event in row.events)
        if row.over_at is None and athlete_id in everybody_in(happenings):
            yield row
