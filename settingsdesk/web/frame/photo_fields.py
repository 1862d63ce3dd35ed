"""Photos in forms: read as soon as they arrive, and kept waiting where the form is shown again.

A browser does not fill in a file a second time, so a photo that could be read waits in the data
folder until the rest of its form is put right.
"""

from collections.abc import Callable, Mapping

from settingsdesk.desk.hall.photos import NotAPhoto, Photo, PhotoTooLarge, read_photo
from settingsdesk.desk.lists.uploads import PHOTOS, Upload, UploadGone, WaitingFiles
from settingsdesk.web.frame.fields import CarriedField, PaperField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.work import coach, desk


def photo_field(words: str = "Photo") -> PaperField:
    """Where a photo is taken or chosen."""
    return PaperField(words, accept="image/jpeg,image/png", optional=True)


def held_field() -> CarriedField:
    """By what key a photo that was sent before is found again."""
    return CarriedField()


def photos_in(
    form: DeskForm, names: Mapping[str, str], read: Callable[[bytes], Photo] = read_photo
) -> dict[str, Photo]:
    """The photos of a posted form by what they show; ``names`` are of photo and held field.

    ``read`` makes of a file that was sent what is kept. A file that holds no photo is a mistake of
    its field; a photo that could be read waits for the form to be sent again.
    """
    found: dict[str, Photo] = {}
    for photo_name, held_name in names.items():
        photo = _sent(form, photo_name, read) or _held(form[held_name].data)
        if photo is not None:
            found[photo_name] = photo
    return found


def let_wait(form: DeskForm, names: Mapping[str, str], found: Mapping[str, Photo]) -> None:
    """Keep those photos until the form comes again, which then carries their keys."""
    for photo_name, photo in found.items():
        held = form[names[photo_name]]
        if not held.data or form[photo_name].data is not None:
            size = f"{photo.width_px}x{photo.height_px}"
            held.data = _waiting().keep(Upload(size, photo.content))
            held.raw_data = [held.data]
            form[photo_name].data = None  # nobody is to choose it again


def _sent(form: DeskForm, name: str, read: Callable[[bytes], Photo]) -> Photo | None:
    field = form[name]
    if field.data is None:
        return None
    try:
        with desk().workers.turn("photos"):
            return read(field.data.read())
    except (NotAPhoto, PhotoTooLarge) as refusal:
        field.errors = [*field.errors, str(refusal)]
        return None


def _held(key: str) -> Photo | None:
    if not key:
        return None
    try:
        kept = _waiting().find(key)
    except UploadGone:
        return None
    width, _, height = kept.file_name.partition("x")
    return Photo(kept.content, int(width), int(height))


def _waiting() -> WaitingFiles:
    return WaitingFiles(desk().data.path / PHOTOS, coach().stamp)
