"""The data folder: the database, the two keys, and what was said of how the desk is reached."""

import contextlib
import ipaddress
import json
import os
import re
import secrets
import socket
import stat
import tempfile
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from urllib.parse import urlsplit

from settingsdesk.domain.base.errors import SettingsDeskError

KEY_BYTES = 32

LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})
"""What every machine is called by itself, and by nobody else."""

HOST_NAME = re.compile(
    r"(?!\d+(\.\d+)*$)[a-z0-9_]([a-z0-9_-]*[a-z0-9_])?(\.[a-z0-9_]([a-z0-9_-]*[a-z0-9_])?)*"
)
"""RFC 1123, 2.1, with the underscore that some machines' names have; never figures alone."""
KNOWS_RIGHTS = os.name == "posix"
"""Whether files have an owner, a group and others, each with rights."""

TRIES, TRIED_AGAIN_S = 20, 0.05

CARD_KEY = "card.key"
NEXT = f"{CARD_KEY}.next"
FORMER = f"{CARD_KEY}.until-"
"""A former key has the last day on which its cards count in its name."""
PUT_ASIDE = f"{CARD_KEY}.put-aside"
SESSION_KEY = "secret.key"
DATABASE = "settingsdesk.sqlite3"
PUBLIC_URL, FRONT, SERVED, HOME = "public_url", "front.json", "served", "home"

KEPT_ON = "kept_on"
SERVER, FOLDER = "server", "folder"
"""Where the database of a desk is that was moved or restored."""

BEFORE_MOVE = "-before-move-"
"""In the name of a database file that was left when its desk moved to a server."""

BEFORE_RESTORING = "before-restoring-"
"""Begins the name of a folder with what was there before a backup was put in its place."""


class DataFolderNotWritable(SettingsDeskError):
    """The data folder cannot be made, or nothing can be written in it."""

    def __init__(self, path: Path, reason: str):
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return (
            f"settingsdesk cannot write in its data folder {self.path} ({self.reason}). Let the "
            "user that runs it write there, or name another folder in SETTINGSDESK_DATA"
        )


class DatabaseIsOnServer(SettingsDeskError):
    """The database of a folder was moved to a server, and none is named."""

    def __init__(self, path: Path):
        self.path = path

    def __str__(self) -> str:
        return (
            f"The database of the desk in {self.path} is on a server. Name it in"
            " SETTINGSDESK_DATABASE_URL, or another folder in SETTINGSDESK_DATA"
        )


class DatabaseIsInFolder(SettingsDeskError):
    """A server is named, and the database was moved into the folder."""

    def __init__(self, path: Path):
        self.path = path

    def __str__(self) -> str:
        return (
            f"The database of the desk in {self.path} is in that folder. Start without"
            " SETTINGSDESK_DATABASE_URL, or move it to the server: settingsdesk move server"
        )


class DataFolderIsOpen(SettingsDeskError):
    """Others on this machine may look into the data folder."""

    def __init__(self, path: Path):
        self.path = path

    def __str__(self) -> str:
        return (
            f"Others on this machine can look into {self.path}, where names of minors and the keys"
            f" are. Close it: chmod -R go= '{self.path}'. Where that is meant, serve with"
            " --open-folder"
        )


class KeyNotWhole(SettingsDeskError):
    """A key file does not hold a whole key."""

    def __init__(self, path: Path):
        self.path = path

    def __str__(self) -> str:
        return (
            f"{self.path} does not hold a whole key. Put the copy of it back. Without a copy: of "
            "secret.key, delete it, and a new one is made (everybody signs in again); of card.key,"
            " `settingsdesk card-key change` makes a new one (cards must be printed again)"
        )


class CardKeyGone(SettingsDeskError):
    """The key of the cards went from the data folder while the desk serves."""

    def __init__(self, path: Path):
        self.path = path

    def __str__(self) -> str:
        return (
            f"The key of the cards, {self.path}, is gone: no code can be made or read. Put the copy"
            " of it back"
        )


