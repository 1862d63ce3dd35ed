"""How a club's lists are to be read, as somebody corrected it once."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from settingsdesk.store.base import Base, ClubOwned, utc_now


class ListMapping(ClubOwned, Base):
    """What the columns of lists with these headers hold; ``sent_by`` is the club they come from."""

    __tablename__ = "list_mapping"
    __table_args__ = (UniqueConstraint("club_id", "sent_by", "layout_key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sent_by: Mapped[str]
    layout_key: Mapped[str]
    mapping: Mapped[dict[str, Any]]
    kept_at: Mapped[datetime] = mapped_column(default=utc_now)
    kept_by: Mapped[str]


def find(session: Session, sent_by: str, layout_key: str) -> ListMapping | None:
    """The mapping that was kept for that club's lists of that layout."""
    asked = select(ListMapping).where(
        ListMapping.sent_by == sent_by, ListMapping.layout_key == layout_key
    )
    return session.scalar(asked)
