"""A desk's database moved from its folder to a server, and back; all else stays in the folder.

The folder says where the database is, by one small file that is replaced in one moment: until
then the desk is where it was, and from then on it is where it went. What comes to a server is
marked there as unfinished until the folder says so; what comes into the folder has another name
until then. Whoever opens the desk next ends what was cut off after that moment.
"""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC
from pathlib import Path

from settingsdesk.config import BEFORE_MOVE, FOLDER, SERVER, DataFolder
from settingsdesk.desk import opening
from settingsdesk.desk.alone import alone_with
from settingsdesk.desk.backups.refusals import FolderHasADesk, NoServerNamed, NothingToMove
from settingsdesk.desk.clock import now
from settingsdesk.store import migrate
from settingsdesk.store.engine import LOGS, write_through
from settingsdesk.store.migrate import State, upgraded

CAME = "came-from-server.sqlite3"
"""What came into the folder, until the folder says that the desk is there."""
WHAT_FOR = "moving the database"


@dataclass(frozen=True, slots=True)
class Moved:
    """What was moved, and what is left where it was."""

    rows: Mapping[str, int]
    """How many, by table."""
    left: Path | None
    """The file that was the database; None where it was a server's."""


def to_server(data: DataFolder) -> Moved:
    """Move the database of the folder to the server that is named; nothing serves it meanwhile.

    Raises ``NoServerNamed``, ``NothingToMove``, ``DatabaseIsOnServer``, what ``alone_with`` does,
    what ``opening.make_ready`` refuses, and what ``migrate.put_on_server`` does; the desk is where
    it was then.
    """
    folder = _in_folder(data)
    with alone_with(data, WHAT_FOR):
        _end(data)
        folder.must_be_kept_so()
        if migrate.state(folder.where) is State.EMPTY:
            raise NothingToMove(str(data.path))
        store = upgraded(folder.where)
        move = secrets.token_hex(8)
        try:
            opening.make_ready(store, folder)
            with store.installation(writes=True):  # no command writes meanwhile
                rows = migrate.put_on_server(folder.database, data.server, move)
                data.remember_kept_on(SERVER, move)
        finally:
            store.close()
        return Moved(rows, _end(data))


def to_folder(data: DataFolder) -> Moved:
    """Move the database of the server that is named into the folder; the server's stays as it is.

    Raises ``NoServerNamed``, ``NothingToMove``, ``FolderHasADesk``, what ``alone_with`` does,
    ``DatabaseIsInFolder``, what ``opening.make_ready`` refuses, and what ``migrate.copy_rows``
    does; the desk is where it was then.
    """
    folder, came = _in_folder(data), data.path / CAME
    with alone_with(data, WHAT_FOR):
        _end(data)
        data.must_be_kept_so()
        if migrate.state(data.where) is State.EMPTY:
            raise NothingToMove("the database on the server")
        if folder.database.exists():
            raise FolderHasADesk(folder.database)
        store = upgraded(data.where, data.path)
        try:
            opening.make_ready(store, data)
            with store.installation(writes=True):  # nobody writes meanwhile
                rows = migrate.copy_rows(data.server, came)
                write_through(came)
                data.remember_kept_on(FOLDER)
        finally:
            store.close()
        _end(data)
        return Moved(rows, None)


def go_on(data: DataFolder) -> None:
    """Before a desk is opened, end what was cut off; raises what ``alone_with`` does."""
    where, move = data.kept_on()
    if (where == SERVER and move and data.server) or (data.path / CAME).exists():
        with alone_with(data, WHAT_FOR):
            _end(data)


def _end(data: DataFolder) -> Path | None:
    """End what was begun, from where it is; gives the file that was left for a server.

    Whoever asks holds the folder's lock.
    """
    came = data.path / CAME
    where, move = data.kept_on()
    left = None
    if where == SERVER and move and data.server:
        migrate.end_move(data.server, move)
        if data.database.exists():
            left = _put_aside(data.database)
        data.remember_kept_on(SERVER)
    elif where == FOLDER and came.exists():
        came.replace(data.database)
        write_through(data.path)
    for left_over in (came, *_logs_of(came)):
        left_over.unlink(missing_ok=True)
    return left


def _put_aside(database: Path) -> Path:
    name = f"{database.stem}{BEFORE_MOVE}{now().astimezone(UTC):%Y%m%dT%H%M%SZ}{database.suffix}"
    aside = database.with_name(name)
    for log, its_own in zip(_logs_of(database), _logs_of(aside), strict=True):
        if log.exists():
            log.replace(its_own)
    database.replace(aside)
    write_through(database.parent)
    return aside


def _logs_of(database: Path) -> list[Path]:
    return [database.with_name(database.name + ending) for ending in LOGS]


def _in_folder(data: DataFolder) -> DataFolder:
    """The same folder, with its database in it."""
    if not data.server:
        raise NoServerNamed
    return replace(data, server="")