class PublicUrlNotUsable(SettingsDeskError):
    """The address given for cards is not one that a phone could open."""

    def __init__(self, given: str):
        self.given = given

    def __str__(self) -> str:
        return (
            f"'{self.given}' cannot be the address on cards. Give the one at which phones reach "
            "this desk, such as https://desk.example.org, without anything after a ? or #"
        )


class NameNotUsable(SettingsDeskError):
    """What was given as a name of the desk is none that a browser could ask for."""

    def __init__(self, given: str):
        self.given = given

    def __str__(self) -> str:
        return (
            f"'{self.given}' cannot be a name of this desk. Give only what stands between // and"
            " the next / or : of an address, such as desk.example.org or 192.0.2.7"
        )


class FrontNotReadable(SettingsDeskError):
    """The file that keeps how the desk is reached is spoilt."""

    def __init__(self, path: Path):
        self.path = path

    def __str__(self) -> str:
        return (
            f"{self.path} cannot be read. Delete it, and start once more with what it kept:"
            " --https, --behind and --name"
        )


def host_name(given: str) -> str | None:
    """A name or an address of a machine in its one spelling; None for what is neither.

    Small letters, without the dot that ends a full name, letters of other alphabets as they travel
    (IDNA), an IPv6 address at its shortest (RFC 5952) with or without its brackets.
    """
    name = given.removesuffix(".")
    with contextlib.suppress(ValueError):
        return str(ipaddress.IPv4Address(name))
    with contextlib.suppress(ValueError):
        return str(ipaddress.IPv6Address(name.removeprefix("[").removesuffix("]")))
    try:
        travels_as = name.encode("idna").decode("ascii").lower()
    except UnicodeError:
        return None
    return travels_as if HOST_NAME.fullmatch(travels_as) else None


@dataclass(frozen=True, slots=True)
class Front:
    """What stands between the desk and whoever asks it, as it was told at a start.

    ``https``: a server in front ends TLS, and the pages are reached by https. ``behind``: so many
    servers stand in front, and what they say of where a request came from is believed. ``names``:
    the desk answers under these too, besides its public address and its own (``host_name``).
    """

    https: bool = False
    behind: int = 0
    names: frozenset[str] = frozenset()

    def named(self, more: Iterable[str], no_more: Iterable[str]) -> "Front":
        """The same with those names and without these. Raises ``NameNotUsable``."""
        added, gone = ({_checked_name(name) for name in names} for names in (more, no_more))
        return replace(self, names=(self.names | added) - gone)


