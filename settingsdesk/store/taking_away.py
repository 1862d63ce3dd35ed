"""What hangs on an athlete, a rotation, a model, a meet and the like; taking away what is free.

The tables hold it too: a row that another refers to cannot be deleted (``of_same_club``).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.apparatus import Apparatus, ApparatusSetup, Calibration, MatsOfDay
from settingsdesk.store.apparatus_models import ApparatusModel, ApparatusModelVersion
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base
from settingsdesk.store.card_remarks import CardRemark
from settingsdesk.store.cards import Card
from settingsdesk.store.checks import ApparatusCheck
from settingsdesk.store.crew_notes import CrewNote
from settingsdesk.store.findings import Finding
from settingsdesk.store.growth import Growth
from settingsdesk.store.guest_clubs import HandedOver, MeetAway, MeetGuest
from settingsdesk.store.left_out import LeftOut
from settingsdesk.store.mark_photos import MarkPhoto
from settingsdesk.store.meets import Entry, Meet, MeetApparatus, MeetSession, RaiseRequest
from settingsdesk.store.parts import Part, PartCount
from settingsdesk.store.rotations import Rotation, RotationPlan, RotationTurn, StartOrder
from settingsdesk.store.runs import Run, RunEvent
from settingsdesk.store.setting_drafts import SettingDraft
from settingsdesk.store.settings import Setting, SettingConfirmation, SettingValue
from settingsdesk.store.stations import Station

Column = InstrumentedAttribute[Any]

WITH_TURNS = ("begun", "joined")
"""The words of the events of a run that give somebody turns."""

MOST_NAMED = 5
"""So many of one sort are told by name; of more, how many there are."""


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort of rows that refer to another row by ``column``, in words.

    They are called by ``name``, which stands in the table that ``by`` refers to, or in their own.
    """

    column: Column
    one: str
    many: str
    name: Column | None = None
    by: Column | None = None


@dataclass(frozen=True, slots=True)
class Hanging:
    """Rows of one sort that hang on something: how many, and what they are called."""

    count: int
    called: str
    names: tuple[str, ...]


HANGS_ON: Mapping[type[Base], tuple[Sort, ...]] = {
    Athlete: (
        Sort(
            RotationTurn.athlete_id,
            "place on the list of a rotation",
            "places on lists of rotations",
            Rotation.name,
            RotationTurn.rotation_id,
        ),
        Sort(Card.athlete_id, "card", "cards", Apparatus.name, Card.apparatus_id),
        Sort(CardRemark.athlete_id, "message from a card", "messages from cards"),
        Sort(
            HandedOver.athlete_id,
            "meet of another club with an entry from here",
            "meets of other clubs with an entry from here",
            MeetAway.meet_name,
            HandedOver.meet_away_id,
        ),
        Sort(Entry.athlete_id, "entry for a meet", "entries for meets", Meet.name, Entry.meet_id),
        Sort(
            Athlete.taken_into_id,
            "other entry that was merged into it",
            "other entries that were merged into it",
        ),
        Sort(
            LeftOut.athlete_id,
            "line of a club’s list",
            "lines of clubs’ lists",
            Meet.name,
            LeftOut.meet_id,
        ),
    ),
    Rotation: (
        Sort(
            Run.rotation_id, "run at the bars", "runs at the bars", Apparatus.name, Run.apparatus_id
        ),
        Sort(
            StartOrder.rotation_id,
            "start order of a meet",
            "start orders of meets",
            Apparatus.name,
            StartOrder.apparatus_id,
        ),
    ),
    ApparatusModel: (
        Sort(Apparatus.model_id, "apparatus of it", "apparatus of it", Apparatus.name),
        Sort(Setting.model_id, "setting for it", "versions of settings for it"),
    ),
    Apparatus: (
        Sort(Rotation.apparatus_id, "rotation", "rotations", Rotation.name),
        Sort(Run.apparatus_id, "run at it", "runs at it", Rotation.name, Run.rotation_id),
        Sort(
            StartOrder.apparatus_id,
            "start order",
            "start orders",
            Rotation.name,
            StartOrder.rotation_id,
        ),
        Sort(Card.apparatus_id, "card", "cards"),
        Sort(CardRemark.apparatus_id, "message from a card", "messages from cards"),
        Sort(ApparatusCheck.apparatus_id, "check", "checks"),
        Sort(Finding.apparatus_id, "finding", "findings", Finding.words),
        Sort(
            MeetApparatus.apparatus_id,
            "meet at which it stands",
            "meets at which it stands",
            Meet.name,
            MeetApparatus.meet_id,
        ),
        Sort(
            RaiseRequest.apparatus_id, "request to raise its rails", "requests to raise its rails"
        ),
        Sort(Station.apparatus_id, "station at it", "stations at it"),
    ),
    Meet: (
        Sort(MeetSession.meet_id, "session", "sessions", MeetSession.name),
        Sort(Entry.meet_id, "entry", "entries"),
        Sort(Athlete.meet_id, "guest", "guests"),
        Sort(LeftOut.meet_id, "line of a club’s list", "lines of clubs’ lists"),
        Sort(MeetGuest.meet_id, "guest club", "guest clubs", MeetGuest.entered_as),
    ),
    MeetSession: (
        Sort(
            StartOrder.session_id,
            "start order",
            "start orders",
            Rotation.name,
            StartOrder.rotation_id,
        ),
        Sort(
            Station.session_id,
            "station",
            "stations",
            Apparatus.name,
            Station.apparatus_id,
        ),
    ),
    Part: (),
    Entry: (
        Sort(
            RaiseRequest.entry_id,
            "request to raise the rails",
            "requests to raise the rails",
            Apparatus.name,
            RaiseRequest.apparatus_id,
        ),
    ),
}
"""Whatever may refer to each; with one of them it stays."""

