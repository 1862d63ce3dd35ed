"""Requests to raise the rails for an athlete: who asked, when, how far, and what came of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import compared_length
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import meets as kept_meets


@dataclass(frozen=True, slots=True)
class RaiseStep:
    """One step of a request to raise the rails: asked, granted, refused or dropped; by whom."""

    apparatus_id: int
    step: str
    raise_mm: int
    told_by: str
    told_on: date
    remark: str
    recorded_at: datetime
    recorded_by: str

    def in_words(self, unit: Unit) -> str:
        """As cards and sheets say it: who, when, and what came of it."""
        came = {"asked": "asked for", "granted": "granted", "refused": "refused"}[self.step]
        told = f"{came} by {self.told_by or 'somebody'}, {day_in_words(self.told_on)}"
        unsettled = ", not settled yet" if self.step == "asked" else ""
        return f"Rails raised by {compared_length(self.raise_mm, unit)}: {told}{unsettled}"


def steps_that_count(rows: Iterable[kept_meets.RaiseRequest]) -> Mapping[int, RaiseStep]:
    """The latest step of each request, by the apparatus's number, less what was dropped."""
    latest = {row.apparatus_id: row for row in rows}
    return {
        apparatus_id: RaiseStep(
            apparatus_id,
            row.step,
            row.raise_mm,
            row.told_by,
            row.told_on,
            row.remark,
            row.recorded_at,
            row.recorded_by,
        )
        for apparatus_id, row in latest.items()
        if row.step != "dropped"
    }
