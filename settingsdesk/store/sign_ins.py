"""The devices on which people are signed in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import ForeignKeyConstraint, Index, bindparam, delete, func, select, update
from sqlalchemy.orm import Mapped, Session, aliased, mapped_column

from settingsdesk.store.base import Base, ClubOwned, utc_now
from settingsdesk.store.clubs import REVISION, Account, Club, Membership


class SignIn(ClubOwned, Base):
    """One account signed in on one device, and the club that it acts for there.

    A cookie without its row is worth nothing, however well it is signed.
    """

    __tablename__ = "sign_in"
    __table_args__ = (
        ForeignKeyConstraint(
            ["club_id", "account_id"],
            ["membership.club_id", "membership.account_id"],
            ondelete="RESTRICT",
        ),
        Index(None, "club_id", "account_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int]
    stamp_hash: Mapped[str] = mapped_column(unique=True)
    """Of the stamp in the cookie, so that a copy of the database signs nobody in."""
    began_at: Mapped[datetime] = mapped_column(default=utc_now)
    seen_at: Mapped[datetime] = mapped_column(default=utc_now)
    """About when it last asked for a page."""
    waits_for_code: Mapped[bool] = mapped_column(default=False, server_default="0")
    """Whether the password was right and the second factor is still to come."""
    device: Mapped[str] = mapped_column(default="")
    """What the browser says it is, in two words: "Firefox, Android"."""


_elsewhere, _another = aliased(Membership), aliased(Club)
_CLUBS_ELSEWHERE = (
    select(func.count(_elsewhere.id))
    .join(_another, _another.id == _elsewhere.club_id)
    .where(
        _elsewhere.account_id == SignIn.account_id,
        _elsewhere.club_id != SignIn.club_id,
        _elsewhere.disabled_at.is_(None),
        _another.closed_at.is_(None),
    )
    .scalar_subquery()
)

OF_STAMP = (
    select(
        SignIn.began_at,
        SignIn.seen_at,
        SignIn.waits_for_code,
        Account.id.label("account_id"),
        Account.sign_in_name,
        Account.second_factor_salt,
        Account.owns_installation,
        Club.second_factor_needed,
        Club.closed_at,
        Membership.role,
        Membership.shown_name,
        Membership.disabled_at,
        Club.id.label("club_id"),
        Club.name.label("club_name"),
        Club.length_unit,
        Club.season_days,
        Club.paper_language,
        _CLUBS_ELSEWHERE.label("clubs_elsewhere"),
        *REVISION,
    )
    .join(Account, Account.id == SignIn.account_id)
    .join(
        Membership,
        (Membership.account_id == SignIn.account_id) & (Membership.club_id == SignIn.club_id),
    )
    .join(Club, Club.id == SignIn.club_id)
    .where(SignIn.stamp_hash == bindparam("stamp_hash"))
)
"""For ``Store.row``: account, club and role of a cookie, none once its sign-in has ended."""


def by_stamp_hash(session: Session, stamp_hash: str) -> SignIn | None:
    """The sign-in of a cookie, also while it waits for its code."""
    return session.scalar(select(SignIn).where(SignIn.stamp_hash == stamp_hash))


def of_club(session: Session, club_id: int) -> Sequence[SignIn]:
    """Every device on which somebody acts for the club, the last seen first."""
    asked = select(SignIn).where(SignIn.club_id == club_id, SignIn.waits_for_code.is_(False))
    return session.scalars(asked.order_by(SignIn.seen_at.desc(), SignIn.id.desc())).all()


def of_account(session: Session, account_id: int) -> Sequence[SignIn]:
    """Every device on which an account is signed in, the last seen first."""
    asked = select(SignIn).where(SignIn.account_id == account_id, SignIn.waits_for_code.is_(False))
    return session.scalars(asked.order_by(SignIn.seen_at.desc(), SignIn.id.desc())).all()


def was_seen(session: Session, stamp_hash: str, moment: datetime) -> None:
    """Note when a device asked last."""
    session.execute(update(SignIn).where(SignIn.stamp_hash == stamp_hash).values(seen_at=moment))


def end_one(session: Session, stamp_hash: str) -> None:
    """Sign out on one device; nothing happens where that has been done."""
    session.execute(delete(SignIn).where(SignIn.stamp_hash == stamp_hash))


def end_all(session: Session, account_id: int, *, club_id: int | None = None) -> None:
    """Sign the account out on every device; with a club, where it acts for that club."""
    asked = delete(SignIn).where(SignIn.account_id == account_id)
    session.execute(asked if club_id is None else asked.where(SignIn.club_id == club_id))


def end_of_club(session: Session, club_id: int) -> None:
    """Sign out whoever acts for the club, on every device, also who is about to."""
    session.execute(delete(SignIn).where(SignIn.club_id == club_id))


def end_older(session: Session, moment: datetime) -> None:
    """Let go of every sign-in that began before that moment."""
    session.execute(delete(SignIn).where(SignIn.began_at < moment))