GOES_ALONG: Mapping[type[Base], tuple[Column, ...]] = {
    Athlete: (
        CrewNote.athlete_id,
        SettingDraft.athlete_id,
        Growth.athlete_id,
        SettingConfirmation.athlete_id,
        Setting.athlete_id,
    ),
    Setting: (SettingValue.setting_id, SettingConfirmation.setting_id),
    Rotation: (RotationTurn.rotation_id, RotationPlan.rotation_id),
    ApparatusModel: (
        *(ApparatusModelVersion.model_id, CrewNote.model_id),
        *(MarkPhoto.model_id, SettingDraft.model_id),
    ),
    Apparatus: (ApparatusSetup.apparatus_id, Calibration.apparatus_id, MatsOfDay.apparatus_id),
    Meet: (MeetApparatus.meet_id,),
    MeetSession: (),
    Part: (PartCount.part_id,),
    Entry: (),
}
"""What is nothing but a part of each, and goes with it."""

TOLD_BEFORE: Mapping[type[Base], tuple[Sort, ...]] = {
    Athlete: (
        Sort(
            Setting.athlete_id,
            "setting",
            "versions of settings",
            ApparatusModel.name,
            Setting.model_id,
        ),
    )
}
"""Which of these somebody took pains over, so that the question names them."""


def hanging(session: Session, row: Base, besides: Collection[Column] = ()) -> list[Hanging]:
    """All that hangs on a row; it can be taken away where that is nothing.

    ``besides`` is left aside: it goes too, or is told otherwise.
    """
    found = those(session, [it for it in HANGS_ON[type(row)] if it.column not in besides], row)
    if isinstance(row, Apparatus):
        found.append(_asked_of(session, row))
    elif isinstance(row, Athlete):
        found.append(turns_of(session, row))
    elif isinstance(row, Entry):
        found.append(_places_of(session, row))
    return [kind for kind in found if kind.count]


def going_along(session: Session, row: Base) -> list[Hanging]:
    """What of a row's parts has to be named before it is taken away with them."""
    found = those(session, TOLD_BEFORE.get(type(row), ()), row)
    return [kind for kind in found if kind.count]


def take_away(session: Session, row: Any, called: str) -> None:
    """Take a row away with its parts; ``SomethingHangsOnIt`` where anything refers to it."""
    found = hanging(session, row)
    if found:
        raise SomethingHangsOnIt(called, found)
    delete(session, row)


def delete(session: Session, *rows: Any) -> None:
    """Delete rows on which nothing hangs, each with its parts, the first one first."""
    for row in rows:
        with session.no_autoflush:  # a part goes with its whole or not at all
            _delete(session, row)
        session.flush()


