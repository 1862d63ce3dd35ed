"""Tries in vain, for as long as they count; of whom and from where is kept as a hash only."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sqlalchemy import BigInteger, Index, delete, func, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, InstallationWide


class FailedTry(InstallationWide, Base):
    """One try that did not succeed, counted under one of its names."""

    __tablename__ = "failed_try"
    __table_args__ = (Index(None, "counted", "at_ms"), Index(None, "at_ms"))

    id: Mapped[int] = mapped_column(primary_key=True)
    counted: Mapped[str]
    at_ms: Mapped[int] = mapped_column(BigInteger)
    """Milliseconds since 1970."""


def since(
    session: Session, since_ms: Mapping[str, int], until_ms: int
) -> dict[str, tuple[int, int]]:
    """How many failures each name has after its moment, and when the first of them was.

    None counts from after ``until_ms``: a wrong clock put it there.
    """
    asked = (
        select(FailedTry.counted, func.count(), func.min(FailedTry.at_ms))
        .where(
            or_(
                *(
                    (FailedTry.counted == counted) & (FailedTry.at_ms > after)
                    for counted, after in since_ms.items()
                )
            )
        )
        .where(FailedTry.at_ms <= until_ms)
        .group_by(FailedTry.counted)
    )
    return {counted: (many, first) for counted, many, first in session.execute(asked)}


def forget_outside(session: Session, after_ms: int, until_ms: int) -> None:
    """Let go of what no limit counts any more, and of what a wrong clock put into the future."""
    session.execute(
        delete(FailedTry).where(or_(FailedTry.at_ms <= after_ms, FailedTry.at_ms > until_ms))
    )


def take_back(session: Session, whole: str, latest_of: Collection[str]) -> None:
    """Let go of every failure of the one name, and of the last one of each of the others."""
    latest = (
        select(func.max(FailedTry.id))
        .where(FailedTry.counted.in_(latest_of))
        .group_by(FailedTry.counted)
    )
    session.execute(
        delete(FailedTry).where(or_(FailedTry.counted == whole, FailedTry.id.in_(latest)))
    )
