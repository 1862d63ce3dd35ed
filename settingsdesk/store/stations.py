"""Stations: an apparatus at a meet that volunteers' phones are let in to, without accounts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Index, bindparam, select
from sqlalchemy.orm import Mapped, Session, mapped_column, selectinload

from settingsdesk.store.base import (
    Base,
    ClubOwned,
    children_by,
    of_same_club,
    parent_by,
    referred_to,
    row_by_id,
    utc_now,
)
from settingsdesk.store.clubs import REVISION, Club
from settingsdesk.store.meets import MeetSession


class Station(ClubOwned, Base):
    """One apparatus in one session, open to whoever has its code until it is closed.

    Both of its codes are kept only as hashes.
    """

    __tablename__ = "station"
    __table_args__ = (
        referred_to(),
        of_same_club("session_id", "meet_session"),
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "session_id"),
        Index(None, "club_id", "apparatus_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int]
    apparatus_id: Mapped[int]
    key: Mapped[str] = mapped_column(unique=True)
    """What both codes are made from, together with the installation's secret."""
    code_hash: Mapped[str] = mapped_column(unique=True)
    short_code_mark: Mapped[str] = mapped_column(unique=True)
    opened_at: Mapped[datetime] = mapped_column(default=utc_now)
    opened_by: Mapped[str]
    until: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    closed_by: Mapped[str | None]

    session: Mapped[MeetSession] = parent_by("Station.session_id", "MeetSession")
    phones: Mapped[list[StationPhone]] = children_by("StationPhone.station_id", "Station")


class StationPhone(ClubOwned, Base):
    """One phone that was let in; a cookie without its row is worth nothing."""

    __tablename__ = "station_phone"
    __table_args__ = (of_same_club("station_id", "station"), Index(None, "club_id", "station_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    station_id: Mapped[int]
    shown_name: Mapped[str]
    """By which name the volunteer confirms: as typed there, no more is known of them."""
    stamp_hash: Mapped[str] = mapped_column(unique=True)
    let_in_at: Mapped[datetime] = mapped_column(default=utc_now)
    put_out_at: Mapped[datetime | None]

    station: Mapped[Station] = parent_by("StationPhone.station_id", "Station", back="phones")


class StationLetIn(ClubOwned, Base):
    """One phone that somebody at the desk lets in by the code it shows, whose hash is kept."""

    __tablename__ = "station_let_in"
    __table_args__ = (of_same_club("station_id", "station"), Index(None, "club_id", "station_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    station_id: Mapped[int]
    code_mark: Mapped[str] = mapped_column(unique=True)
    let_in_by: Mapped[str]
    until: Mapped[datetime]
    used_at: Mapped[datetime | None]


OF_STAMP = (
    select(
        StationPhone.id.label("phone_id"),
        StationPhone.station_id,
        StationPhone.club_id,
        StationPhone.shown_name,
        StationPhone.put_out_at,
        Station.session_id,
        Station.apparatus_id,
        Station.closed_at,
        Station.until,
        Club.closed_at.label("club_closed_at"),
        Club.length_unit,
        *REVISION,
    )
    .join(Station, Station.id == StationPhone.station_id)
    .join(Club, Club.id == StationPhone.club_id)
    .where(StationPhone.stamp_hash == bindparam("stamp_hash"))
)
"""For ``Store.row``: the phone of a cookie, in whichever state it and its station are."""


def by_id(session: Session, station_id: int) -> Station:
    """The station, or ``NotInThisClub``."""
    return row_by_id(session, Station, station_id)


def by_code_hash(session: Session, code_hash: str) -> Station | None:
    """The station whose long code was scanned, open or not."""
    return session.scalar(select(Station).where(Station.code_hash == code_hash))


def by_short_code_mark(session: Session, mark: str) -> Station | None:
    """The station whose short code was typed, open or not."""
    return session.scalar(select(Station).where(Station.short_code_mark == mark))


def let_in_by_code_mark(session: Session, mark: str) -> StationLetIn | None:
    """What somebody at the desk said of the phone that shows that code, if anything."""
    return session.scalar(select(StationLetIn).where(StationLetIn.code_mark == mark))


def phone_by_id(session: Session, phone_id: int) -> StationPhone:
    """The phone, or ``NotInThisClub``."""
    return row_by_id(session, StationPhone, phone_id)


def names_in(session: Session, station_id: int) -> dict[int, str]:
    """The names of the phones that are in at a station, by their numbers; the first in first."""
    asked = select(StationPhone.id, StationPhone.shown_name).where(
        StationPhone.station_id == station_id, StationPhone.put_out_at.is_(None)
    )
    return dict(session.execute(asked.order_by(StationPhone.id)).all())


def of_session(session: Session, session_id: int) -> Sequence[Station]:
    """Every station of a session with its phones, the latest opened first."""
    asked = select(Station).options(selectinload(Station.phones))
    asked = asked.where(Station.session_id == session_id)
    return session.scalars(asked.order_by(Station.id.desc())).all()
