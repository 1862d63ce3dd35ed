"""Runs in a list: which are under way, which wait for a coach, which a rotation had."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from settingsdesk.desk.rotations.wishes_in_words import A_GROUP
from settingsdesk.desk.runs.events import read_event
from settingsdesk.domain.base.sentences import Series, recognised
from settingsdesk.domain.changeover.happenings import GoneOn, HeldUp, word_of
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run in a list; ``over_at`` is None while it is under way.

    ``part`` is the group whose part it is, empty where it has all turns of its rotation.
    """

    id: int
    rotation_id: int
    rotation: str
    part: str
    apparatus_id: int
    apparatus: str
    begun_at: datetime
    over_at: datetime | None

    @property
    def name(self) -> str:
        """Its rotation, with the group whose part it is: several runs of one evening differ so."""
        return with_part(self.rotation, self.part)


def with_part(rotation: str, part: str) -> str:
    """A rotation's name with the group, kept as text, whose part it is; empty where all turns."""
    return Series((rotation, recognised(part, [A_GROUP])), ", ") if part else rotation


def under_way(session: ClubSession) -> list[RunLine]:
    """The runs that are not over, the latest begun first."""
    return _lines(session, kept_runs.under_way(session))


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
    return _lines(session, kept_runs.of_rotations(session, rotation_ids))


def _lines(session: ClubSession, rows: Sequence[kept_runs.Run]) -> list[RunLine]:
    told = kept_runs.told_at_begin(session, [row.id for row in rows]) if rows else {}
    return [line_of(row, told[row.id].get("part", "")) for row in rows]


def line_of(row: kept_runs.Run, part: str) -> RunLine:
    """A run's line in a list; ``part`` as its first event tells it."""
    return RunLine(
        id=row.id,
        rotation_id=row.rotation_id,
        rotation=row.rotation.name,
        part=part,
        apparatus_id=row.apparatus_id,
        apparatus=row.apparatus.name,
        begun_at=row.begun_at,
        over_at=row.over_at,
    )
