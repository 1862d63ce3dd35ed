"""Why something could not be backed up or restored, and what to do."""

from pathlib import Path

from settingsdesk.domain.base.errors import SettingsDeskError


class NothingToBackUp(SettingsDeskError):
    """There is no desk in the data folder, or none in the database on the server."""

    def __init__(self, folder: Path, *, on_server: bool):
        self.folder, self.on_server = folder, on_server

    def __str__(self) -> str:
        if self.on_server:
            return (
                "There is nothing to back up: the database on the server is empty. Name that of"
                " your desk in SETTINGSDESK_DATABASE_URL"
            )
        return (
            f"There is nothing to back up in {self.folder}. Name the folder of your desk in"
            " SETTINGSDESK_DATA"
        )


class FileIsThere(SettingsDeskError):
    """A backup was to be written over a file."""

    def __init__(self, file: Path):
        self.file = file

    def __str__(self) -> str:
        return f"{self.file} is there already and was left as it is. Give the backup another name"


class BackupNotWritten(SettingsDeskError):
    """The disk did not take a backup."""

    def __init__(self, file: Path, reason: str):
        self.file, self.reason = file, reason

    def __str__(self) -> str:
        return (
            f"The backup {self.file} could not be written ({self.reason}), and none was made. Name"
            " a folder that is there and has room"
        )


class BackupIsDamaged(SettingsDeskError):
    """A backup cannot be read whole, or is not what its checksums say."""

    def __init__(self, file: Path, finding: str):
        self.file, self.finding = file, finding

    def __str__(self) -> str:
        return (
            f"The backup {self.file} is damaged ({self.finding}). Nothing was changed. Take another"
            " copy of it, or the one before"
        )


class BackupIsOfAnotherProgram(SettingsDeskError):
    """A file is none that ``settingsdesk backup`` made."""

    def __init__(self, file: Path):
        self.file = file

    def __str__(self) -> str:
        return (
            f"{self.file} is no backup that this settingsdesk can read. Nothing was changed. Name a"
            " file that `settingsdesk backup` made; one of a newer version needs that version"
        )


class BackupDoesNotFit(SettingsDeskError):
    """The desk in a backup cannot be opened."""

    def __init__(self, file: Path, refusal: str):
        self.file, self.refusal = file, refusal

    def __str__(self) -> str:
        return (
            f"{self.file} was not restored, and nothing was changed. What is in it: {self.refusal}"
        )


class PassphraseNeeded(SettingsDeskError):
    """A backup is closed with a passphrase and none was given."""

    def __init__(self, file: Path):
        self.file = file

    def __str__(self) -> str:
        return (
            f"{self.file} is closed with a passphrase. Give it when you are asked, or in"
            " SETTINGSDESK_BACKUP_PASSPHRASE"
        )


class PassphraseWrong(SettingsDeskError):
    """A passphrase does not open a backup, or the backup was changed."""

    def __init__(self, file: Path):
        self.file = file

    def __str__(self) -> str:
        return (
            f"This passphrase does not open {self.file}, or the file is damaged. Try it once more,"
            " or another copy. Nothing was changed"
        )


class PassphraseTooShort(SettingsDeskError):
    """A passphrase that a machine would guess."""

    def __init__(self, least_signs: int):
        self.least_signs = least_signs

    def __str__(self) -> str:
        return (
            f"Give a passphrase of at least {self.least_signs} characters, such as four words that"
            " do not belong together: whoever finds the file may guess for years"
        )


class NoServerNamed(SettingsDeskError):
    """A database was to be moved to a server or from one, and none is named."""

    sentence = (
        "Name the server in SETTINGSDESK_DATABASE_URL, such as"
        " postgresql://desk@db.example.org/desk; the database is moved between it and the data"
        " folder"
    )


class NothingToMove(SettingsDeskError):
    """There is no desk where a database was to be moved from."""

    def __init__(self, where: str):
        self.where = where

    def __str__(self) -> str:
        return f"There is no desk in {self.where}, so nothing was moved"


class FolderHasADesk(SettingsDeskError):
    """A database was to be moved into a folder that has one."""

    def __init__(self, database: Path):
        self.database = database

    def __str__(self) -> str:
        return (
            f"There is a database in the folder already, {self.database}, and it was left as it is."
            " Put it elsewhere, then begin once more"
        )
