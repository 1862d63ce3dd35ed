"""Findings: opened by a check or by whoever sees a fault, and followed until they are released."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from settingsdesk.desk.hall import in_use, photos
from settingsdesk.desk.hall.photos import Photo
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.checks.checks import (
    MOST_LETTERS_OF_A_REMARK,
    Answered,
    RemarkTooLong,
)
from settingsdesk.domain.checks.findings import Step, must_be_next, next_steps
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import checks as kept_checks
from settingsdesk.store import findings as kept_findings
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

MOST_LETTERS_OF_A_HEADING = 160


@dataclass(frozen=True, slots=True)
class StepTaken:
    """One step of a finding's life, with who took it and when."""

    step: Step
    at: datetime
    by: str
    remark: str
    photo_id: int | None


@dataclass(frozen=True, slots=True)
class SeenAgain:
    """A check that came upon the finding: the first is usually the one that opened it."""

    check_id: int
    at: datetime
    by: str
    remark: str
    photo_id: int | None


@dataclass(frozen=True, slots=True)
class Finding:
    """A fault seen on an apparatus; ``item`` is the key on the check list, or empty."""

    id: int
    apparatus_id: int
    apparatus: str
    item: str
    words: str
    withdraws: bool
    steps: tuple[StepTaken, ...]

    @property
    def state(self) -> Step:
        """Where its life has come to."""
        return self.steps[-1].step

    @property
    def opened(self) -> StepTaken:
        return self.steps[0]

    @property
    def is_over(self) -> bool:
        return self.state is Step.RELEASED

    @property
    def keeps_out_of_use(self) -> bool:
        """Whether it keeps its apparatus out of use now."""
        return self.withdraws and not self.is_over

    @property
    def next_steps(self) -> tuple[Step, ...]:
        return next_steps([taken.step for taken in self.steps])


def unreleased(session: ClubSession) -> list[Finding]:
    """Every finding that is not released, those that withdraw first, then the oldest first."""
    found = _read_all(kept_findings.unreleased(session))
    return sorted(found, key=lambda finding: not finding.withdraws)


def noted_at(session: ClubSession, apparatus_id: int) -> tuple[str, ...]:
    """What was found on an apparatus that is used all the same, in the finder's words, the oldest
    first: whoever checks it has to know.
    """
    rows = kept_findings.unreleased(session)
    return tuple(row.words for row in rows if row.apparatus_id == apparatus_id)


def recent(
    session: ClubSession, limit: int = 100, apparatus_id: int | None = None
) -> list[Finding]:
    """The last findings, of one apparatus or of all, the newest first."""
    return _read_all(kept_findings.recent(session, limit, apparatus_id))


def finding(session: ClubSession, finding_id: int) -> Finding:
    """One finding; ``NotInThisClub`` where there is none."""
    return _read(kept_findings.by_id(session, finding_id))


def seen_again(session: ClubSession, finding_id: int) -> list[SeenAgain]:
    """Every check that came upon the finding, the oldest first."""
    return [
        SeenAgain(check.id, check.recorded_at, check.made_by, answer.remark, answer.photo_id)
        for answer, check in kept_checks.answers_on_finding(session, finding_id)
    ]


def add_finding(
    session: ClubSession,
    apparatus_id: int,
    words: str,
    *,
    withdraws: bool,
    press_key: str,
    remark: str = "",
    photo: Photo | None = None,
) -> Finding:
    """A fault seen outside a check; the same press a second time gives back the first.

    One that withdraws keeps the apparatus out of use from this moment on. Raises
    ``NothingFound`` without words, ``RemarkTooLong``, ``NotInThisClub``.
    """
    made = kept_findings.by_press(session, press_key)
    if made is not None:
        return _read(made)
    kept_apparatus.by_id(session, apparatus_id)
    if not words.strip():
        raise NothingFound
    _must_be_short(remark)
    photo_id = photos.keep_photo(session, photo)
    row = _add(session, apparatus_id, "", brief(words), withdraws, press_key, remark, photo_id)
    return _read(row)


