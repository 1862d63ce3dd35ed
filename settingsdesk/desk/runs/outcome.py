"""What came of a rotation at the apparatus: under way or over, and whose turns were not taken."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.meets.called import called_in
from settingsdesk.desk.runs.events import read_event
from settingsdesk.desk.runs.run_list import RunLine, line_of
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.changeover.happenings import Begun, everybody_in
from settingsdesk.domain.changeover.run import Run, Stage, run_of
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Outcome:
    """One run and what came of it; ``part`` is whose of several groups it was.

    ``turns`` are those that were had, ``left`` those that were not; ``not_taken`` says whose those
    are, each name once with the number of them. ``to_come`` are the athletes of the turns that are
    left in their order at the apparatus, each with the name; whoever is not here is none of them.
    ``is_on`` says that the first of them is on. ``change_over_s`` is what the change-overs took,
    ``planned_s`` what was planned for them. ``ended`` says that somebody ended it, by the name in
    ``ended_by``, ``held_up`` what is said to be wrong and waits for a coach, or nothing.
    """

    line: RunLine
    part: str
    turns: int
    left: int
    not_taken: tuple[tuple[str, int], ...]
    to_come: tuple[tuple[int, str], ...]
    is_on: bool
    change_over_s: int
    planned_s: int
    ended: bool
    ended_by: str
    held_up: str

    @property
    def is_under_way(self) -> bool:
        """Whether it goes on."""
        return self.line.over_at is None

    def keeps_to(self, athlete_ids: Sequence[int]) -> bool:
        """Whether the turns that are left come in that order, of those who are in it."""
        left = [athlete_id for athlete_id, _ in self.to_come]
        return left == [athlete_id for athlete_id in athlete_ids if athlete_id in left]

    @property
    def can_be_taken_up(self) -> bool:
        """Whether it was ended while turns were left."""
        return self.ended and self.left > 0

    @property
    def lasted_s(self) -> int | None:
        """From its begin to its end; None while it is under way."""
        over_at = self.line.over_at
        return round((over_at - self.line.begun_at).total_seconds()) if over_at else None


def of_rotations(session: ClubSession, rotation_ids: Iterable[int]) -> dict[int, list[Outcome]]:
    """Every run of those rotations with what came of it, by rotation, the latest begun first."""
    rows = kept_runs.of_rotations_whole(session, rotation_ids)
    versions = {
        (known.id, known.version): known
        for model_id in {row.apparatus.model_id for row in rows}
        for known in desk_models.history(session, model_id)
    }
    carried_out = [
        _carried_out(row, versions[row.apparatus.model_id, row.model_version]) for row in rows
    ]
    members = desk_athletes.members(
        session, {athlete_id for them in carried_out for athlete_id in them.listed}
    )
    found: dict[int, list[Outcome]] = {}
    for rotation in carried_out:
        found.setdefault(rotation.row.rotation_id, []).append(_outcome(session, rotation, members))
    return found


class _CarriedOut(NamedTuple):
    """A run read to its end, and everybody ever on its list; nobody where no turn is left."""

    row: kept_runs.Run
    run: Run
    ended_by: str
    listed: frozenset[int]
    part: str


def _carried_out(row: kept_runs.Run, version: desk_models.ModelVersion) -> _CarriedOut:
    events = [read_event(event) for event in row.events]
    run = run_of(version.model, events)
    listed = frozenset(everybody_in(event.what for event in events) if run.not_taken else ())
    ended_by = events[-1].by if run.ended else ""
    begun = events[0].what
    part = begun.part if isinstance(begun, Begun) else ""
    return _CarriedOut(row, run, ended_by, listed, part)


def _outcome(session: ClubSession, carried: _CarriedOut, members: Mapping[int, Member]) -> Outcome:
    row, run = carried.row, carried.run
    called = called_in(session, row.rotation_id, [members[number] for number in carried.listed])
    return Outcome(
        line=line_of(row, carried.part),
        part=carried.part,
        turns=len(run.over),
        left=sum(run.not_taken.values()),
        not_taken=tuple((str(called[one]), turns) for one, turns in run.not_taken.items()),
        to_come=tuple((turn.athlete_id, str(called[turn.athlete_id])) for turn in run.turns),
        is_on=run.stage is Stage.ON,
        change_over_s=sum(over.took_s for over in run.over if over.planned_s),
        planned_s=sum(over.planned_s for over in run.over),
        ended=run.ended,
        ended_by=carried.ended_by,
        held_up=run.hold_up.words if run.hold_up else "",
    )
