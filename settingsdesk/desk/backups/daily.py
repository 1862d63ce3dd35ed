"""Backups that the desk makes by itself: one a day, the last fourteen, while it is served."""

import logging
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

from settingsdesk.config import DataFolder, write_private
from settingsdesk.desk.backups import archive
from settingsdesk.desk.backups.refusals import (
    BackupNotWritten,
    FileIsThere,
    PassphraseTooShort,
)
from settingsdesk.desk.clock import local_date, now, today
from settingsdesk.desk.rounds import Rounds
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.engine import UNFINISHED
from settingsdesk.store.erased_numbers import FILE as ERASED

KEPT = 14
EVERY_SECONDS = 600
STALE_SECONDS = 3600
"""What is unfinished for so long was left by somebody who died over it."""

log = logging.getLogger(__name__)


def make(data: DataFolder, target: Path, passphrase: str | None = None) -> Path:
    """Back the desk up, and note when and where; raises what ``archive.write`` raises."""
    moment = now()
    try:
        file = archive.write(data, target, moment, passphrase)
    except (FileIsThere, PassphraseTooShort):
        raise  # nothing was tried
    except SettingsDeskError as refusal:
        notes = replace(data.backup_notes(), failed_at=moment, why=str(refusal))
        data.remember_backups(notes)
        raise
    notes = replace(data.backup_notes(), made_at=moment, file=file, failed_at=None, why="")
    data.remember_backups(notes)
    return file


def keep(data: DataFolder, passphrase: str | None = None) -> Path | None:
    """Make the day's backup where one is wanted and not there yet; gives it, or None.

    Older ones of ours than the last fourteen go. Who was erased is on a list beside them. Raises
    what ``archive.write`` raises.
    """
    folder = data.backup_notes().folder
    if folder is None:
        return None
    made = None
    if all(_day(file) != today() for file in ours_in(folder)):
        file = folder / archive.name_of(now(), closed=passphrase is not None)
        made = make(data, file, passphrase)
        for older in ours_in(folder)[:-KEPT]:
            if older != made:  # after a clock that went back it is the oldest one
                older.unlink(missing_ok=True)
    _keep_erased(data, folder)
    return made


def ours_in(folder: Path) -> list[Path]:
    """The backups in a folder that have the names which they get there, the oldest first."""
    found = (file for file in folder.glob("settingsdesk-*") if archive.moment_in(file.name))
    return sorted(found, key=lambda file: file.name)


def sweep(folder: Path) -> None:
    """Delete what was being written for so long that nobody writes it any more."""
    for left in folder.glob(f"*{UNFINISHED}"):
        try:
            if now().timestamp() - left.stat().st_mtime < STALE_SECONDS:
                continue
            shutil.rmtree(left) if left.is_dir() else left.unlink()
        except OSError:
            log.warning("what was left unfinished could not be deleted: %s", left.name)


class DailyBackups(Rounds):
    """Looks every ten minutes whether the day's backup is there, and what was left unfinished."""

    def __init__(self, data: DataFolder, passphrase: str | None):
        def look() -> None:
            sweep(data.path)
            folder = data.backup_notes().folder
            if folder is not None:
                sweep(folder)
                keep(data, passphrase)

        super().__init__("the day's backup", look, EVERY_SECONDS)


def _day(file: Path) -> date | None:
    moment = archive.moment_in(file.name)
    return moment and local_date(moment)


def _keep_erased(data: DataFolder, folder: Path) -> None:
    """Lay the list of whose data were erased beside the backups: a new machine knows it then."""
    erased, beside = data.path / ERASED, folder / ERASED
    try:
        lines = erased.read_bytes()
        if not beside.exists() or beside.read_bytes() != lines:
            write_private(unfinished := beside.with_name(ERASED + UNFINISHED), lines)
            unfinished.replace(beside)
    except FileNotFoundError:
        return
    except OSError as error:
        raise BackupNotWritten(beside, str(error.strerror)) from error
