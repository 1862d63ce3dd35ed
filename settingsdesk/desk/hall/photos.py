"""Photos sent in: decoded, turned upright, made smaller, and encoded anew without anything else.

What is kept never holds a byte of the file that was sent: no place, no date, no name of a phone,
nothing hidden behind the picture.
"""

import io
import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

from PIL import Image, ImageOps

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import checks as kept_checks
from settingsdesk.store.work import ClubSession

MOST_PHOTO_BYTES = 12_000_000
MOST_SIDE_PX = 1600
MOST_PIXELS = {"JPEG": 50_000_000, "PNG": 25_000_000}
"""A JPEG is decoded at about the size that is needed; a PNG must be decoded whole."""
MOST_SCANS = 30
"""A progressive JPEG of a camera has about ten. Each is a pass over all pixels, so that a small
file of very many would keep the desk busy for hours."""
START_OF_SCAN = b"\xff\xda"
QUALITY = 85
SMALL_SIDES_PX, SMALL_QUALITIES = (640, 480, 320), (80, 65, 50)
MOST_SMALL_BYTES = 60_000
MEDIA_TYPE = "image/jpeg"


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture as it is kept: JPEG bytes, and its size in pixels."""

    content: bytes
    width_px: int
    height_px: int


def read_photo(sent: bytes) -> Photo:
    """The photo in a file that was sent in, upright, with no side longer than 1600 pixels.

    Raises ``NotAPhoto`` for whatever is no JPEG or PNG picture, ``PhotoTooLarge`` where it has
    more bytes or pixels than a camera's photo has. Decoding takes memory, and several at once could
    take all of it: forms read theirs in turn (``Workers.turn``).
    """
    if len(sent) > MOST_PHOTO_BYTES:
        raise PhotoTooLarge(f"{len(sent) / 1_000_000:.1f} megabytes")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return _encoded_anew(sent)
    except PhotoTooLarge:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise PhotoTooLarge("more pixels than any photo has") from bomb
    except Exception as unreadable:
        # Whatever a decoder stumbles over in a hostile file: it is no photo.
        raise NotAPhoto from unreadable


def read_small_photo(sent: bytes) -> Photo:
    """The same, small: for a phone at the apparatus, and for a file that goes to other clubs.

    Its side and its quality are the first at which it has no more than 60 kilobytes.
    """
    photo = read_photo(sent)
    with Image.open(io.BytesIO(photo.content)) as picture:
        picture.load()
        for side_px, quality in product(SMALL_SIDES_PX, SMALL_QUALITIES):
            small = picture.copy()
            small.thumbnail((side_px, side_px))
            photo = _as_jpeg(small, quality)
            if len(photo.content) <= MOST_SMALL_BYTES:
                break
    return photo


def keep_photo(session: ClubSession, photo: Photo | None) -> int | None:
    """Keep a photo, and give its number; None where there is none."""
    if photo is None:
        return None
    row = kept_checks.Photo(
        content=photo.content,
        width_px=photo.width_px,
        height_px=photo.height_px,
        recorded_by=session.by,
    )
    session.add(row)
    session.flush()
    return row.id


def kept_photo(session: ClubSession, photo_id: int) -> Photo:
    """A photo of the club; ``NotInThisClub`` where there is none."""
    row = kept_checks.photo_by_id(session, photo_id)
    return Photo(row.content, row.width_px, row.height_px)


def kept_photos(session: ClubSession, photo_ids: Iterable[int]) -> dict[int, Photo]:
    """Those photos by number, in one query."""
    rows = kept_checks.photos(session, photo_ids)
    return {row.id: Photo(row.content, row.width_px, row.height_px) for row in rows}


def _encoded_anew(sent: bytes) -> Photo:
    with Image.open(io.BytesIO(sent), formats=("JPEG", "PNG")) as picture:
        _must_be_readable(picture)
        if picture.format == "JPEG" and sent.count(START_OF_SCAN) > MOST_SCANS:
            raise NotAPhoto
        # For a JPEG: decode it right away at about the size that is wanted.
        picture.draft("RGB", (MOST_SIDE_PX, MOST_SIDE_PX))
        picture.load()
        picture.thumbnail((MOST_SIDE_PX, MOST_SIDE_PX))
        upright = ImageOps.exif_transpose(picture)
    plain = Image.new("RGB", upright.size, "white")
    shown = upright.convert("RGBA")
    plain.paste(shown, mask=shown.getchannel("A"))
    return _as_jpeg(plain, QUALITY)


def _as_jpeg(picture: Image.Image, quality: int) -> Photo:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality, optimize=True)
    return Photo(out.getvalue(), *picture.size)


def _must_be_readable(picture: Image.Image) -> None:
    """Refuse by what the file's head says, before anything is decoded."""
    width, height = picture.size
    most = MOST_PIXELS["PNG" if picture.format == "PNG" else "JPEG"]
    if width * height > most:
        raise PhotoTooLarge(f"{width} × {height} pixels")


class NotAPhoto(SettingsDeskError):
    """A file that holds no picture in one of the two formats, whatever its name says."""

    sentence = (
        "This file is no JPEG or PNG picture that can be read. Take the photo again, or go on"
        " without one"
    )


class PhotoTooLarge(SettingsDeskError):
    """A picture with more bytes or pixels than a photo needs."""

    def __init__(self, size: str) -> None:
        self.size = size

    def __str__(self) -> str:
        return (
            f"The photo is too large ({self.size}). It may have {MOST_PHOTO_BYTES // 1_000_000}"
            " megabytes: take it with less resolution, or go on without one"
        )
