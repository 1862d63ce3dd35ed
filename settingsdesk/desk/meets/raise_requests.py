"""Requests to raise the rails for an athlete: who asked, when, how far, and what came of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import Carried, SettingVersion
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import compared_length
from settingsdesk.domain.base.kinds import Quantity
from settingsdesk.domain.base.sentences import Sentence, marked, retold
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession

TOLD = {
    "asked": marked("Not settled yet: a request of %(day)s to raise the rails by %(length)s"),
    "granted": marked("Rails raised by %(length)s: granted, %(day)s"),
    "refused": marked("Refused, %(day)s: a request to raise the rails by %(length)s"),
}
TOLD_BY = {
    "asked": marked(
        "Not settled yet: a request by %(name)s of %(day)s to raise the rails by %(length)s"
    ),
    "granted": marked("Rails raised by %(length)s: granted by %(name)s, %(day)s"),
    "refused": marked("Refused by %(name)s, %(day)s: a request to raise the rails by %(length)s"),
}
"""What is not granted does not begin with rails that are raised: such a line is read in haste."""
MAY_INCLUDE_IT = marked("%(told)s. Ask the coach whether these marks include it")
INCLUDE_IT = marked("%(told)s. These marks include it")
WITHOUT_IT = marked("%(told)s. These marks are without it: do not set them")

FIRST_TOLD = {
    TOLD["asked"]: "Rails raised by %(length)s: asked for, %(day)s, not settled yet",
    TOLD["refused"]: "Rails raised by %(length)s: refused, %(day)s",
    TOLD_BY["asked"]: (
        "Rails raised by %(length)s: asked for by %(name)s, %(day)s, not settled yet"
    ),
    TOLD_BY["refused"]: "Rails raised by %(length)s: refused by %(name)s, %(day)s",
    WITHOUT_IT: "%(told)s. These marks are without it",
}
"""What papers of before have in other words: they say the same, and are not out of date."""

RAISE_FORMS = (
    MAY_INCLUDE_IT,
    INCLUDE_IT,
    WITHOUT_IT,
    FIRST_TOLD[WITHOUT_IT],
    "%(inches)s (%(in_cm)s)",
    *TOLD.values(),
    FIRST_TOLD[TOLD["asked"]],
    FIRST_TOLD[TOLD["refused"]],
)
"""Of what a card says of a request, the longer first."""


def as_told_now(told: str) -> str:
    """What a paper of before says of a request, in the words of now."""
    return retold(told, {first: now for now, first in FIRST_TOLD.items()})


def as_first_told(told: str) -> str:
    """What is said of a request now, in the words of the first papers."""
    return retold(told, FIRST_TOLD)


@dataclass(frozen=True, slots=True)
class RaiseStep:
    """One step of a request to raise the rails: asked, granted, refused or dropped; by whom.

    Settings with greater numbers than ``after_setting`` were kept after it, with greater ones than
    ``asked_after`` after the request that it belongs to. ``marks_include`` is whether the marks
    that counted as it was granted include it, None where nobody said so.
    """

    apparatus_id: int
    step: str
    raise_mm: int
    told_by: str
    told_on: date
    remark: str
    recorded_at: datetime
    recorded_by: str
    after_setting: int
    asked_after: int
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
    for the marks of then; marks that were said to be without it include it once all heights are
    higher by as much as was granted. Where nobody said it, that is so since it was asked for.
    """
    if step.step != "granted" or own is None:
        return told
    counts = own.version
    if step.marks_include is None:
        if counts.id <= step.asked_after:
            return Sentence(WITHOUT_IT, told=told)
        raised = _raised_since(session, step, counts, step.asked_after)
        if raised is None:
            return Sentence(MAY_INCLUDE_IT, told=told)
        return Sentence(INCLUDE_IT if raised else WITHOUT_IT, told=told)
    if counts.id <= step.after_setting:
        return Sentence(INCLUDE_IT if step.marks_include else WITHOUT_IT, told=told)
    if not step.marks_include and _raised_since(session, step, counts, step.after_setting):
        return Sentence(INCLUDE_IT, told=told)
    return Sentence(MAY_INCLUDE_IT, told=told)


def _raised_since(
    session: ClubSession, step: RaiseStep, counts: SettingVersion, after_setting: int
) -> bool | None:
    """Whether all heights are higher, by what was granted, than with settings up to that number.

    None where none of that model was among them.
    """
    before = next(
        (
            known.setting
            for known in desk_settings.history(session, counts.athlete_id)
            if (known.model_id, known.purpose) == (counts.model_id, counts.purpose)
            and known.id <= after_setting
        ),
        None,
    )
    if before is None:
        return None
    return all(
        counts.setting.axes[axis.key].wanted_mm - before.axes[axis.key].wanted_mm >= step.raise_mm
        for axis in counts.setting.kind.axes
        if axis.quantity is Quantity.HEIGHT
    )


def is_open(told: str) -> bool:
    """Whether what ``told_with_marks`` tells of a granted request leaves the crew without marks."""
    return isinstance(told, Sentence) and told.form in (WITHOUT_IT, MAY_INCLUDE_IT)


def steps_that_count(rows: Iterable[kept_meets.RaiseRequest]) -> Mapping[int, RaiseStep]:
    """The latest step of each request, by the apparatus's number, less what was dropped."""
    latest: dict[int, kept_meets.RaiseRequest] = {}
    asked_after: dict[int, int] = {}
    for row in rows:
        latest[row.apparatus_id] = row
        if row.step == "asked":
            asked_after[row.apparatus_id] = row.after_setting
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
            row.after_setting,
            asked_after.get(apparatus_id, row.after_setting),
            row.marks_include,
        )
        for apparatus_id, row in latest.items()
        if row.step != "dropped"
    }
