"""Growth: from which day on an athlete's settings may be too small."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Index, func, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import AppendOnly, Base, ClubOwned, of_same_club, parent_by, utc_now


class Growth(AppendOnly, ClubOwned, Base):
    """A coach saw that an athlete has grown: nothing else, no length of a body."""

    part_of = "athlete"
    __tablename__ = "growth"
    __table_args__ = (
        of_same_club("athlete_id", "athlete"),
        Index(None, "club_id", "athlete_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[int]
    number: Mapped[int]
    """Greater than every number that a setting or a confirmation answered before it.

    What is noted anew of an entry, into which another one was taken, has the number of that one's.
    """
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]

    athlete: Mapped[Athlete] = parent_by("Growth.athlete_id", "Athlete")


SO_FAR = select(func.coalesce(func.max(Growth.number), 0)).scalar_subquery()
"""The number of the last note there is, of anybody's: what is written now answers all of them.

Which was first is told by numbers, since a clock may be put back.
"""


def of_athlete(session: Session, athlete_id: int) -> Sequence[Growth]:
    """What was noted of an athlete, the newest first."""
    asked = select(Growth).where(Growth.athlete_id == athlete_id)
    return session.scalars(asked.order_by(Growth.number.desc(), Growth.id.desc())).all()
