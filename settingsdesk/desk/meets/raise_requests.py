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
from settingsdesk.domain.base.sentences import Sentence, marked
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession

TOLD = {
    "asked": marked("Rails raised by %(length)s: asked for, %(day)s, not settled yet"),
    "granted": marked("Rails raised by %(length)s: granted, %(day)s"),
    "refused": marked("Rails raised by %(length)s: refused, %(day)s"),
}
TOLD_BY = {
    "asked": marked("Rails raised by %(length)s: asked for by %(name)s, %(day)s, not settled yet"),
    "granted": marked("Rails raised by %(length)s: granted by %(name)s, %(day)s"),
    "refused": marked("Rails raised by %(length)s: refused by %(name)s, %(day)s"),
}
MAY_INCLUDE_IT = marked("%(told)s. Ask the coach whether these marks include it")
INCLUDE_IT = marked("%(told)s. These marks include it")
WITHOUT_IT = marked("%(told)s. These marks are without it")
RAISE_FORMS = (
    MAY_INCLUDE_IT,
    INCLUDE_IT,
    WITHOUT_IT,
    "%(inches)s (%(in_cm)s)",
    *TOLD.values(),
)
"""Of what a card says of a request, the longer first."""


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

    def in_words(self, unit: Unit) -> Sentence:
        """As the desk's pages and sheets say it: who, when, and what came of it."""
        return self._told(unit, TOLD_BY[self.step], name=self.told_by or Sentence("somebody"))

    def on_a_card(self, unit: Unit) -> Sentence:
        """The same without a name: a child's card goes from hand to hand."""
        return self._told(unit, TOLD[self.step])

    def _told(self, unit: Unit, form: str, **facts: str) -> Sentence:
        length = compared_length(self.raise_mm, unit)
        return Sentence(form, length=length, day=day_in_words(self.told_on), **facts)


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
            return Sentence(MAY_INCLUDE_IT, told=told)
        return Sentence(INCLUDE_IT if step.marks_include else WITHOUT_IT, told=told)
    if counts.recorded_at <= step.asked_at:
        return Sentence(WITHOUT_IT, told=told)
    before = next(
        (
            known.setting
            for known in desk_settings.history(session, counts.athlete_id)
            if known.model_id == counts.model_id and known.recorded_at <= step.asked_at
        ),
        None,
    )
    if before is None:
        return Sentence(MAY_INCLUDE_IT, told=told)
    raised = all(
        counts.setting.axes[axis.key].wanted_mm - before.axes[axis.key].wanted_mm >= step.raise_mm
        for axis in counts.setting.kind.axes
        if axis.quantity is Quantity.HEIGHT
    )
    return Sentence(INCLUDE_IT if raised else WITHOUT_IT, told=told)


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