def for_answer(
    session: ClubSession,
    apparatus_id: int,
    told: Answered,
    *,
    withdraws: bool,
    press_key: str,
    photo_id: int | None,
) -> int:
    """The finding that such an answer of a check belongs to; opened where there is none yet.

    A fault that is on record and not repaired yet is no second fault when the next check meets
    it, unless this check withdraws the apparatus and the fault on record does not. One that is
    said to be repaired and is met again is a new one: nobody shall release it by the old words.
    """
    for row in kept_findings.unreleased(session):
        same = (row.apparatus_id, row.item) == (apparatus_id, told.item.key)
        repaired = any(taken.step == Step.REPAIRED.value for taken in row.steps)
        if same and not repaired and (row.withdraws or not withdraws):
            return row.id
    words = f"{brief(told.remark)} ({told.item.words})"
    key = f"{press_key} {told.item.key}"
    row = _add(session, apparatus_id, told.item.key, words, withdraws, key, told.remark, photo_id)
    return row.id


def take_step(
    session: ClubSession,
    finding_id: int,
    step: Step,
    remark: str = "",
    photo: Photo | None = None,
) -> Finding:
    """The next step in a finding's life; the same once more by the same coach adds nothing.

    Raises ``StepIsOver``, ``ReasonMissing`` for a release without a reason, ``RemarkTooLong``.
    """
    before = finding(session, finding_id)
    remark = remark.strip()
    last = before.steps[-1]
    if (last.step, last.by, last.remark) == (step, session.by, remark):
        return before
    must_be_next([taken.step for taken in before.steps], step, remark)
    _must_be_short(remark)
    photo_id = photos.keep_photo(session, photo)
    moment = utc_now()
    if step is Step.RELEASED:
        moment = in_use.after_all_there(session, before.apparatus_id, moment)
    session.add(
        kept_findings.FindingStep(
            finding_id=finding_id,
            step=step.value,
            remark=remark,
            photo_id=photo_id,
            recorded_at=moment,
            recorded_by=session.by,
        )
    )
    session.flush()
    session.expire(kept_findings.by_id(session, finding_id), ["steps"])
    return finding(session, finding_id)


def brief(words: str) -> str:
    """The words on one line, cut where they are longer than a heading."""
    line = " ".join(words.split())
    if len(line) <= MOST_LETTERS_OF_A_HEADING:
        return line
    return line[: MOST_LETTERS_OF_A_HEADING - 1].rstrip() + "…"


def _add(
    session: ClubSession,
    apparatus_id: int,
    item: str,
    words: str,
    withdraws: bool,
    press_key: str,
    remark: str,
    photo_id: int | None,
) -> kept_findings.Finding:
    row = kept_findings.Finding(
        apparatus_id=apparatus_id,
        item=item,
        words=words,
        withdraws=withdraws,
        press_key=press_key,
        recorded_by=session.by,
    )
    row.steps = [
        kept_findings.FindingStep(
            step=Step.OPEN.value, remark=remark.strip(), photo_id=photo_id, recorded_by=session.by
        )
    ]
    session.add(row)
    session.flush()
    return row


def _must_be_short(remark: str) -> None:
    if len(remark) > MOST_LETTERS_OF_A_REMARK:
        raise RemarkTooLong(len(remark))


def _read_all(rows: Iterable[kept_findings.Finding]) -> list[Finding]:
    return [_read(row) for row in rows]


def _read(row: kept_findings.Finding) -> Finding:
    return Finding(
        id=row.id,
        apparatus_id=row.apparatus_id,
        apparatus=row.apparatus.name,
        item=row.item,
        words=row.words,
        withdraws=row.withdraws,
        steps=_steps(row.steps),
    )


def _steps(rows: Sequence[kept_findings.FindingStep]) -> tuple[StepTaken, ...]:
    return tuple(
        StepTaken(Step(row.step), row.recorded_at, row.recorded_by, row.remark, row.photo_id)
        for row in rows
    )


class NothingFound(SettingsDeskError):
    """A finding without a word about what was seen."""

    sentence = "Enter what you saw, in a few words that the service company understands too"
