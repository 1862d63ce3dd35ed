"""Runs in a list: which are under way, which wait for a coach, which a rotation had."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from settingsdesk.desk.runs.events import read_event
from settingsdesk.domain.changeover.happenings import GoneOn, HeldUp, word_of
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run in a list; ``over_at`` is None while it is under way."""

    id: int
    rotation_id: int
    name: str
    apparatus_id: int
    apparatus: str
    begun_at: datetime
    over_at: datetime | None


def under_way(session: ClubSession) -> list[RunLine]:
    """The runs that are not over, the latest begun first."""
    return [line_of(row) for row in kept_runs.under_way(session)]


def held_up(session: ClubSession) -> dict[int, HeldUp]:
    """What is said to be wrong at runs under way that wait for a coach, by the run's number."""
    words = [word_of(HeldUp("")), word_of(GoneOn())]
    found = {row.run_id: read_event(row).what for row in kept_runs.latest_of_words(session, words)}
    return {number: what for number, what in found.items() if isinstance(what, HeldUp)}


def under_way_on(session: ClubSession, apparatus_id: int) -> RunLine | None:
    """The run that is under way on an apparatus, if any."""
    return next((line for line in under_way(session) if line.apparatus_id == apparatus_id), None)


def stopped_apparatus(session: ClubSession) -> frozenset[int]:
    """The apparatus at which the work is stopped, by their numbers, until a coach has looked."""
    held = held_up(session)
    if not held:
        return frozenset()
    return frozenset(line.apparatus_id for line in under_way(session) if line.id in held)


def of_rotations(session: ClubSession, rotation_ids: Iterable[int]) -> list[RunLine]:
    """Every run of those rotations, the latest begun first."""
    return [line_of(row) for row in kept_runs.of_rotations(session, rotation_ids)]


def line_of(row: kept_runs.Run) -> RunLine:
    """A run's line in a list."""
    return RunLine(
        id=row.id,
        rotation_id=row.rotation_id,
        name=row.rotation.name,
        apparatus_id=row.apparatus_id,
        apparatus=row.apparatus.name,
        begun_at=row.begun_at,
        over_at=row.over_at,
    )