@dataclass(frozen=True, slots=True)
class BackupNotes:
    """What is known of backups of this desk: where it keeps them by itself, and how the last went.

    ``folder`` is None where nobody named one. ``made_at`` and ``file`` are the last backup's,
    whoever made it; ``failed_at`` and ``why`` of the last attempt where that made none.
    """

    folder: Path | None = None
    made_at: datetime | None = None
    file: Path | None = None
    failed_at: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class DataFolder:
    """The folder in which one installation keeps everything it writes."""

    path: Path
    server: str = ""
    """The address of a database server that keeps the database; empty where this folder does."""

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] = os.environ) -> "DataFolder":
        """The folder that the environment names, made for its owner only where it is missing.

        ``SETTINGSDESK_DATA``, else ``settingsdesk`` in ``XDG_DATA_HOME``, else in
        ``~/.local/share`` (XDG Base Directory Specification, which has relative paths ignored).
        ``SETTINGSDESK_DATABASE_URL`` names a server that keeps the database, and the folder the
        rest. Raises ``DataFolderNotWritable``.
        """
        server = environment.get("SETTINGSDESK_DATABASE_URL", "")
        return replace(cls.at(_path_from(environment)), server=server)

    @classmethod
    def at(cls, path: Path) -> "DataFolder":
        """That folder, made for its owner only where it is missing."""
        try:
            path.mkdir(mode=0o700, parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=path):
                pass
        except OSError as error:
            raise DataFolderNotWritable(path, str(error.strerror)) from error
        return cls(path)

    def open_to_others(self) -> list[Path]:
        """The folder and what is in it that others on this machine may read or change.

        Nothing where the system knows no such rights.
        """
        if not KNOWS_RIGHTS:
            return []
        within = self.path.rglob("*") if self.path.exists() else ()
        return [file for file in (self.path, *within) if _is_open(file)]

    def must_be_private(self) -> None:
        """Raise ``DataFolderIsOpen`` where others on this machine may look into the folder."""
        if KNOWS_RIGHTS and _is_open(self.path):
            raise DataFolderIsOpen(self.path)

    @property
    def database(self) -> Path:
        """The database file, where no server keeps it; ``store.migrate.upgrade`` makes it."""
        return self.path / DATABASE

    @property
    def where(self) -> Path | str:
        """Where the database is: that file, or the address of its server."""
        return self.server or self.database

    def kept_on(self) -> tuple[str, str]:
        """Where the database is since it was moved or restored, and which move is to be ended.

        Both are empty where nobody ever said.
        """
        try:
            said = (self.path / KEPT_ON).read_text(encoding="ascii")
        except FileNotFoundError:
            return "", ""
        where, _, move = said.strip().partition(" ")
        return where, move

    def remember_kept_on(self, where: str, move: str = "") -> None:
        """From now on the database is there, and nowhere else."""
        self._replace(self.path / KEPT_ON, f"{where} {move}".strip() + "\n")

    def must_be_kept_so(self) -> None:
        """Refuse to work where the database is not: an older one may have been left there.

        ``DatabaseIsOnServer`` or ``DatabaseIsInFolder``.
        """
        where, _ = self.kept_on()
        if where == SERVER and not self.server:
            raise DatabaseIsOnServer(self.path)
        if where == FOLDER and self.server:
            raise DatabaseIsInFolder(self.path)

    def has_database(self) -> bool:
        """Whether there is a file of it, or a server is named."""
        return bool(self.server) or self.database.exists()

    def secret_key(self) -> bytes:
        """The key that signs sessions and forms: 256 random bits, made on first use."""
        return self._key(SESSION_KEY)

    def card_key(self) -> bytes:
        """The key from which the codes on cards are derived, made on first use."""
        return self._key(CARD_KEY)

    def has_card_key(self) -> bool:
        """Whether there is such a key already."""
        return (self.path / CARD_KEY).exists()

    def present_card_key(self) -> bytes:
        """The same, which is never made: ``CardKeyGone`` where it went while the desk serves."""
        if not self.has_card_key():
            raise CardKeyGone(self.path / CARD_KEY)
        return self.card_key()

    def former_card_keys(self, day: date) -> tuple[bytes, ...]:
        """The keys that were changed and whose cards count on that day yet, the last one first."""
        return tuple(
            self._key(file.name)
            for file in sorted(self.path.glob(f"{FORMER}*"), reverse=True)
            if file.name.removeprefix(FORMER)[:10] >= day.isoformat()
        )

    def keep_next_card_key(self) -> bytes:
        """Make the key that follows the present one, beside it, until ``go_to_next_card_key``."""
        self._replace(self.path / NEXT, secrets.token_hex(KEY_BYTES) + "\n")
        return self._key(NEXT)

    def next_card_key(self) -> bytes | None:
        """The key that was to follow; None where no change was begun."""
        return self._key(NEXT) if (self.path / NEXT).exists() else None

    def go_to_next_card_key(self, former_until: date | None) -> None:
        """Put the next key in the place of the present one.

        That stays beside it as a former key until that day; without a day it is put aside, as one
        that made none of the cards. No key is ever deleted.
        """
        present = self.path / CARD_KEY
        if present.exists():
            beside = f"{FORMER}{former_until}" if former_until else PUT_ASIDE
            taken = len(list(self.path.glob(f"{beside}*")))
            present.replace(self.path / (f"{beside}.{taken}" if taken else beside))
        (self.path / NEXT).replace(present)

    def copies(self) -> list[Path]:
        """Files of this folder in which what is erased from the database may still stand.

        Copies that were made before an upgrade or were left by a move, what was replaced by a
        backup, and cards that were written here.
        """
        kinds = ("*-before-upgrade-*", f"*{BEFORE_MOVE}*", f"{BEFORE_RESTORING}*", "*.pdf")
        return sorted(file for kind in kinds for file in self.path.glob(kind))

    def public_url(self) -> str | None:
        """The address at which phones reach this desk; None until it was told."""
        try:
            return self._public_url_file.read_text(encoding="utf-8").strip() or None
        except FileNotFoundError:
            return None

    def remember_public_url(self, url: str) -> str:
        """Keep the address for the next start; returns it as kept, without a slash at its end.

        Raises ``PublicUrlNotUsable``.
        """
        kept = _checked_url(url)
        self._replace(self._public_url_file, kept + "\n")
        return kept

    def forget_public_url(self) -> None:
        """From now on codes carry the machine's own address."""
        self._public_url_file.unlink(missing_ok=True)

    def front(self) -> Front:
        """What stands in front of the desk; nothing until it was told.

        Raises ``FrontNotReadable``: else its cookies would begin to travel in the clear.
        """
        try:
            kept = json.loads(self._front_file.read_text(encoding="utf-8"))
            return Front(bool(kept["https"]), int(kept["behind"]), frozenset(kept["names"]))
        except FileNotFoundError:
            return Front()
        except (ValueError, KeyError, TypeError) as error:
            raise FrontNotReadable(self._front_file) from error

    def remember_front(self, front: Front) -> None:
        """Keep what stands in front of the desk for the next start."""
        kept = {"https": front.https, "behind": front.behind, "names": sorted(front.names)}
        self._replace(self._front_file, json.dumps(kept) + "\n")

    def backup_notes(self) -> BackupNotes:
        """What is known of backups; nothing where it cannot be read, since none is sure then."""
        try:
            kept = json.loads(self._backups_file.read_text(encoding="utf-8"))
            return BackupNotes(
                Path(kept["folder"]) if kept["folder"] else None,
                _moment(kept["made_at"]),
                Path(kept["file"]) if kept["file"] else None,
                _moment(kept["failed_at"]),
                str(kept["why"]),
            )
        except (FileNotFoundError, ValueError, KeyError, TypeError):
            return BackupNotes()

    def remember_backups(self, notes: BackupNotes) -> None:
        """Keep what is known of backups."""
        kept = {
            "folder": str(notes.folder) if notes.folder else None,
            "made_at": notes.made_at.isoformat() if notes.made_at else None,
            "file": str(notes.file) if notes.file else None,
            "failed_at": notes.failed_at.isoformat() if notes.failed_at else None,
            "why": notes.why,
        }
        self._replace(self._backups_file, json.dumps(kept) + "\n")

    def last_served(self) -> tuple[str, int] | None:
        """The host and port on which the pages were served last; None where they never were."""
        try:
            host, port = self._served_file.read_text(encoding="utf-8").split()
            return host, int(port)
        except (FileNotFoundError, ValueError):
            return None

    def remember_served(self, host: str, port: int) -> None:
        """Keep where the pages are served, for cards that are printed without serving."""
        self._replace(self._served_file, f"{host} {port}\n")

    def home(self) -> str | None:
        """On which machine and in which folder this desk was served last; None where it never was.

        A folder that was copied, moved or restored brings the home of where it came from.
        """
        try:
            return (self.path / HOME).read_text(encoding="utf-8").strip() or None
        except FileNotFoundError:
            return None

    @property
    def own_home(self) -> str:
        """The same for this machine and this folder."""
        return f"{self.path.resolve()} on {socket.gethostname()}"

    def remember_home(self) -> None:
        """From now on this is where it is served."""
        self._replace(self.path / HOME, self.own_home + "\n")

    @property
    def _served_file(self) -> Path:
        return self.path / SERVED

    @property
    def _backups_file(self) -> Path:
        return self.path / "backups.json"

    @property
    def _front_file(self) -> Path:
        return self.path / FRONT

    @property
    def _public_url_file(self) -> Path:
        return self.path / PUBLIC_URL

    def _key(self, name: str) -> bytes:
        file = self.path / name
        if not file.exists():
            self._make_once(file, secrets.token_hex(KEY_BYTES) + "\n")
        try:
            key = bytes.fromhex(file.read_text(encoding="ascii"))
        except ValueError as error:
            raise KeyNotWhole(file) from error
        if len(key) < KEY_BYTES:
            raise KeyNotWhole(file)
        return key

    def _make_once(self, file: Path, text: str) -> None:
        """Two processes that start together must end with the same file: the first one wins."""
        whole = self._written(text)
        with contextlib.suppress(FileExistsError):
            os.link(whole, file)
        whole.unlink()

    def _replace(self, file: Path, text: str) -> None:
        put_in_place(self._written(text), file)

    def _written(self, text: str) -> Path:
        """A new file with that text, on the disk, readable by its owner only."""
        try:
            with tempfile.NamedTemporaryFile(
                "w", encoding="utf-8", dir=self.path, delete=False
            ) as new:
                new.write(text)
                new.flush()
                os.fsync(new.fileno())
        except OSError as error:
            raise DataFolderNotWritable(self.path, str(error.strerror)) from error
        return Path(new.name)


