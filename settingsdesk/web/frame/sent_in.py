"""Files that a coach sends in, and where they wait until somebody has looked at what they say."""

from pathlib import Path

from werkzeug.datastructures import FileStorage

from settingsdesk.desk.lists.uploads import LISTS, Upload, UploadGone, WaitingFiles
from settingsdesk.web.frame.work import coach, desk


def upload_of(file: FileStorage | None) -> Upload:
    """What a form's field has taken in."""
    if file is None:
        raise UploadGone
    return Upload(file.filename or "", file.stream.read())


def waiting() -> WaitingFiles:
    """The files that wait for this coach on this device."""
    return WaitingFiles(folder_of_lists(), coach().stamp)


def folder_of_lists() -> Path:
    """Where lists wait until they are taken or forgotten."""
    return desk().data.path / LISTS
