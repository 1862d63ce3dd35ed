"""Apparatus models: a make and type, and every version of what the club knows about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    CheckConstraint,
    Select,
    UniqueConstraint,
    bindparam,
    func,
    select,
)
from sqlalchemy.orm import Mapped, Session, mapped_column

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


class ApparatusModel(ClubOwned, Base):
    """A make and type that the club meets, under one name."""

    __tablename__ = "apparatus_model"
    __table_args__ = (referred_to(), UniqueConstraint("club_id", "name"))

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    kind: Mapped[str]
    """The apparatus kind, by the word that ``domain`` has for it."""

    versions: Mapped[list[ApparatusModelVersion]] = children_by(
        "ApparatusModelVersion.model_id",
        "ApparatusModel",
        order_by="ApparatusModelVersion.version",
        back="model",
    )


class ApparatusModelVersion(AppendOnly, ClubOwned, Base):
    """What was known of a model from one moment on: its axes, scales, geometry and times."""

    __tablename__ = "apparatus_model_version"
    __table_args__ = (
        of_same_club("model_id", "apparatus_model"),
        UniqueConstraint("club_id", "model_id", "version"),
        CheckConstraint("version >= 1", name="version"),
    )

    part_of = "model"

    id: Mapped[int] = mapped_column(primary_key=True)
    model_id: Mapped[int]
    version: Mapped[int]
    definition: Mapped[dict[str, Any]]
    recorded_at: Mapped[datetime] = mapped_column(default=utc_now)
    recorded_by: Mapped[str]
    reason: Mapped[str] = mapped_column(default="")

    model: Mapped[ApparatusModel] = parent_by(
        "ApparatusModelVersion.model_id", "ApparatusModel", back="versions"
    )


def by_id(session: Session, model_id: int) -> ApparatusModel:
    """The model, or ``NotInThisClub``."""
    return row_by_id(session, ApparatusModel, model_id)


def by_name(session: Session, name: str) -> ApparatusModel | None:
    """The model of exactly that name."""
    return session.scalar(select(ApparatusModel).where(ApparatusModel.name == name))


def latest_versions(session: Session, model_ids: Iterable[int]) -> dict[int, ApparatusModelVersion]:
    """What is known now, by model, in one query; a model without a version is left out."""
    found = session.scalars(_newest_of_those(), {"model_ids": list(model_ids)})
    return {version.model_id: version for version in found}


def newest(session: Session, model_id: int) -> ApparatusModelVersion:
    """What is known now of a model, or ``NotInThisClub``."""
    found = session.scalar(_newest().where(ApparatusModelVersion.model_id == model_id))
    if found is None:
        raise NotInThisClub(ApparatusModel.spoken(), model_id)
    return found


def newest_of_all(session: Session) -> Sequence[ApparatusModelVersion]:
    """What is known now of every model of the club, by the model's name, in one query."""
    model = ApparatusModel
    asked = _newest().join(model, model.id == ApparatusModelVersion.model_id)
    return session.scalars(asked.order_by(model.name)).all()


@cache  # nearly every page asks it, and to put it together takes longer than the answer
def _newest_of_those() -> Select[ApparatusModelVersion]:
    those: BindParameter[int] = bindparam("model_ids", expanding=True)
    return _newest().where(ApparatusModelVersion.model_id.in_(those))


@cache
def _newest() -> Select[ApparatusModelVersion]:
    version = ApparatusModelVersion
    newest = select(version.model_id, func.max(version.version).label("version"))
    of_each = newest.group_by(version.model_id).subquery()
    is_newest = (version.model_id == of_each.c.model_id) & (version.version == of_each.c.version)
    return select(version).join(of_each, is_newest)


def history(session: Session, model_id: int) -> Sequence[ApparatusModelVersion]:
    """Every version of the model, the newest first."""
    version = ApparatusModelVersion
    asked = select(version).where(version.model_id == model_id)
    return session.scalars(asked.order_by(version.version.desc())).all()
