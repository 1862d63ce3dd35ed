"""Clubs, the accounts of who may sign in, and what each is in which club."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any, Literal

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    ForeignKey,
    Index,
    Row,
    Select,
    String,
    UniqueConstraint,
    func,
    select,
)
from sqlalchemy.orm import Mapped, Session, contains_eager, mapped_column, relationship, validates

from settingsdesk.store.base import (
    Base,
    ClubOwned,
    InstallationWide,
    referred_to,
    row_by_id,
    utc_now,
)
from settingsdesk.store.errors import NotInThisClub

LengthUnit = Literal["cm", "in"]
RoleName = Literal["owner", "coach", "helper"]
ROLES = "role IN ('owner', 'coach', 'helper')"


class Club(Base):
    """One club on this installation; everything else in the store belongs to one."""

    __tablename__ = "club"
    __table_args__ = (
        CheckConstraint("length_unit IN ('cm', 'in')", name="length_unit"),
        CheckConstraint("guests_kept_days >= 0", name="guests_kept_days"),
        CheckConstraint("left_kept_days >= 0", name="left_kept_days"),
        CheckConstraint("season_days >= 0", name="season_days"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    length_unit: Mapped[LengthUnit] = mapped_column(String, default="cm")
    """The unit in which this club reads and types lengths; they are kept in millimetres."""
    paper_language: Mapped[str] = mapped_column(default="en", server_default="en")
    """The tag of the language in which its cards and crew sheets are printed."""
    guests_kept_days: Mapped[int] = mapped_column(default=30, server_default="30")
    """How many days after a meet's last day its guests are kept."""
    left_kept_days: Mapped[int | None]
    """How many days after they left athletes are kept; empty for as long as nobody erases them."""
    season_days: Mapped[int | None] = mapped_column(default=180, server_default="180")
    """After how many days a setting is asked about; 0 or empty where none is for its age."""
    days_seen: Mapped[list[str]] = mapped_column(default=list, server_default="[]")
    """The last days on which the desk looked whose time is over, the oldest first."""
    last_cleared: Mapped[dict[str, Any] | None]
    """On which day that was last done for somebody, and for how many."""
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    records_revision: Mapped[int] = mapped_column(BigInteger, server_default="0")
    """Another number after every change but those of the next (see ``revisions``)."""
    runs_revision: Mapped[int] = mapped_column(BigInteger, server_default="0")
    """Another number after whatever happens in runs and at the apparatus."""
    second_factor_needed: Mapped[bool] = mapped_column(default=False, server_default="0")
    """Whether everybody of the club must have one."""
    closed_at: Mapped[datetime | None]
    """Since when nobody signs in for it and nothing of it is open; its rows stay."""


REVISION = (Club.records_revision, Club.runs_revision)
"""What a statement asks for besides, where ``Revision.of`` is to read its row."""


@dataclass(frozen=True, slots=True)
class Revision:
    """A club's numbers at one moment: where they are equal, nothing was written in between."""

    records: int
    runs: int

    @staticmethod
    def of(row: Club | Row[*tuple[Any, ...]]) -> Revision:
        """The numbers as the row has them that was read."""
        return Revision(row.records_revision, row.runs_revision)


class Account(InstallationWide, Base):
    """Somebody who may sign in, wherever they belong."""

    __tablename__ = "account"

    id: Mapped[int] = mapped_column(primary_key=True)
    sign_in_name: Mapped[str] = mapped_column(unique=True)
    """Kept case-folded; no two accounts of the whole installation share one."""
    password_hash: Mapped[str]
    second_factor_salt: Mapped[str | None]
    """From which, and the installation's key, the second factor is worked out; None without."""
    second_factor_step: Mapped[int | None]
    """The last of its steps whose code was used."""
    owns_installation: Mapped[bool] = mapped_column(default=False, server_default="0")
    """Whether it makes and closes clubs: that opens none of them."""
    created_at: Mapped[datetime] = mapped_column(default=utc_now)

    memberships: Mapped[list[Membership]] = relationship(
        back_populates="account", order_by="Membership.id"
    )

    @validates("sign_in_name")
    def _fold(self, _key: str, name: str) -> str:
        return sign_in_key(name)


