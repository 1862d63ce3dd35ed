"""The club's athletes, and finding one by a few letters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Index, event, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from settingsdesk.store.base import (
    Base,
    ClubOwned,
    folded,
    of_same_club,
    one,
    referred_to,
    utc_now,
)

if TYPE_CHECKING:
    from settingsdesk.store.settings import Setting


class Athlete(ClubOwned, Base):
    """One athlete, with no more about the person than the work at the apparatus needs."""

    __tablename__ = "athlete"
    __table_args__ = (
        referred_to(),
        of_same_club("meet_id", "meet"),
        Index(None, "club_id", "searched"),
        Index(None, "club_id", "meet_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    family_name: Mapped[str]
    given_name: Mapped[str]
    printed_name: Mapped[str] = mapped_column(default="")
    """The name on cards and sheets; empty means the usual form, given name and initial."""
    group_name: Mapped[str] = mapped_column(default="")
    start_number: Mapped[str] = mapped_column(default="")
    left_on: Mapped[date | None]
    """The day on which the athlete left the club; empty while they are in it."""
    meet_id: Mapped[int | None]
    """The meet for which another club entered them; empty for the club's own squad."""
    created_at: Mapped[datetime] = mapped_column(default=utc_now)
    created_by: Mapped[str]
    searched: Mapped[str]
    """All names folded for searching and sorting; filled from the others when written."""

    settings: Mapped[list[Setting]] = relationship(
        primaryjoin="Athlete.id == foreign(Setting.athlete_id)",
        back_populates="athlete",
        order_by="Setting.model_id, Setting.version",
        passive_deletes="all",
    )


@event.listens_for(Athlete, "before_insert")
@event.listens_for(Athlete, "before_update")
def _fill_searched(_mapper: Any, _connection: Any, athlete: Athlete) -> None:
    athlete.searched = folded(
        " ".join(
            part or ""
            for part in (
                athlete.family_name,
                athlete.given_name,
                athlete.printed_name,
                athlete.group_name,
                athlete.start_number,
            )
        )
    )


def by_id(session: Session, athlete_id: int) -> Athlete:
    """The athlete, or ``NotInThisClub``."""
    return one(session, Athlete, athlete_id)


def by_ids(session: Session, athlete_ids: Iterable[int]) -> dict[int, Athlete]:
    """Those athletes by number, in one query; a number nobody has is left out."""
    found = session.scalars(select(Athlete).where(Athlete.id.in_(list(athlete_ids))))
    return {athlete.id: athlete for athlete in found}


def search(session: Session, text: str = "", *, left: bool = False) -> Sequence[Athlete]:
    """The squad's in whose names, group or start number every typed word occurs, by family name.

    Case and accents do not matter; athletes of other clubs are left out. With ``left`` those who
    have left the club, otherwise those who are in it.
    """
    asked = select(Athlete).where(
        Athlete.left_on.is_not(None) if left else Athlete.left_on.is_(None)
    )
    asked = asked.where(Athlete.meet_id.is_(None))
    for word in folded(text).split():
        asked = asked.where(Athlete.searched.contains(word, autoescape=True))
    return session.scalars(asked.order_by(Athlete.searched, Athlete.id)).all()


def group_names(session: Session) -> Sequence[str]:
    """The names of the groups that present athletes of the squad are in."""
    present = (Athlete.left_on.is_(None), Athlete.meet_id.is_(None))
    asked = select(Athlete.group_name).where(*present, Athlete.group_name != "")
    return session.scalars(asked.distinct().order_by(Athlete.group_name)).all()
