"""Requests to raise the rails for an athlete: who asked, when, how far, and what came of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import compared_length
from settingsdesk.domain.base.kinds import Quantity
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class RaiseStep:
    """One step of a request to raise the rails: asked, granted, refused or dropped; by whom.

    ``asked_at`` is when the request that it belongs to was recorded. ``marks_include`` is whether
    the marks that counted as it was granted include it, None where nobody said so.
    """

    apparatus_id: int
    step: str
    raise_mm: int
    told_by: str
    told_on: date
    remark: str
    recorded_at: datetime
    recorded_by: str
    asked_at: datetime
    marks_include: bool | None = None

    def in_words(self, unit: Unit) -> str:
        """As the desk's pages and sheets say it: who, when, and what came of it."""
        return self._told(unit, f" by {self.told_by or 'somebody'},")

    def on_a_card(self, unit: Unit) -> str:
        """The same without a name: a child's card goes from hand to hand."""
        return self._told(unit, ",")

    def _told(self, unit: Unit, by: str) -> str:
        came = {"asked": "asked for", "granted": "granted", "refused": "refused"}[self.step]
        told = f"{came}{by} {day_in_words(self.told_on)}"
        unsettled = ", not settled yet" if self.step == "asked" else ""
        return f"Rails raised by {compared_length(self.raise_mm, unit)}: {told}{unsettled}"


def told_at(
    session: ClubSession, rotation_id: int, piece: Piece, athlete_ids: Iterable[int]
) -> dict[int, str]:
    """What is told at an apparatus of their requests for the meet of a start order, by number."""
    rows: dict[int, list[kept_meets.RaiseRequest]] = {}
    for athlete_id, row in kept_rotations.raises_in(session, rotation_id, piece.id, athlete_ids):
        rows.setdefault(athlete_id, []).append(row)
    if not rows:
        return {}
    unit = Unit(kept_clubs.this_club(session).length_unit)
    own = desk_settings.on_piece(session, rows, piece)
    steps = {
        athlete_id: steps_that_count(theirs).get(piece.id) for athlete_id, theirs in rows.items()
    }
    return {
        athlete_id: told_with_marks(session, step, own.get(athlete_id), step.on_a_card(unit))
        for athlete_id, step in steps.items()
        if step is not None
    }


def told_with_marks(session: ClubSession, step: RaiseStep, own: Carried | None, told: str) -> str:
    """What is told of a request, and where it was granted whether the marks include it.

    ``own`` is what the marks come from, None where there are none. What somebody said of it holds
    for the marks of then. Where nobody said it, they include it where all heights are higher, by
    as much as was granted, than those that counted when it was asked for.
    """
    if step.step != "granted" or own is None:
        return told
    counts = own.version
    if step.marks_include is not None:
        if counts.recorded_at > step.recorded_at:
            return f"{told}. Ask the coach whether these marks include it"
        return f"{told}. These marks {'include it' if step.marks_include else 'are without it'}"
    if counts.recorded_at <= step.asked_at:
        return f"{told}. These marks are without it"
    before = next(
        (
            known.setting
            for known in desk_settings.history(session, counts.athlete_id)
            if known.model_id == counts.model_id and known.recorded_at <= step.asked_at
        ),
        None,
    )
    if before is None:
        return f"{told}. Ask the coach whether these marks include it"
    raised = all(
        counts.setting.axes[axis.key].wanted_mm - before.axes[axis.key].wanted_mm >= step.raise_mm
        for axis in counts.setting.kind.axes
        if axis.quantity is Quantity.HEIGHT
    )
    return f"{told}. These marks {'include it' if raised else 'are without it'}"


def steps_that_count(rows: Iterable[kept_meets.RaiseRequest]) -> Mapping[int, RaiseStep]:
    """The latest step of each request, by the apparatus's number, less what was dropped."""
    latest: dict[int, kept_meets.RaiseRequest] = {}
    asked_at: dict[int, datetime] = {}
    for row in rows:
        latest[row.apparatus_id] = row
        if row.step == "asked":
            asked_at[row.apparatus_id] = row.recorded_at
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
            asked_at.get(apparatus_id, row.recorded_at),
            row.marks_include,
        )
        for apparatus_id, row in latest.items()
        if row.step != "dropped"
    }
