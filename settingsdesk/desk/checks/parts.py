"""Spare parts: what should lie ready, and how many were there when somebody counted."""

from dataclasses import dataclass
from datetime import datetime

from settingsdesk.desk.checks.check_lists import SuggestedPart, suggested_parts
from settingsdesk.desk.hall.models import NameTaken
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import parts as kept_parts
from settingsdesk.store import taking_away
from settingsdesk.store.taking_away import Hanging
from settingsdesk.store.work import ClubSession

MOST_OF_A_PART = 999


@dataclass(frozen=True, slots=True)
class Count:
    """How many there were, when, and who counted."""

    counted: int
    at: datetime
    by: str
    remark: str


@dataclass(frozen=True, slots=True)
class Part:
    """A part in stock; ``counts`` are all of them, the newest first."""

    id: int
    name: str
    kind: str
    minimum: int
    counts: tuple[Count, ...]

    @property
    def last(self) -> Count | None:
        """The last count; None where nobody has counted yet."""
        return self.counts[0] if self.counts else None

    @property
    def short(self) -> int:
        """How many are lacking; a part that nobody has counted lacks all of its minimum."""
        there = self.last.counted if self.last else 0
        return max(self.minimum - there, 0)


def all_parts(session: ClubSession) -> list[Part]:
    """The club's parts by name."""
    return [_read(row) for row in kept_parts.all_parts(session)]


def part(session: ClubSession, part_id: int) -> Part:
    """One part; ``NotInThisClub`` where there is none."""
    return _read(kept_parts.by_id(session, part_id))


def suggestions(session: ClubSession) -> list[SuggestedPart]:
    """Parts that usually lie in stock for the kinds in this hall, and are not on the list yet."""
    names = {row.name for row in kept_parts.all_parts(session)}
    kinds = {row.model.kind for row in kept_apparatus.all_apparatus(session)}
    return [part for part in suggested_parts() if part.kind in kinds and part.name not in names]


def add_part(session: ClubSession, name: str, kind: str, minimum: int) -> Part:
    """A part that should lie in stock; ``kind`` is empty where it is for any apparatus."""
    words = " ".join(name.split())
    if not words:
        raise PartWithoutName
    if kept_parts.by_name(session, words) is not None:
        raise NameTaken("part", words)
    row = kept_parts.Part(
        name=words,
        kind=kind_of(kind).key if kind else "",
        minimum=_number(minimum),
        created_by=session.by,
    )
    session.add(row)
    session.flush()
    return _read(row)


def change_minimum(session: ClubSession, part_id: int, minimum: int) -> Part:
    """Another least number; 0 where the part is not needed any more."""
    row = kept_parts.by_id(session, part_id)
    row.minimum = _number(minimum)
    session.flush()
    return _read(row)


def hanging(session: ClubSession, part_id: int) -> list[Hanging]:
    """What hangs on a part: nothing, for its counts are its own."""
    return taking_away.hanging(session, kept_parts.by_id(session, part_id))


def take_away(session: ClubSession, part_id: int) -> None:
    """Take a part away with every count of it."""
    row = kept_parts.by_id(session, part_id)
    taking_away.take_away(session, row, row.name)


def count_part(session: ClubSession, part_id: int, counted: int, remark: str = "") -> Part:
    """What somebody counted; earlier counts stay on record."""
    row = kept_parts.by_id(session, part_id)
    session.add(
        kept_parts.PartCount(
            part_id=row.id, counted=_number(counted), remark=remark.strip(), recorded_by=session.by
        )
    )
    session.flush()
    session.expire(row, ["counts"])
    return _read(row)


def _number(count: int) -> int:
    if not 0 <= count <= MOST_OF_A_PART:
        raise NotANumberOfParts(count)
    return count


def _read(row: kept_parts.Part) -> Part:
    counts = tuple(
        Count(count.counted, count.recorded_at, count.recorded_by, count.remark)
        for count in reversed(row.counts)
    )
    return Part(row.id, row.name, row.kind, row.minimum, counts)


class PartWithoutName(SettingsDeskError):
    """A part was given no name."""

    sentence = "Enter a name for the part, one that is found on a delivery note too"


class NotANumberOfParts(SettingsDeskError):
    """Fewer parts than none, or more than a hall has."""

    def __init__(self, count: int) -> None:
        self.count = count

    def __str__(self) -> str:
        return f"The number of parts must be between 0 and {MOST_OF_A_PART}; {self.count} was given"
