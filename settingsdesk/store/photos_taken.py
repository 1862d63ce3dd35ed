"""Photos of checks, findings and marks by when and of what they are; taking some away for good.

Nothing says who is on a photo. What can be told is in whose words the photo stands, and on which
days an athlete was at the bars.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete as delete_from
from sqlalchemy import inspect, select, update

from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.checks import ApparatusCheck, CheckAnswer, Photo
from settingsdesk.store.errors import OpenedForReading
from settingsdesk.store.findings import Finding, FindingStep
from settingsdesk.store.mark_photos import MarkPhoto
from settingsdesk.store.record import GONE
from settingsdesk.store.runs import RunEvent
from settingsdesk.store.taking_away import WITH_TURNS
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class PhotoTaken:
    """One photo: when it came, of which apparatus or model, and every text beside it."""

    id: int
    at: datetime
    apparatus: str
    words: tuple[str, ...]


def all_taken(session: ClubSession) -> list[PhotoTaken]:
    """Every photo of the club, the newest first."""
    photo = select(Photo.id, Photo.recorded_at, Apparatus.name)
    answers = (
        photo.add_columns(CheckAnswer.words, CheckAnswer.remark)
        .join(CheckAnswer, CheckAnswer.photo_id == Photo.id)
        .join(ApparatusCheck, ApparatusCheck.id == CheckAnswer.check_id)
        .join(Apparatus, Apparatus.id == ApparatusCheck.apparatus_id)
    )
    steps = (
        photo.add_columns(Finding.words, FindingStep.remark)
        .join(FindingStep, FindingStep.photo_id == Photo.id)
        .join(Finding, Finding.id == FindingStep.finding_id)
        .join(Apparatus, Apparatus.id == Finding.apparatus_id)
    )
    of_marks = (
        select(Photo.id, Photo.recorded_at, ApparatusModel.name, MarkPhoto.words)
        .join(MarkPhoto, MarkPhoto.photo_id == Photo.id)
        .join(ApparatusModel, ApparatusModel.id == MarkPhoto.model_id)
    )
    found: dict[int, PhotoTaken] = {}
    for number, at, apparatus, *words in (
        *session.execute(answers),
        *session.execute(steps),
        *session.execute(of_marks),
    ):
        before = found[number].words if number in found else ()
        found[number] = PhotoTaken(number, at, apparatus, (*before, *filter(None, words)))
    return sorted(found.values(), key=lambda photo: (photo.at, photo.id), reverse=True)


def moments_at_the_bars(session: ClubSession, athlete_id: int) -> Iterator[datetime]:
    """When an athlete was given turns in a run, and when anything happened in that run."""
    told = select(RunEvent.run_id, RunEvent.told).where(RunEvent.word.in_(WITH_TURNS))
    runs = {
        run_id
        for run_id, what in session.execute(told)
        if any(turn["athlete_id"] == athlete_id for turn in what.get("turns", ()))
    }
    yield from session.scalars(select(RunEvent.at).where(RunEvent.run_id.in_(runs)))


def delete(session: ClubSession, photo_ids: Collection[int]) -> None:
    """Delete photos for good; what was said beside them stays. Unknown numbers are nobody's.

    They are final otherwise (``append_only``); that somebody is on one stands above that.
    """
    if not session.writes:
        raise OpenedForReading("This unit of work was opened with writes=False")
    ours = session.scalars(select(Photo.id).where(Photo.id.in_(photo_ids))).all()
    if not ours:
        return
    session.notes.note(session.club_id, Photo.__tablename__, GONE, ours)
    connection = session.connection()
    told_beside: tuple[type[Any], ...] = (CheckAnswer, FindingStep, MarkPhoto)
    for entity in told_beside:
        table: Any = inspect(entity).local_table
        here = (table.c.club_id == session.club_id) & table.c.photo_id.in_(ours)
        connection.execute(update(table).where(here).values(photo_id=None))
    photos: Any = inspect(Photo).local_table
    here = (photos.c.club_id == session.club_id) & photos.c.id.in_(ours)
    connection.execute(delete_from(photos).where(here))
    session.expire_all()
