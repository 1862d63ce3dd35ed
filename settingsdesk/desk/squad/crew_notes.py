"""Notes for the crew: written by a coach, read by whoever sets the apparatus or holds the card.

A note is no part of a setting and has no versions: one that should never have been written is gone
when it is written otherwise.
"""

from collections.abc import Iterable, Mapping

from settingsdesk.cards.lettering import lettered
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.squad.athletes import must_count
from settingsdesk.domain.settings.crew_note import as_kept
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import crew_notes as kept_notes
from settingsdesk.store.base import utc_now
from settingsdesk.store.crew_notes import CrewNote
from settingsdesk.store.work import ClubSession

OfModel = tuple[int, int]
"""The numbers of an athlete and of a model."""


def note(session: ClubSession, athlete_id: int, model_id: int) -> str:
    """What the crew is told of an athlete on a model; empty where nothing is."""
    row = kept_notes.find(session, athlete_id, model_id)
    return row.words if row else ""


def write(session: ClubSession, athlete_id: int, model_id: int, words: str) -> str:
    """From now on the crew is told that; nothing any more where it is empty. As it is kept.

    Raises ``NoteTooLong``, or ``CharacterNotInFont`` where no card could carry it.
    """
    must_count(kept_athletes.by_id(session, athlete_id))
    desk_models.model(session, model_id)
    note = lettered(as_kept(words))
    write_all(session, {(athlete_id, model_id): note})
    return note


def write_all(session: ClubSession, notes: Mapping[OfModel, str]) -> None:
    """The same of several, which are looked at already."""
    if not notes:
        return
    kept = _kept(session, {athlete_id for athlete_id, _ in notes})
    for (athlete_id, model_id), words in notes.items():
        row = kept.get((athlete_id, model_id))
        if row is None and words:
            session.add(
                CrewNote(
                    athlete_id=athlete_id, model_id=model_id, words=words, written_by=session.by
                )
            )
        elif row is not None and not words:
            session.delete(row)
        elif row is not None and row.words != words:
            row.words, row.written_at, row.written_by = words, utc_now(), session.by
    session.flush()


def _kept(session: ClubSession, athlete_ids: Iterable[int]) -> dict[OfModel, CrewNote]:
    return {
        (row.athlete_id, row.model_id): row for row in kept_notes.of_athletes(session, athlete_ids)
    }
