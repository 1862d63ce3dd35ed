"""What the store refuses, said to the coach."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, marked

MET_BY_STRANGERS = (
    marked("apparatus"),
    marked("card"),
    marked("finding"),
    marked("rotation"),
    marked("run"),
    marked("station"),
)
"""What volunteers and holders of cards can ask for by a number; the rest is the coach's."""


def _which(database: str, on_server: bool) -> str:
    return f"The database {database} on the server" if on_server else database


def _another(on_server: bool) -> str:
    return (
        "another database in SETTINGSDESK_DATABASE_URL"
        if on_server
        else "another data folder in SETTINGSDESK_DATA"
    )


class NotInThisClub(SettingsDeskError):
    """Asked for something by its number that this club does not have (a page answers 404)."""

    def __init__(self, what: str, number: int | str):
        self.what, self.number = what, number

    def __str__(self) -> str:
        return Sentence(
            "This club has no %(what)s with the number %(number)s. Look for it in the list",
            what=Sentence(self.what),
            number=str(self.number),
        )


class BelongsToAnotherClub(SettingsDeskError):
    """Something of one club was about to be written by another."""

    def __init__(self, what: str):
        self.what = what

    def __str__(self) -> str:
        return f"This {self.what} belongs to another club and was left as it is"


class RecordIsFinal(SettingsDeskError):
    """A record that is only ever added to was about to be changed or deleted."""

    def __init__(self, what: str):
        self.what = what

    def __str__(self) -> str:
        return f"A recorded {self.what} is never changed or deleted. Record a new one instead"


class DeskIsBusy(SettingsDeskError):
    """No turn to write within the waiting time (a page answers 503 with Retry-After)."""

    def __init__(self, waited_seconds: float):
        self.waited_seconds = waited_seconds

    def __str__(self) -> str:
        return Sentence(
            "Others were saving for %(seconds)s seconds without a gap, so nothing was changed."
            " Wait a moment, then save again",
            seconds=Decimal(f"{self.waited_seconds:g}"),
        )


class GivenUpForOthers(SettingsDeskError):
    """A database server gave up a unit of work, since it and another one waited for each other.

    Nothing of it was kept; where it can be done once more, ``Store.again`` does so.
    """

    sentence = Sentence(
        "The database was busy with something else at the same moment, so nothing was changed. Wait"
        " a moment, then save again"
    )


class NoRoomLeft(SettingsDeskError):
    """The disk that holds the database is full."""

    sentence = Sentence(
        "The disk is full, so nothing was changed. Make room on it, then save again"
    )


class CharacterNotKept(SettingsDeskError):
    """A text holds the character NUL, which PostgreSQL keeps nowhere (its manual, 8.3 and 8.14)."""

    sentence = (
        "Something that was sent holds a character that nobody can see and that the database does"
        " not keep, so nothing was changed. Type it anew"
    )


class DatabaseNotWritable(SettingsDeskError):
    """The database cannot be opened, or not for writing."""

    def __init__(self, database: str, reason: str):
        self.database, self.reason = database, reason

    def __str__(self) -> str:
        return (
            f"settingsdesk cannot open {self.database} for writing ({self.reason}). Let the user "
            "that runs it write there, or name another folder in SETTINGSDESK_DATA"
        )


class DatabaseIsDamaged(SettingsDeskError):
    """The file is no database, or parts of it cannot be read."""

    def __init__(self, database: str, finding: str):
        self.database, self.finding = database, finding

    def __str__(self) -> str:
        return (
            f"{self.database} cannot be read as a database ({self.finding}). Stop settingsdesk, "
            "keep that file, and put the last good copy in its place"
        )


class DatabaseIsElsewhere(SettingsDeskError):
    """The file of the database was moved, deleted or replaced while it was open."""

    sentence = Sentence(
        "The data folder of this desk was moved, deleted or replaced, so nothing was saved. Whoever"
        " looks after the computer stops settingsdesk, puts the folder back, and starts it again"
    )

    def __init__(self, database: str):
        self.database = database


class DatabaseDoesNotAnswer(SettingsDeskError):
    """The database server cannot be reached, or cut the connection."""

    sentence = Sentence(
        "The database does not answer just now, so nothing was saved. Wait a moment, then try once"
        " more"
    )

    def __init__(self, reason: str):
        self.reason = reason


class DatabaseInUse(SettingsDeskError):
    """Another desk serves or replaces what is in a server's database."""

    def __init__(self, database: str, holder: str):
        self.database, self.holder = database, holder

    def __str__(self) -> str:
        held = f" ({self.holder})" if self.holder else ""
        return (
            f"Another settingsdesk uses the database {self.database} now{held}. Stop that one"
            " first, or name another database in SETTINGSDESK_DATABASE_URL. Where its machine was"
            " switched off, wait half a minute"
        )


class DriverMissing(SettingsDeskError):
    """A database server was named, and what speaks to it is not installed."""

    sentence = (
        "SETTINGSDESK_DATABASE_URL names a PostgreSQL server, and psycopg is not installed:"
        " pip install 'settingsdesk[postgres]'"
    )