class Membership(ClubOwned, Base):
    """What an account is in one club.

    Records name who made them in words (``recorded_by``), so that they stay readable after
    somebody has gone.
    """

    __tablename__ = "membership"
    __table_args__ = (
        referred_to(),
        UniqueConstraint("club_id", "account_id"),
        CheckConstraint(ROLES, name="role"),
        Index(None, "account_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="RESTRICT"))
    role: Mapped[RoleName] = mapped_column(String)
    shown_name: Mapped[str]
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    disabled_at: Mapped[datetime | None]

    account: Mapped[Account] = relationship(back_populates="memberships")


def sign_in_key(name: str) -> str:
    """The sign-in name as it is kept: case, width and blanks around it do not matter."""
    return unicodedata.normalize("NFKC", name).strip().casefold()


def all_clubs(session: Session) -> Sequence[Club]:
    """Every club the session may see: all of them only in ``Store.installation``."""
    return session.scalars(select(Club).order_by(Club.name, Club.id)).all()


def this_club(session: Session) -> Club:
    """The club that the session is fenced in to: only inside ``Store.work``; read once."""
    known = session.info.get(THIS_CLUB)
    if known is None:
        known = session.info[THIS_CLUB] = session.scalars(_this_club()).one()
    club: Club = known
    return club


THIS_CLUB = "settingsdesk_this_club"


@cache
def _this_club() -> Select[Club]:
    return select(Club)


def club_by_id(session: Session, club_id: int) -> Club:
    """The club, or ``NotInThisClub``."""
    return row_by_id(session, Club, club_id)


def account_by_id(session: Session, account_id: int) -> Account:
    """The account, or ``NotInThisClub``."""
    return row_by_id(session, Account, account_id)


def account_by_sign_in_name(session: Session, typed: str) -> Account | None:
    """The account that signs in by that name, however its letters are cased."""
    return session.scalar(select(Account).where(Account.sign_in_name == sign_in_key(typed)))


def membership_by_id(session: Session, club_id: int, membership_id: int) -> Membership:
    """What somebody is in that club, or ``NotInThisClub``; with the account."""
    asked = _memberships(club_id).where(Membership.id == membership_id)
    found = session.scalar(asked)
    if found is None:
        raise NotInThisClub(Membership.spoken(), membership_id)
    return found


def memberships_of_club(session: Session, club_id: int) -> Sequence[Membership]:
    """Everybody of a club with their accounts, in order of their names."""
    return session.scalars(_memberships(club_id).order_by(Membership.shown_name)).all()


def _memberships(club_id: int) -> Select[Membership]:
    asked = select(Membership).join(Membership.account).options(contains_eager(Membership.account))
    return asked.where(Membership.club_id == club_id)


def clubs_open_to(session: Session, account_id: int) -> Sequence[Club]:
    """Every club for which an account may act, in order of their names."""
    asked = select(Club).join(Membership, Membership.club_id == Club.id)
    asked = asked.where(
        Membership.account_id == account_id,
        Membership.disabled_at.is_(None),
        Club.closed_at.is_(None),
    )
    return session.scalars(asked.order_by(Club.name, Club.id)).all()


def open_memberships(session: Session, account_id: int) -> Sequence[Membership]:
    """Where an account may act, the oldest first."""
    asked = select(Membership).join(Club, Club.id == Membership.club_id)
    asked = asked.where(
        Membership.account_id == account_id,
        Membership.disabled_at.is_(None),
        Club.closed_at.is_(None),
    )
    return session.scalars(asked.order_by(Membership.id)).all()


def in_closed_clubs(session: Session, account_id: int) -> Sequence[str]:
    """The names of the closed clubs for which an account would act."""
    asked = select(Club.name).join(Membership, Membership.club_id == Club.id)
    asked = asked.where(Membership.account_id == account_id, Membership.disabled_at.is_(None))
    return session.scalars(asked.where(Club.closed_at.is_not(None)).order_by(Club.name)).all()


def numbers_of_people(session: Session) -> dict[int, int]:
    """How many may sign in for each club that has anybody."""
    asked = select(Membership.club_id, func.count()).where(Membership.disabled_at.is_(None))
    rows = session.execute(asked.group_by(Membership.club_id))
    return {club_id: count for club_id, count in rows}  # noqa: C416 -- rows, not pairs


def installation_owners(session: Session) -> Sequence[Account]:
    """Who makes and closes clubs, in order of their sign-in names."""
    asked = select(Account).where(Account.owns_installation.is_(True))
    return session.scalars(asked.order_by(Account.sign_in_name)).all()


def names_of_accounts(session: Session, numbers: Iterable[int]) -> dict[int, str]:
    """How those accounts are called in this club; who is not in it any more is left out."""
    asked = select(Membership.account_id, Membership.shown_name).where(
        Membership.account_id.in_(list(numbers))
    )
    return {number: name for number, name in session.execute(asked)}  # noqa: C416 -- rows, not pairs
