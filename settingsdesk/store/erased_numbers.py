"""Whose data were erased, beside the database: an older copy that is put back forgets it.

A line has the club's number, the athlete's and when the athlete was entered, by which nobody who
was given the same number later is taken for them. It has no name.
"""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from settingsdesk.store.work import DeskSession, Store

FILE = "erased"


class Erased(NamedTuple):
    """One athlete whose data were erased."""

    club_id: int
    athlete_id: int
    entered_at: datetime


@dataclass(frozen=True, slots=True)
class ErasedNumbers:
    """The list in one file; None where a server's database has no folder beside it."""

    file: Path | None

    @classmethod
    def beside(cls, of: DeskSession | Store) -> "ErasedNumbers":
        """The list that belongs to a database."""
        return cls(of.folder / FILE if of.folder else None)

    def add(self, erased: Iterable[Erased]) -> None:
        """Put further ones on the list, on the disk before it goes on."""
        if self.file is None:
            return
        lines = "".join(
            f"{one.club_id} {one.athlete_id} {one.entered_at.astimezone(UTC).isoformat()}\n"
            for one in erased
        )
        descriptor = os.open(self.file, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600)
        with os.fdopen(descriptor, "a", encoding="ascii") as out:
            out.write(lines)
            out.flush()
            os.fsync(descriptor)

    def all(self) -> Iterator[Erased]:
        """Everybody on the list; a line that is not whole was never confirmed, and is none."""
        if self.file is None or not self.file.exists():
            return
        for line in self.file.read_text(encoding="ascii", errors="replace").splitlines():
            try:
                club, athlete, entered = line.split(" ")
                yield Erased(int(club), int(athlete), datetime.fromisoformat(entered))
            except ValueError:
                continue
