"""Meets: their sessions, apparatus and entries, as the host keeps them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    JSON,
    BindParameter,
    CheckConstraint,
    ColumnElement,
    Index,
    Row,
    Select,
    UniqueConstraint,
    bindparam,
    func,
    literal,
    select,
)
from sqlalchemy.orm import (
    InstrumentedAttribute,
    Mapped,
    Session,
    contains_eager,
    joinedload,
    mapped_column,
    selectinload,
)
from sqlalchemy.orm.interfaces import ORMOption

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.athletes import Athlete, Question
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
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.json_sql import ListOf
from settingsdesk.store.settings import LAST
from settingsdesk.store.work import add_rows


class Meet(ClubOwned, Base):
    """One meet, in one hall."""

    __tablename__ = "meet"
    __table_args__ = (
        referred_to(),
        Index(None, "club_id", "begins_on"),
        CheckConstraint("ends_on >= begins_on", name="days"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    hall: Mapped[str]
    begins_on: Mapped[date]
    ends_on: Mapped[date]
    cards_until: Mapped[date]
    """The last day on which the meet's cards open anything."""
    note: Mapped[str] = mapped_column(default="")
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    created_by: Mapped[str]

    sessions: Mapped[list[MeetSession]] = children_by(
        "MeetSession.meet_id", "Meet", order_by="MeetSession.number"
    )
    apparatus: Mapped[list[MeetApparatus]] = children_by(
        "MeetApparatus.meet_id", "Meet", owned=True
    )