def _delete(session: Session, row: Any) -> None:
    for column in _that_refer(session, row):
        for part in session.scalars(select(column.class_).where(column == row.id)).all():
            _delete(session, part)
    session.delete(row)


def _that_refer(session: Session, row: Any) -> Sequence[Column]:
    """By which of its columns anything goes along with a row; found out in one statement."""
    columns = GOES_ALONG.get(type(row), ())
    if len(columns) < 2:  # to ask first would be a statement more
        return columns
    counted = (select(func.count()).where(column == row.id).scalar_subquery() for column in columns)
    counts = session.execute(select(*counted)).one()
    return [column for column, count in zip(columns, counts, strict=True) if count]


def those(session: Session, sorts: Sequence[Sort], row: Any) -> list[Hanging]:
    """The rows of each sort that hang on a row, counted in one statement.

    Only names are asked for one by one.
    """
    if not sorts:
        return []
    counted = (select(func.count()).where(it.column == row.id).scalar_subquery() for it in sorts)
    counts = session.execute(select(*counted)).one()
    return [
        Hanging(count, sort.one if count == 1 else sort.many, _names(session, sort, row))
        for sort, count in zip(sorts, counts, strict=True)
        if count
    ]


def _names(session: Session, sort: Sort, row: Any) -> tuple[str, ...]:
    if sort.name is None:
        return ()
    named = select(sort.name).select_from(sort.column.class_)
    if sort.by is not None:
        named = named.join(sort.name.class_, sort.name.class_.id == sort.by)
    named = named.where(sort.column == row.id).distinct().order_by(sort.name)
    names = session.scalars(named.limit(MOST_NAMED + 1)).all()
    return tuple(names) if len(names) <= MOST_NAMED else ()


def _asked_of(session: Session, apparatus: Apparatus) -> Hanging:
    """The rotations of other apparatus that are held on this one too."""
    asked = session.execute(select(Rotation.name, Rotation.asked)).all()
    names = [name for name, wishes in asked if apparatus.id in wishes.get("apparatus", ())]
    is_single = len(names) == 1
    called = "rotation that is held on it too" if is_single else "rotations that are held on it too"
    return Hanging(len(names), called, tuple(names) if len(names) <= MOST_NAMED else ())


def turns_of(session: Session, athlete: Athlete) -> Hanging:
    """The runs in which an athlete has or had turns, whoever is on the rotation's list now."""
    told = select(Run.id, Rotation.name, RunEvent.told).select_from(RunEvent)
    told = told.join(Run, Run.id == RunEvent.run_id).join(Rotation, Rotation.id == Run.rotation_id)
    runs = {
        run_id: name
        for run_id, name, what in session.execute(told.where(RunEvent.word.in_(WITH_TURNS)))
        if any(turn["athlete_id"] == athlete.id for turn in what.get("turns", ()))
    }
    return _called(list(runs.values()), "run at the bars", "runs at the bars")


def _places_of(session: Session, entry: Entry) -> Hanging:
    """The start orders of its meet on which an entry's athlete stands."""
    named = select(Rotation.name).select_from(RotationTurn)
    named = named.join(Rotation, Rotation.id == RotationTurn.rotation_id)
    named = named.join(StartOrder, StartOrder.rotation_id == Rotation.id)
    named = named.join(MeetSession, MeetSession.id == StartOrder.session_id)
    named = named.where(
        RotationTurn.athlete_id == entry.athlete_id, MeetSession.meet_id == entry.meet_id
    )
    return _called(session.scalars(named).all(), "place on a start order", "places on start orders")


def _called(names: Sequence[str], one: str, many: str) -> Hanging:
    count, named = len(names), tuple(dict.fromkeys(names))
    return Hanging(count, one if count == 1 else many, named if len(named) <= MOST_NAMED else ())


class SomethingHangsOnIt(SettingsDeskError):
    """Something was to be taken away on which other records hang."""

    def __init__(self, what: str, hanging: Sequence[Hanging]):
        self.what, self.hanging = what, hanging

    def __str__(self) -> str:
        hanging = "; ".join(f"{kind.count} {kind.called}" for kind in self.hanging)
        return f"{self.what} stays, because of what hangs on it: {hanging}"
