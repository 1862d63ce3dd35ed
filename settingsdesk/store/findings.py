"""Findings: what was found wrong with an apparatus, and every step of the life of each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import cache

from sqlalchemy import (
    BindParameter,
    Index,
    Select,
    UniqueConstraint,
    bindparam,
    case,
    exists,
    func,
    select,
)
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, selectinload

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.base import (
    AppendOnly,
    Base,
    ClubOwned,
    children_by,
    of_same_club,
    parent_by,
    referred_to,
    row_by_id,
    utc_now,
)

REPAIRED, LAST_STEP = "repaired", "released"


class Finding(AppendOnly, ClubOwned, Base):
    """A fault seen on an apparatus. While one that withdraws is not released, nobody uses it."""

    __tablename__ = "finding"
    __table_args__ = (
        referred_to(),
        of_same_club("apparatus_id", "apparatus"),
        UniqueConstraint("club_id", "press_key"),
        Index(None, "club_id", "apparatus_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    apparatus_id: Mapped[int]
    item: Mapped[str]
    """The key of the check list's item; empty where it was found outside a check."""
    words: Mapped[str]
    withdraws: Mapped[bool]
    press_key: Mapped[str]
    """Of the form it came from, so that a second press adds nothing."""
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]

    apparatus: Mapped[Apparatus] = parent_by("Finding.apparatus_id", "Apparatus")
    steps: Mapped[list[FindingStep]] = children_by("FindingStep.finding_id", "Finding")


class FindingStep(AppendOnly, ClubOwned, Base):
    """One step in the life of a finding; each is taken once."""

    __tablename__ = "finding_step"
    __table_args__ = (
        of_same_club("finding_id", "finding"),
        of_same_club("photo_id", "photo"),
        UniqueConstraint("club_id", "finding_id", "step"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    finding_id: Mapped[int]
    step: Mapped[str]
    remark: Mapped[str]
    photo_id: Mapped[int | None]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]


def by_id(session: Session, finding_id: int) -> Finding:
    """The finding with its steps, or ``NotInThisClub``."""
    return row_by_id(session, Finding, finding_id)


def by_press(session: Session, press_key: str) -> Finding | None:
    """The finding that came from that form."""
    return session.scalar(select(Finding).where(Finding.press_key == press_key))


def unreleased(session: Session, *, withdrawing: bool = False) -> Sequence[Finding]:
    """Every finding that is not released, the oldest first; or those that withdraw only."""
    return session.scalars(_unreleased(withdrawing)).all()


@cache  # nearly every page asks it, and to put it together takes longer than the answer
def _unreleased(withdrawing: bool) -> Select[Finding]:
    released = exists().where(FindingStep.finding_id == Finding.id, FindingStep.step == LAST_STEP)
    asked = select(Finding).where(~released)
    if withdrawing:
        asked = asked.where(Finding.withdraws)
    return _whole(asked.order_by(Finding.id))


def recent(session: Session, limit: int, apparatus_id: int | None = None) -> Sequence[Finding]:
    """The last findings, of one apparatus or of all, the newest first."""
    asked = select(Finding)
    if apparatus_id is not None:
        asked = asked.where(Finding.apparatus_id == apparatus_id)
    newest_first = asked.order_by(Finding.id.desc()).limit(limit)
    return session.scalars(_whole(newest_first)).all()


def released_since(session: Session, apparatus_id: int, moment: datetime) -> bool:
    """Whether a finding that withdrew that apparatus was released after a moment."""
    given = {"apparatus_id": apparatus_id, "moment": moment}
    return session.scalar(_released_since(), given) is not None


@cache  # as what is unreleased
def _released_since() -> Select[int]:
    asked = select(FindingStep.id).join(Finding, Finding.id == FindingStep.finding_id)
    asked = asked.where(Finding.apparatus_id == bindparam("apparatus_id"), Finding.withdraws)
    asked = asked.where(
        FindingStep.step == LAST_STEP, FindingStep.recorded_at > bindparam("moment")
    )
    return asked.limit(1)


def last_released(session: Session, apparatus_ids: Iterable[int]) -> dict[int, datetime]:
    """When each of those apparatus was released from a withdrawal last; never is left out."""
    asked = select(Finding.apparatus_id, func.max(FindingStep.recorded_at).label("released_at"))
    asked = asked.join(FindingStep, Finding.id == FindingStep.finding_id)
    asked = asked.where(Finding.apparatus_id.in_(list(apparatus_ids)), Finding.withdraws)
    asked = asked.where(FindingStep.step == LAST_STEP).group_by(Finding.apparatus_id)
    return {row.apparatus_id: row.released_at for row in session.execute(asked)}


def put_right(session: Session, apparatus_ids: Iterable[int]) -> dict[int, list[datetime | None]]:
    """By apparatus, since when each of the faults that withdrew it is put right.

    That is when it was said to be repaired, or where that was never said when it was released;
    None for one of which neither was. Apparatus that were never withdrawn are left out.
    """
    found: dict[int, list[datetime | None]] = {}
    for row in session.execute(_put_right(), {"apparatus_ids": list(apparatus_ids)}):
        found.setdefault(row.apparatus_id, []).append(row.at)
    return found


@cache  # as what is unreleased
def _put_right() -> Select[int, datetime | None]:
    repaired, released = (
        func.max(case((FindingStep.step == step, FindingStep.recorded_at)))
        for step in (REPAIRED, LAST_STEP)
    )
    those: BindParameter[int] = bindparam("apparatus_ids", expanding=True)
    asked = select(Finding.apparatus_id, func.coalesce(repaired, released).label("at"))
    asked = asked.join(FindingStep, Finding.id == FindingStep.finding_id)
    asked = asked.where(Finding.apparatus_id.in_(those), Finding.withdraws)
    return asked.group_by(Finding.id, Finding.apparatus_id)


def _whole(asked: Select[Finding]) -> Select[Finding]:
    return asked.options(selectinload(Finding.steps), joinedload(Finding.apparatus, innerjoin=True))