def put_in_place(whole: Path, file: Path) -> None:
    """Put a whole file in the place of another one, in one moment.

    Windows refuses that while somebody reads the other one, which is soon over: it is tried again.
    """
    for tries_left in reversed(range(1 if KNOWS_RIGHTS else TRIES)):
        try:
            whole.replace(file)
        except PermissionError:
            if not tries_left:
                raise
            time.sleep(TRIED_AGAIN_S)
        else:
            return


def write_private(file: Path, content: bytes) -> None:
    """Write a file that only its owner may read; one that was there becomes so.

    Where the system knows no such rights it has those of its folder. Raises ``OSError``.
    """
    descriptor = os.open(file, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "wb") as out:
        if KNOWS_RIGHTS and stat.S_ISREG(os.fstat(descriptor).st_mode):
            os.fchmod(descriptor, 0o600)
        out.write(content)


def _moment(kept: str | None) -> datetime | None:
    return datetime.fromisoformat(kept) if kept else None


def _is_open(file: Path) -> bool:
    try:
        return bool(stat.S_IMODE(file.stat().st_mode) & 0o077)
    except FileNotFoundError:  # it went meanwhile
        return False


def _path_from(environment: Mapping[str, str]) -> Path:
    if named := environment.get("SETTINGSDESK_DATA"):
        return Path(named).expanduser().absolute()
    shared = Path(environment.get("XDG_DATA_HOME", ""))
    if not shared.is_absolute():
        shared = Path("~/.local/share").expanduser()
    return shared / "settingsdesk"


def _checked_url(given: str) -> str:
    url = given.strip().rstrip("/")
    try:
        parts = urlsplit(url)
        usable = parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
    except ValueError as error:
        raise PublicUrlNotUsable(given) from error
    if not usable or parts.query or parts.fragment or parts.username or " " in url:
        raise PublicUrlNotUsable(given)
    return url


def _checked_name(given: str) -> str:
    name = host_name(given.strip())
    if name is None:
        raise NameNotUsable(given)
    return name
