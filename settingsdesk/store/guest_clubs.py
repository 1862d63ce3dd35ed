"""Clubs of one desk that enter for a meet of another: what the host keeps, and what the guest.

No row of one club refers to a row of the other: the guest keeps the host's numbers as numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy import Index, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, selectinload

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.athletes import Athlete
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
from settingsdesk.store.clubs import Club
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.meets import Entry, MeetApparatus
from settingsdesk.store.settings import LAST


class MeetGuest(ClubOwned, Base):
    """The host's: a club that was invited to a meet, by a link that works once.

    ``guest_club`` and ``accepted_at`` are empty until it was used.
    """

    __tablename__ = "meet_guest"
    __table_args__ = (
        referred_to(),
        of_same_club("meet_id", "meet"),
        Index(None, "club_id", "meet_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_id: Mapped[int]
    entered_as: Mapped[str]
    """The club's name in the meet's entries, as the host says it."""
    code_hash: Mapped[str] = mapped_column(unique=True)
    made_at: Mapped[datetime] = mapped_column(default=utc_now)
    made_by: Mapped[str]
    until: Mapped[datetime]
    guest_club: Mapped[int | None]
    """The number of the club that said yes."""
    accepted_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]

    deliveries: Mapped[list[MeetDelivery]] = children_by("MeetDelivery.meet_guest_id", "MeetGuest")


class MeetDelivery(AppendOnly, ClubOwned, Base):
    """The host's: what a guest club handed over at one press."""

    __tablename__ = "meet_delivery"
    __table_args__ = (
        of_same_club("meet_guest_id", "meet_guest"),
        Index(None, "club_id", "meet_guest_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_guest_id: Mapped[int]
    at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]
    """Who pressed, of which club."""
    entered: Mapped[int]
    """How many athletes came new."""
    settings: Mapped[int]
    left_out: Mapped[int]


class MeetAway(ClubOwned, Base):
    """The guest's: a meet of another club of this desk that it was invited to and said yes."""

    __tablename__ = "meet_away"
    __table_args__ = (referred_to(), UniqueConstraint("host_club", "meet_guest"))

    id: Mapped[int] = mapped_column(primary_key=True)
    host_club: Mapped[int]
    """The number of the host."""
    meet_guest: Mapped[int]
    """The number of the host's ``MeetGuest``."""
    host_name: Mapped[str]
    meet_name: Mapped[str]
    ends_on: Mapped[date]
    accepted_at: Mapped[datetime] = mapped_column(default=utc_now)


class HandedOver(ClubOwned, Base):
    """The guest's: one of its athletes who was handed over to the host of a meet."""

    __tablename__ = "handed_over"
    __table_args__ = (
        of_same_club("meet_away_id", "meet_away"),
        of_same_club("athlete_id", "athlete"),
        UniqueConstraint("club_id", "meet_away_id", "athlete_id"),
        Index(None, "club_id", "athlete_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    meet_away_id: Mapped[int]
    athlete_id: Mapped[int]
    entry: Mapped[int]
    """The number of the entry at the host."""
    sent_at: Mapped[datetime] = mapped_column(default=utc_now)
    withdrawn_at: Mapped[datetime | None]
    after_setting: Mapped[int] = mapped_column(default=LAST, server_default="0")
    """Settings with greater numbers were kept after what was sent."""

    athlete: Mapped[Athlete] = parent_by("HandedOver.athlete_id", "Athlete")


def by_id(session: Session, number: int) -> MeetGuest:
    """The club that was invited, or ``NotInThisClub``."""
    return row_by_id(session, MeetGuest, number)


def with_closing(session: Session, number: int) -> tuple[MeetGuest, datetime | None]:
    """The club that was invited, and since when the host's club is closed; ``NotInThisClub``."""
    asked = select(MeetGuest, Club.closed_at).join(Club, Club.id == MeetGuest.club_id)
    found = session.execute(asked.where(MeetGuest.id == number)).one_or_none()
    if found is None:
        raise NotInThisClub(MeetGuest.spoken(), number)
    return found[0], found[1]


def apparatus_at(session: Session, meet_id: int) -> Sequence[tuple[str, str, str]]:
    """What stands at a meet: the name of each apparatus, its model's, and the model's kind."""
    asked = select(Apparatus.name, ApparatusModel.name, ApparatusModel.kind)
    asked = asked.join(MeetApparatus, MeetApparatus.apparatus_id == Apparatus.id)
    asked = asked.join(ApparatusModel, ApparatusModel.id == Apparatus.model_id)
    asked = asked.where(MeetApparatus.meet_id == meet_id).order_by(MeetApparatus.id)
    return [(name, model, kind) for name, model, kind in session.execute(asked)]


def entries_of(session: Session, meet_id: int) -> Sequence[tuple[int, str, str, str]]:
    """The entries of guests of a meet: number, club, family name and given name."""
    asked = select(Entry.id, Entry.from_club, Athlete.family_name, Athlete.given_name)
    asked = asked.join(Athlete, Athlete.id == Entry.athlete_id)
    asked = asked.where(Entry.meet_id == meet_id, Athlete.meet_id.is_not(None))
    return [(number, club, family, given) for number, club, family, given in session.execute(asked)]


def by_code_hash(session: Session, code_hash: str) -> MeetGuest | None:
    """The invitation of a link, used or ended or not."""
    return session.scalar(select(MeetGuest).where(MeetGuest.code_hash == code_hash))


def of_meet(session: Session, meet_id: int) -> Sequence[MeetGuest]:
    """Every club that was invited to a meet, with what it handed over, in that order."""
    asked = select(MeetGuest).options(selectinload(MeetGuest.deliveries))
    return session.scalars(asked.where(MeetGuest.meet_id == meet_id).order_by(MeetGuest.id)).all()


def away(session: Session, meet_away_id: int) -> MeetAway:
    """The meet elsewhere, or ``NotInThisClub``."""
    return row_by_id(session, MeetAway, meet_away_id)


def all_away(session: Session) -> Sequence[MeetAway]:
    """Every meet elsewhere, the latest first."""
    return session.scalars(select(MeetAway).order_by(MeetAway.ends_on.desc(), MeetAway.id)).all()


def handed_over_of(session: Session, athlete_id: int) -> Sequence[tuple[MeetAway, int]]:
    """The meets elsewhere that one athlete was handed over for, each with the host's entry."""
    asked = select(MeetAway, HandedOver.entry).join(
        HandedOver, HandedOver.meet_away_id == MeetAway.id
    )
    asked = asked.where(HandedOver.athlete_id == athlete_id).order_by(MeetAway.id)
    return [(row, entry) for row, entry in session.execute(asked)]


def guest_by_entry(
    session: Session, meet_guest_id: int, guest_club: int, entry: int
) -> Athlete | None:
    """The host's guest behind an entry that a club handed over; None where there is none now."""
    asked = select(Athlete).join(Entry, Entry.athlete_id == Athlete.id)
    asked = asked.join(MeetGuest, MeetGuest.meet_id == Entry.meet_id)
    asked = asked.where(MeetGuest.id == meet_guest_id, MeetGuest.guest_club == guest_club)
    asked = asked.where(Entry.id == entry, Entry.from_club == MeetGuest.entered_as)
    return session.scalar(asked.where(Athlete.meet_id.is_not(None), Athlete.erased_on.is_(None)))


def handed_over(session: Session, meet_away_id: int) -> Sequence[HandedOver]:
    """Whoever was handed over for a meet, with the athlete, by name."""
    asked = select(HandedOver).join(HandedOver.athlete).options(joinedload(HandedOver.athlete))
    asked = asked.where(HandedOver.meet_away_id == meet_away_id)
    return session.scalars(asked.order_by(Athlete.in_order, Athlete.id)).all()
