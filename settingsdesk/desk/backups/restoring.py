"""Putting a backup in the place of what a data folder holds.

Everything is tried out beside it first: unpacked, checked, upgraded, opened. Then what was there
is moved aside and what came is moved in. Each file's move is one moment, all of them are not: the
name of the folder that they wait in says how far it came, and whoever opens the desk next ends
what was begun.
"""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from settingsdesk.config import (
    BEFORE_RESTORING,
    DATABASE,
    FOLDER,
    KEPT_ON,
    SERVER,
    DataFolder,
    write_private,
)
from settingsdesk.desk import opening
from settingsdesk.desk.alone import alone_with
from settingsdesk.desk.backups import archive
from settingsdesk.desk.backups.archive import Contents
from settingsdesk.desk.backups.refusals import BackupDoesNotFit, BackupIsDamaged
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import migrate
from settingsdesk.store.athletes import how_many
from settingsdesk.store.clubs import all_clubs
from settingsdesk.store.engine import LOGS, UNFINISHED, damage_of, database_url, write_through
from settingsdesk.store.erased_numbers import FILE as ERASED
from settingsdesk.store.erased_numbers import ErasedNumbers
from settingsdesk.store.migrate import State, upgraded
from settingsdesk.store.work import Store

WAITS = "restoring.waits"
"""The folder of what comes, whole and tried, while what was there is moved aside."""
COMES = "restoring.comes"
"""The same, once all that was there is aside."""
ASIDE = "aside"
"""In that folder: the name of the one for what was there."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a desk holds, for whoever decides whether it is to be replaced."""

    clubs: tuple[str, ...]
    athletes: int


@dataclass(frozen=True, slots=True)
class Tried:
    """A backup that was unpacked and opened, ready to be put in."""

    contents: Contents
    found: Found
    folder: Path


@contextmanager
def tried(data: DataFolder, file: Path, passphrase: str | None = None) -> Iterator[Tried]:
    """Unpack a backup beside the desk and try it there; gone again unless it is ``put_in``.

    Whose data were erased here, or by a list beside the backup, are erased from it as well.
    Raises what ``archive.opened`` raises, ``BackupDoesNotFit`` and, where a server is named and
    the desk is in the folder, ``DatabaseIsInFolder``; nothing is changed then.
    """
    if data.server:  # a server that is lost is no reason not to restore into the folder
        data.must_be_kept_so()
    with tempfile.TemporaryDirectory(
        dir=data.path, suffix=UNFINISHED, ignore_cleanup_errors=True
    ) as folder:
        came = DataFolder(Path(folder) / "desk")
        came.path.mkdir(mode=0o700)
        with archive.opened(file, passphrase) as backup:
            backup.unpack(came.path)
        if damage := damage_of(came.database):
            raise BackupIsDamaged(file, damage)
        for known in (data.path / ERASED, file.with_name(ERASED)):
            _erased_too(came, known)
        try:
            found = _opened(came)
        except SettingsDeskError as refusal:
            raise BackupDoesNotFit(file, str(refusal)) from refusal
        yield Tried(backup.contents, found, came.path)


def put_in(data: DataFolder, ready: Tried, moment: datetime) -> Path | None:
    """Put it in the place of the desk in that folder; gives the folder of what was there.

    None where nothing was. Where a server keeps the database its rows go there, and what was there
    stays as a backup in that folder. Raises what ``alone_with`` does while a desk is served.
    """
    with alone_with(data, "restoring a backup"):
        end_what_was_begun(data)
        if data.server:
            migrate.put_on_server(ready.folder / DATABASE, data.server, only_try=True)
            if migrate.state(data.where) is not State.EMPTY:
                archive.write(data, ready.folder / archive.name_of(moment, closed=False), moment)
        write_private(ready.folder / KEPT_ON, (SERVER if data.server else FOLDER).encode())
        aside = f"{BEFORE_RESTORING}{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"
        (ready.folder / ASIDE).write_text(aside, encoding="ascii")
        for file in ready.folder.iterdir():
            write_through(file)
        write_through(ready.folder)
        ready.folder.rename(data.path / WAITS)
        write_through(data.path)
        end_what_was_begun(data)
    return data.path / aside if (data.path / aside).exists() else None


