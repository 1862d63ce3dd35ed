"""Codes that stand in for a second factor that was lost, each once; kept as hashes."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import ForeignKey, Index, delete, func, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, InstallationWide


class RecoveryCode(InstallationWide, Base):
    """One that was not used yet."""

    __tablename__ = "recovery_code"
    __table_args__ = (Index(None, "account_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="RESTRICT"))
    code_hash: Mapped[str] = mapped_column(unique=True)


def replace(session: Session, account_id: int, code_hashes: Iterable[str]) -> None:
    """Let these count for the account, and none from before."""
    session.execute(delete(RecoveryCode).where(RecoveryCode.account_id == account_id))
    session.add_all(RecoveryCode(account_id=account_id, code_hash=one) for one in code_hashes)


def use(session: Session, account_id: int, code_hash: str) -> bool:
    """Use one up; whether it was one of the account's."""
    asked = select(RecoveryCode).where(
        RecoveryCode.account_id == account_id, RecoveryCode.code_hash == code_hash
    )
    row = session.scalar(asked)
    if row is not None:
        session.delete(row)
    return row is not None


def left(session: Session, account_id: int) -> int:
    """How many of an account were not used yet."""
    asked = select(func.count(RecoveryCode.id)).where(RecoveryCode.account_id == account_id)
    return session.scalar(asked) or 0