class JournalNotPossible(SettingsDeskError):
    """The database is on a file system that cannot keep SQLite's write-ahead log."""

    def __init__(self, database: str, offered: str):
        self.database, self.offered = database, offered

    def __str__(self) -> str:
        return (
            f"The disk of {self.database} cannot keep a write-ahead log (it offers "
            f"'{self.offered}'). Move the data folder to a local disk"
        )


class DatabaseIsNewer(SettingsDeskError):
    """The database was written by a version of settingsdesk that came after this one."""

    def __init__(self, database: str, revision: str, *, on_server: bool):
        self.database, self.revision, self.on_server = database, revision, on_server

    def __str__(self) -> str:
        return (
            f"{_which(self.database, self.on_server)} was written by a newer settingsdesk (tables"
            f" {self.revision}). Install that version, or name {_another(self.on_server)}"
        )


class DatabaseIsNotOurs(SettingsDeskError):
    """There are tables in the database, but settingsdesk did not make them."""

    def __init__(self, database: str, tables: Sequence[str], *, on_server: bool):
        self.database, self.tables, self.on_server = database, tuple(tables), on_server

    def __str__(self) -> str:
        return (
            f"{_which(self.database, self.on_server)} holds tables of another program"
            f" ({', '.join(self.tables[:3])}), which were left as they are. Name"
            f" {_another(self.on_server)}"
        )


class OthersReferToOurs(SettingsDeskError):
    """Rows of the desk's tables were to be replaced, and another program's tables refer to them."""

    def __init__(self, database: str, tables: Sequence[str]):
        self.database, self.tables = database, tuple(tables)

    def __str__(self) -> str:
        return (
            f"In the database {self.database} tables of another program"
            f" ({', '.join(self.tables[:3])}) refer to those of the desk, so nothing was replaced"
            " there. Make an empty database and name that in SETTINGSDESK_DATABASE_URL, or have"
            " whoever looks after the server take those references away"
        )


class UpgradeRefused(SettingsDeskError):
    """An upgrade of the tables would have left rows that point at nothing; it was undone."""

    def __init__(self, database: str, rows: int):
        self.database, self.rows = database, rows

    def __str__(self) -> str:
        return (
            f"Upgrading {self.database} would have left {self.rows} rows without what they belong "
            "to, so it was undone. Go on with the version before, and report this"
        )


class CopyIsDamaged(SettingsDeskError):
    """A copy of the database did not pass SQLite's own check, so it was thrown away."""

    def __init__(self, database: Path, finding: str):
        self.database, self.finding = database, finding

    def __str__(self) -> str:
        return (
            f"A copy of {self.database} did not pass its check ({self.finding}), so it was thrown"
            " away and nothing was changed. Restore the last good copy, or check the disk"
        )


class ValueNotKept(SettingsDeskError):
    """A row has a value that the other database cannot keep as it is."""

    def __init__(self, table: str, column: str, number: int | str):
        self.table, self.column, self.number = table, column, number

    def __str__(self) -> str:
        return (
            f"The {self.column.replace('_', ' ')} of {self.table.replace('_', ' ')} {self.number}"
            " cannot be kept on a server as it is, so nothing was moved. Write it anew in the"
            " desk, then begin once more"
        )


class RowsNotTaken(SettingsDeskError):
    """The server refused rows of a table."""

    def __init__(self, table: str, reason: str):
        self.table, self.reason = table, reason

    def __str__(self) -> str:
        return (
            f"The server did not take the rows of {self.table.replace('_', ' ')} ({self.reason}),"
            " so nothing was moved"
        )


class NotTheSame(SettingsDeskError):
    """What came out of one database is not what was read again out of the other."""

    def __init__(self, table: str, rows: int, found: int):
        self.table, self.rows, self.found = table, rows, found

    def __str__(self) -> str:
        return (
            f"Of {self.rows} rows of {self.table.replace('_', ' ')} {self.found} arrived, or not"
            " as they were, so nothing was moved. Begin once more, and report this if it happens"
            " again"
        )


class ServerHasADesk(SettingsDeskError):
    """A database was to be moved to where there is one."""

    def __init__(self, database: str):
        self.database = database

    def __str__(self) -> str:
        return (
            f"There is a desk in the database {self.database} already, and it was left as it is."
            " Make an empty database on the server and name that in SETTINGSDESK_DATABASE_URL"
        )


class MoveUnfinished(SettingsDeskError):
    """The database on the server is what a move left that was cut off."""

    def __init__(self, database: str):
        self.database = database

    def __str__(self) -> str:
        return (
            f"The move to the database {self.database} was cut off before its end. The desk is"
            " where it was: begin once more with `settingsdesk move server`, or start without"
            " SETTINGSDESK_DATABASE_URL"
        )


class NotFenced(RuntimeError):
    """A statement that cannot be kept to one club: a mistake in the program, not the coach's."""


class NobodyActs(RuntimeError):
    """A unit of work was opened without saying who acts: a mistake in the program."""


class OpenedForReading(RuntimeError):
    """A unit of work for reading tried to write: a mistake in the program, not the coach's."""