def end_what_was_begun(data: DataFolder) -> None:
    """Go on with what was interrupted, from where it is; whoever asks holds the folder's lock.

    ``DatabaseIsOnServer`` or ``DatabaseIsInFolder`` where it was begun for the other one.
    """
    waits, comes = data.path / WAITS, data.path / COMES
    for begun in (waits, comes):
        replace(data, path=begun).must_be_kept_so()
    if waits.exists():
        _put_aside(data, waits)
        waits.rename(comes)
        write_through(data.path)
    if comes.exists():
        database = comes / DATABASE
        if data.server and database.exists():
            migrate.put_on_server(database, data.server)
            database.unlink()
        for file in sorted(comes.iterdir()):
            if file.name not in (ASIDE, KEPT_ON):
                file.replace(data.path / file.name)
        # Last of all, since whoever ends this must know it; a folder that never was anywhere else
        # needs no word of it.
        if data.server or data.kept_on()[0]:
            (comes / KEPT_ON).replace(data.path / KEPT_ON)
        write_through(data.path)
        shutil.rmtree(comes)


def go_on(data: DataFolder) -> None:
    """The same before a desk is opened, where there is anything to end; see ``alone_with``."""
    if any((data.path / name).exists() for name in (WAITS, COMES)):
        with alone_with(data, "restoring a backup"):
            end_what_was_begun(data)


@dataclass(frozen=True, slots=True)
class Present:
    """What is where a backup is to be put: a desk, or what this version cannot open as it is."""

    found: Found | None
    where: str
    """The folder, or which database on the server."""


def present(data: DataFolder) -> Iterator[Present]:
    """What a backup would replace: in the folder, and on the server where one is named.

    Raises what ``migrate.state`` does of a server; what cannot be read in the folder is no reason
    not to restore there.
    """
    if data.server:
        named = f"the database {database_url(data.server).database}"
        yield from _present(data.server, migrate.state(data.server), named)
    try:
        state = migrate.state(data.database)
    except SettingsDeskError:
        state = State.OLDER
    yield from _present(data.database, state, str(data.path))


def _present(at: Path | str, state: State, where: str) -> Iterator[Present]:
    if state is State.CURRENT:
        store = Store(at)
        try:
            yield Present(_found(store), where)
        finally:
            store.close()
    elif state is not State.EMPTY:
        yield Present(None, where)


def _put_aside(data: DataFolder, waits: Path) -> None:
    """What was there, and the backup of what was on the server."""
    aside = data.path / (waits / ASIDE).read_text(encoding="ascii")
    logs = [data.database.name + ending for ending in LOGS]
    there = [f for f in data.path.iterdir() if archive.belongs(f.name) or f.name in logs]
    replaced = [f for f in waits.iterdir() if archive.moment_in(f.name)]
    if not there and not replaced:
        return
    aside.mkdir(mode=0o700, exist_ok=True)
    # The database goes last: without its log it would be another one.
    for file in sorted((*there, *replaced), key=lambda file: file == data.database):
        if file.name == ERASED:
            continue  # what came has all of its lines, and it is replaced in one moment
        file.replace(aside / file.name)
    write_through(aside)
    write_through(data.path)


def _erased_too(came: DataFolder, known: Path) -> None:
    """Put on the list of what came whoever is on another list."""
    its_own = ErasedNumbers(came.path / ERASED)
    if more := set(ErasedNumbers(known).all()) - set(its_own.all()):
        its_own.add(more)


def _opened(data: DataFolder) -> Found:
    """Make it a desk of this version, as if it was started."""
    store = upgraded(data.database)
    try:
        opening.make_ready(store, data)
        return _found(store)
    finally:
        store.close()
        for copy in data.copies():
            copy.unlink()  # what it was before its upgrade is in the backup


def _found(store: Store) -> Found:
    with store.installation(writes=False) as session:
        return Found(tuple(club.name for club in all_clubs(session)), how_many(session))