class MeetSession(ClubOwned, Base):
    """A part of the meet with start orders of its own."""

    __tablename__ = "meet_session"
    __table_args__ = (
        referred_to(),
        of_same_club("meet_id", "meet"),
        UniqueConstraint("club_id", "meet_id", "number"),
        CheckConstraint("number >= 1", name="number"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_id: Mapped[int]
    number: Mapped[int]
    name: Mapped[str]
    held_on: Mapped[date]
    begins_at: Mapped[str] = mapped_column(default="")
    """The hour as it is announced, such as "09:30"; empty where it is not known."""


class MeetApparatus(ClubOwned, Base):
    """An apparatus that stands in the meet's hall, and the rules that hold there."""

    __tablename__ = "meet_apparatus"
    __table_args__ = (
        of_same_club("meet_id", "meet"),
        of_same_club("apparatus_id", "apparatus"),
        UniqueConstraint("club_id", "meet_id", "apparatus_id"),
        Index(None, "club_id", "apparatus_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_id: Mapped[int]
    apparatus_id: Mapped[int]
    rule_book: Mapped[str] = mapped_column(default="")
    """The name of the rule book that holds; empty for none."""
    level: Mapped[str] = mapped_column(default="")


class Entry(ClubOwned, Base):
    """One athlete entered for one meet, by whichever club."""

    __tablename__ = "entry"
    __table_args__ = (
        referred_to(),
        of_same_club("meet_id", "meet"),
        of_same_club("athlete_id", "athlete"),
        UniqueConstraint("club_id", "meet_id", "athlete_id"),
        Index(None, "club_id", "athlete_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_id: Mapped[int]
    athlete_id: Mapped[int]
    from_club: Mapped[str]
    start_number: Mapped[str] = mapped_column(default="")
    division: Mapped[str] = mapped_column(default="")
    entered_at: Mapped[datetime] = mapped_column(default=utc_now)
    entered_by: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str | None]

    athlete: Mapped[Athlete] = parent_by("Entry.athlete_id", "Athlete")
    raise_requests: Mapped[list[RaiseRequest]] = children_by("RaiseRequest.entry_id", "Entry")


class RaiseRequest(AppendOnly, ClubOwned, Base):
    """One step of a request to raise the rails for an athlete: asked, granted, refused, dropped.

    The latest step for an apparatus counts.
    """

    __tablename__ = "raise_request"
    __table_args__ = (
        of_same_club("entry_id", "entry"),
        of_same_club("apparatus_id", "apparatus"),
        Index(None, "club_id", "entry_id"),
        CheckConstraint("raise_mm >= 0", name="raise_mm"),
        CheckConstraint("step IN ('asked', 'granted', 'refused', 'dropped')", name="step"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    entry_id: Mapped[int]
    apparatus_id: Mapped[int]
    step: Mapped[str]
    raise_mm: Mapped[int]
    told_by: Mapped[str]
    """Who asked, or who settled it; not who typed it."""
    told_on: Mapped[date]
    remark: Mapped[str] = mapped_column(default="")
    marks_include: Mapped[bool | None]
    """Whether the marks that counted then include what was granted; None where nobody said it."""
    after_setting: Mapped[int] = mapped_column(default=LAST, server_default="0")
    """Settings with greater numbers were kept after it."""
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]


def by_id(session: Session, meet_id: int) -> Meet:
    """The meet with sessions and apparatus, or ``NotInThisClub``."""
    return row_by_id(session, Meet, meet_id, _with_parts())


def by_session(session: Session, session_id: int) -> Meet:
    """The meet that a session is of, as whole; ``NotInThisClub`` where there is no such session."""
    found = session.scalars(_by_session(), {"session_id": session_id}).unique().one_or_none()
    if found is None:
        raise NotInThisClub(MeetSession.spoken(), session_id)
    return found


@cache  # as the entries of an athlete
def _by_session() -> Select[Meet]:
    of_session = Meet.sessions.any(MeetSession.id == bindparam("session_id"))
    return select(Meet).options(*_with_parts()).where(of_session)


def models_there(session: Session, meet_id: int) -> list[int]:
    """The models of what stands at a meet, by number, in its order; ``NotInThisClub``."""
    asked = select(Apparatus.model_id).select_from(Meet)
    asked = asked.outerjoin(MeetApparatus, MeetApparatus.meet_id == Meet.id)
    asked = asked.outerjoin(Apparatus, Apparatus.id == MeetApparatus.apparatus_id)
    found = session.scalars(asked.where(Meet.id == meet_id).order_by(MeetApparatus.id)).all()
    if not found:
        raise NotInThisClub(Meet.spoken(), meet_id)
    return [model_id for model_id in found if model_id is not None]


def _with_parts() -> tuple[ORMOption, ...]:
    return joinedload(Meet.apparatus), selectinload(Meet.sessions)


def all_meets(session: Session) -> Sequence[Meet]:
    """The club's meets, the latest day first."""
    asked = select(Meet).options(selectinload(Meet.apparatus), selectinload(Meet.sessions))
    return session.scalars(asked.order_by(Meet.begins_on.desc(), Meet.id.desc())).all()


def from_day(session: Session, day: date) -> Sequence[Meet]:
    """The meets that are not over before that day, the first to begin first."""
    asked = select(Meet).where(Meet.ends_on >= day)
    return session.scalars(asked.order_by(Meet.begins_on, Meet.id)).all()


def session_by_id(session: Session, session_id: int) -> MeetSession:
    """The session of a meet, or ``NotInThisClub``."""
    return row_by_id(session, MeetSession, session_id)


def add_entries(session: Session, rows: Sequence[Mapping[str, Any]]) -> None:
    """Further entries, by column."""
    add_rows(session, Entry, rows)


def entry_by_id(session: Session, entry_id: int) -> Entry:
    """The entry, or ``NotInThisClub``."""
    whole = (joinedload(Entry.athlete, innerjoin=True), joinedload(Entry.raise_requests))
    return row_by_id(session, Entry, entry_id, whole)


def enter_as(session: Session, before: str, now: str, day: date) -> None:
    """Entries of the club's own meets under one club's name stand under another, but for meets
    that were over before that day.
    """
    to_come = select(Meet.id).where(Meet.ends_on >= day)
    rows = session.scalars(
        select(Entry).where(Entry.from_club == before, Entry.meet_id.in_(to_come))
    )
    for row in rows:
        row.from_club = now


def entries(
    session: Session, meet_id: int, most: int | None = None, after: int = 0, club: str = ""
) -> Sequence[Entry]:
    """The entries for a meet with athlete and requests, by club and name: all, or some of them.

    Where ``club`` names one, only its entries.
    """
    asked = select(Entry).where(Entry.meet_id == meet_id).join(Entry.athlete)
    if club:
        asked = asked.where(Entry.from_club == club)
    whole = asked.options(contains_eager(Entry.athlete), joinedload(Entry.raise_requests))
    in_order = whole.order_by(Entry.from_club, Athlete.in_order, Entry.id)
    return session.scalars(in_order.limit(most).offset(after or None)).unique().all()


def entries_of(session: Session, meet_id: int, athlete_ids: Iterable[int]) -> Sequence[Entry]:
    """The entries of those athletes for a meet, each with its athlete alone."""
    asked = select(Entry).where(Entry.meet_id == meet_id, Entry.athlete_id.in_(list(athlete_ids)))
    return session.scalars(asked.options(joinedload(Entry.athlete, innerjoin=True))).all()


def entries_by_club(
    session: Session, meet_id: int
) -> Sequence[Row[str, int, int, list[str], list[int]]]:
    """Of each club at a meet: how many are or were entered, and come; numbers, and who is gone.

    The numbers are the start numbers of those who come, as far as they have one; whoever was
    withdrawn is told by the athlete's own.
    """
    come = Entry.withdrawn_at.is_(None)
    asked = select(
        Entry.from_club,
        func.count(),
        func.count().filter(come),
        _all_of(Entry.start_number, come & (Entry.start_number != "")),
        _all_of(Entry.athlete_id, ~come),
    )
    of_meet = asked.where(Entry.meet_id == meet_id)
    return session.execute(of_meet.group_by(Entry.from_club).order_by(Entry.from_club)).all()


def _all_of(column: InstrumentedAttribute[Any], those: ColumnElement[bool]) -> ColumnElement[Any]:
    return func.coalesce(ListOf(column).filter(those), literal([], JSON))


def not_entered(asked: Question, meet_id: int) -> Question:
    """Of the athletes asked for, those who never were entered for the meet."""
    return asked.where(Athlete.id.not_in(select(Entry.athlete_id).where(Entry.meet_id == meet_id)))


def entries_of_athletes(session: Session, athlete_ids: Iterable[int]) -> Sequence[Entry]:
    """The entries of those athletes for any meet, the latest first."""
    those = {"athlete_ids": list(athlete_ids)}
    return session.scalars(_of_athletes(), those).unique().all()


@cache  # every page about an athlete asks it, and to put it together takes longer than the answer
def _of_athletes() -> Select[Entry]:
    those: BindParameter[int] = bindparam("athlete_ids", expanding=True)
    return _whole(select(Entry).where(Entry.athlete_id.in_(those))).order_by(Entry.id.desc())


def ends_of_cards(session: Session, meet_ids: Iterable[int]) -> dict[int, date]:
    """The last day on which the cards of each of those meets count, by the meet's number."""
    asked = select(Meet.id, Meet.cards_until).where(Meet.id.in_(list(meet_ids)))
    return {row.id: row.cards_until for row in session.execute(asked)}


def is_entered(session: Session, session_id: int, athlete_id: int) -> bool:
    """Whether an athlete is, or was, entered for the meet that a session is of."""
    asked = select(Entry.id).join(MeetSession, MeetSession.meet_id == Entry.meet_id)
    asked = asked.where(MeetSession.id == session_id, Entry.athlete_id == athlete_id)
    return session.scalar(asked) is not None


def is_coming(session: Session, session_id: int, athlete_id: int) -> bool:
    """Whether the entry of an athlete for the meet that a session is of still counts."""
    asked = select(Entry.id).join(MeetSession, MeetSession.meet_id == Entry.meet_id)
    asked = asked.where(
        MeetSession.id == session_id,
        Entry.athlete_id == athlete_id,
        Entry.withdrawn_at.is_(None),
    )
    return session.scalar(asked) is not None


def _whole(asked: Select[Entry]) -> Select[Entry]:
    return asked.options(
        joinedload(Entry.athlete, innerjoin=True), joinedload(Entry.raise_requests)
    )


def guests_of_before(session: Session, day: date, most: int) -> Sequence[int]:
    """The numbers of the guests of meets that ended before a day, with their person there."""
    asked = (
        select(Athlete.id)
        .join(Meet, Meet.id == Athlete.meet_id)
        .where(Meet.ends_on < day, Athlete.erased_on.is_(None), Athlete.taken_into_id.is_(None))
    )
    return session.scalars(asked.order_by(Athlete.id).limit(most)).all()
