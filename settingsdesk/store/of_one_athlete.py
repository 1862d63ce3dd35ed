"""Which rows are of one athlete: what a family is shown, and what an erasure takes away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import LargeBinary, String, inspect, literal, select, union_all

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base
from settingsdesk.store.card_remarks import CardRemark
from settingsdesk.store.cards import Card
from settingsdesk.store.crew_notes import CrewNote
from settingsdesk.store.growth import Growth
from settingsdesk.store.guest_clubs import HandedOver, MeetAway
from settingsdesk.store.left_out import LeftOut
from settingsdesk.store.meets import Entry, Meet, RaiseRequest
from settingsdesk.store.rotations import Rotation, RotationTurn
from settingsdesk.store.runs import Run, RunEvent
from settingsdesk.store.setting_drafts import SettingDraft
from settingsdesk.store.settings import Setting, SettingConfirmation, SettingValue
from settingsdesk.store.taking_away import WITH_TURNS, Column
from settingsdesk.store.work import ClubSession

ITS_OWN = (
    *(Growth, CrewNote, SettingDraft, SettingConfirmation, Setting),
    *(CardRemark, Card, Entry, LeftOut, HandedOver),
)
"""The tables whose rows are of one athlete by ``athlete_id``; what refers to another before it."""

PARTS: tuple[tuple[Column, type[Base]], ...] = (
    (RaiseRequest.entry_id, Entry),
    (SettingValue.setting_id, Setting),
)
"""What is nothing but a part of such a row."""

CALLED: Mapping[str, Any] = {
    "apparatus_id": Apparatus,
    "meet_id": Meet,
    "meet_away_id": MeetAway,
    "model_id": ApparatusModel,
    "rotation_id": Rotation,
}
"""Of what else such a row tells, by the column that refers to it; it has a name."""

NOT_TOLD = frozenset(
    {
        *("club_id", "code_hash", "short_code_mark", "searched", "heard_name"),
        *("answers_growth", "number"),
    }
)
"""Columns that say nothing about a person, or are made of others to find them by."""

Names = Mapping[str, Mapping[int, str]]

Told = dict[str, Any]
"""One row by its columns; what it refers to by name."""


def rows_of(session: ClubSession, row: Athlete) -> dict[str, list[Told]]:
    """Every row of every table that is of an athlete, by table, the athlete's own first.

    Cards without their codes, which nobody keeps.
    """
    found = {Athlete.__tablename__: [_told(Athlete, row, {})]}
    names = _names(session)
    for entity in (*ITS_OWN, RotationTurn):
        asked = select(entity).where(entity.athlete_id == row.id).order_by(entity.id)
        found[entity.__tablename__] = [
            _told(entity, one, names) for one in session.scalars(asked).all()
        ]
        for column, whole in PARTS:
            if whole is entity:
                part: Any = column.class_
                numbers = [one["id"] for one in found[entity.__tablename__]]
                theirs = select(part).where(column.in_(numbers)).order_by(part.id)
                found[part.__tablename__] = [
                    _told(part, one, names) for one in session.scalars(theirs).all()
                ]
    found[RunEvent.__tablename__] = _turns(session, row, names)
    return {table: rows for table, rows in found.items() if rows}


def _turns(
    session: ClubSession, row: Athlete, names: Mapping[str, Mapping[int, str]]
) -> list[Told]:
    """The marks of the athlete's turns in every run, as they were when the turns were given."""
    asked = select(RunEvent.told, RunEvent.at, Run.rotation_id, Run.apparatus_id)
    asked = asked.join(Run, Run.id == RunEvent.run_id).where(RunEvent.word.in_(WITH_TURNS))
    return [
        {
            "rotation": names["rotation_id"].get(rotation_id),
            "apparatus": names["apparatus_id"].get(apparatus_id),
            "at": at,
            "stops": turn["setup"],
        }
        for told, at, rotation_id, apparatus_id in session.execute(asked.order_by(RunEvent.id))
        for turn in told.get("turns", ())
        if turn["athlete_id"] == row.id
    ]


def _names(session: ClubSession) -> dict[str, dict[int, str]]:
    named = (
        select(literal(column).label("of"), entity.id.label("id"), name_of(entity))
        for column, entity in CALLED.items()
    )
    found: dict[str, dict[int, str]] = {column: {} for column in CALLED}
    for row in session.execute(union_all(*named)):
        found[row.of][row.id] = row.name
    return found


def name_of(entity: Any) -> Any:
    """What such a row is called; a meet elsewhere by its own name."""
    return (entity.meet_name if entity is MeetAway else entity.name).label("name")


def _told(entity: type[Any], row: Any, names: Names) -> Told:
    told: Told = {}
    for column in inspect(entity).local_table.columns:
        if column.name in NOT_TOLD or isinstance(column.type, LargeBinary):
            continue
        value = getattr(row, column.name)
        if column.name in names and value is not None:
            told[column.name.removesuffix("_id")] = names[column.name].get(value, str(value))
        elif column.name != "id" or not isinstance(column.type, String):
            told[column.name] = value
    return told
