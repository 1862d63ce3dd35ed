"""Where the marks of a model are read: a line of words and a small photo for each adjustment."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall import photos
from settingsdesk.desk.hall.photos import Photo
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.names import on_one_line
from settingsdesk.domain.hall.apparatus_sheet import LONGEST_WORDS
from settingsdesk.store import mark_photos as kept_mark_photos
from settingsdesk.store import photos_taken
from settingsdesk.store.base import utc_now
from settingsdesk.store.mark_photos import MarkPhoto
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class ReadAt:
    """Where the mark of an adjustment is read; of words and a photo there is at least one."""

    words: str
    photo_id: int | None = None
    width_px: int = 0
    height_px: int = 0


def of_model(session: ClubSession, model_id: int) -> dict[str, ReadAt]:
    """Where the marks of a model are read, by axis; where nothing is said an axis is left out."""
    return of_models(session, [model_id])[model_id]


def of_models(session: ClubSession, model_ids: Iterable[int]) -> dict[int, dict[str, ReadAt]]:
    """The same of several models, in one query."""
    found: dict[int, dict[str, ReadAt]] = {model_id: {} for model_id in model_ids}
    for row, width_px, height_px in kept_mark_photos.of_models(session, found):
        if row.words or row.photo_id:
            told = ReadAt(row.words, row.photo_id, width_px or 0, height_px or 0)
            found[row.model_id][row.axis] = told
    return found


def keep(
    session: ClubSession,
    model_id: int,
    axis: str,
    words: str,
    photo: Photo | None = None,
    *,
    without_photo: bool = False,
) -> None:
    """From now on the mark of an axis is read there; the photo that is there stays without one.

    A photo that another takes the place of is deleted. Raises ``NoSuchAxis`` or ``WordsTooLong``.
    """
    desk_models.model(session, model_id).model.kind.axis(axis)
    words = on_one_line(words)
    if len(words) > LONGEST_WORDS:
        raise WordsTooLong(len(words))
    row = kept_mark_photos.find(session, model_id, axis)
    if row is None and not words and photo is None:
        return
    if row is None:
        row = MarkPhoto(model_id=model_id, axis=axis, words=words, changed_by=session.by)
        session.add(row)
    before = row.photo_id
    if photo is not None:
        row.photo_id = photos.keep_photo(session, photo)
    elif without_photo:
        row.photo_id = None
    row.words, row.changed_at, row.changed_by = words, utc_now(), session.by
    if not words and row.photo_id is None:
        session.delete(row)
    session.flush()
    if before is not None and before != row.photo_id:
        photos_taken.delete(session, [before])


def contents(
    session: ClubSession, of_models: Mapping[int, Mapping[str, ReadAt]]
) -> dict[int, bytes]:
    """The photos of those, by number, each as the bytes of a JPEG file."""
    told = (one for of_model in of_models.values() for one in of_model.values())
    kept = photos.kept_photos(session, [one.photo_id for one in told if one.photo_id is not None])
    return {number: photo.content for number, photo in kept.items()}


def take_away(session: ClubSession, model_id: int) -> None:
    """Take a model away with its photos; what ``models.take_away`` raises."""
    told = of_model(session, model_id)
    desk_models.take_away(session, model_id)
    photos_taken.delete(
        session, [one.photo_id for one in told.values() if one.photo_id is not None]
    )


class WordsTooLong(SettingsDeskError):
    """More words than stand beside a photo."""

    def __init__(self, length: int) -> None:
        self.length = length

    def __str__(self) -> str:
        return (
            f"Say in {LONGEST_WORDS} characters or fewer where the mark is read; this has"
            f" {self.length}"
        )
