"""What is in a backup, and that nothing else is taken for one."""

import json
import os
import shutil
import stat
import subprocess
import threading
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from settingsdesk.config import DataFolder, Front
from settingsdesk.desk.backups import archive
from settingsdesk.desk.backups.refusals import (
    BackupIsDamaged,
    BackupIsOfAnotherProgram,
    BackupNotWritten,
    FileIsThere,
    NothingToBackUp,
    PassphraseNeeded,
    PassphraseTooShort,
    PassphraseWrong,
)
from settingsdesk.desk.opening import make_ready
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.engine import damage_of
from settingsdesk.store.work import Store
from tests.conftest import DemoClub
from tests.databases import of_files

MOMENT = datetime(2026, 11, 30, 6, 45, tzinfo=UTC)
PASSPHRASE = "four lanterns over wet slates"


@pytest.fixture
def data(demo_club: DemoClub) -> DataFolder:
    """A desk with everything that makes it what it is."""
    make_ready(demo_club.store, demo_club.data)
    demo_club.data.secret_key()
    demo_club.data.remember_public_url("https://desk.example.org")
    demo_club.data.remember_front(Front(https=True, behind=1))
    demo_club.data.remember_served("127.0.0.1", 8000)
    return demo_club.data


@pytest.fixture
def backup(data: DataFolder, tmp_path: Path) -> Path:
    """A backup of it."""
    return archive.write(data, tmp_path / "desk.zip", MOMENT)


def unpacked(file: Path, folder: Path, passphrase: str | None = None) -> Path:
    folder.mkdir()
    with archive.opened(file, passphrase) as opened:
        opened.unpack(folder)
    return folder


class TestABackup:
    def test_holds_database_keys_and_addresses_and_says_so(
        self, data: DataFolder, backup: Path, tmp_path: Path
    ) -> None:
        """Cards printed before open after it: without the key of the cards they would not."""
        folder = unpacked(backup, tmp_path / "unpacked")

        held = {"card.key", "secret.key", "public_url", "front.json", "served"}
        assert {file.name for file in folder.iterdir()} == {"settingsdesk.sqlite3", *held}
        for name in held:
            assert (folder / name).read_bytes() == (data.path / name).read_bytes()
        assert damage_of(folder / "settingsdesk.sqlite3") is None
        with archive.opened(backup) as opened:
            assert opened.contents.made_at == MOMENT
            assert opened.contents.program

    def test_holds_the_keys_of_former_cards(self, data: DataFolder, tmp_path: Path) -> None:
        for name in ("card.key.until-2099-12-31", "card.key.put-aside.1"):
            shutil.copy(data.path / "card.key", data.path / name)
        file = archive.write(data, tmp_path / "desk.zip", MOMENT)

        names = {one.name for one in unpacked(file, tmp_path / "unpacked").iterdir()}
        assert {"card.key.until-2099-12-31", "card.key.put-aside.1"} <= names

    def test_holds_no_papers_and_no_older_copies(self, data: DataFolder, tmp_path: Path) -> None:
        for name in ("cards-of-tonight.pdf", "settingsdesk-before-upgrade-from-1-x.sqlite3"):
            (data.path / name).write_bytes(b"x")
        with zipfile.ZipFile(archive.write(data, tmp_path / "desk.zip", MOMENT)) as opened:
            assert not [name for name in opened.namelist() if "tonight" in name or "before" in name]

    def test_is_for_its_owner_only_and_leaves_nothing_else(
        self, data: DataFolder, tmp_path: Path
    ) -> None:
        before = set(data.path.iterdir())
        (tmp_path / "stick").mkdir()
        file = archive.write(data, tmp_path / "stick", MOMENT)

        assert [one.name for one in file.parent.iterdir()] == ["settingsdesk-20261130T064500Z.zip"]
        assert set(data.path.iterdir()) == before
        if os.name == "posix":
            assert stat.S_IMODE(file.stat().st_mode) == 0o600

    def test_any_program_for_zip_files_finds_it_sound(self, backup: Path) -> None:
        """Read by Python's own reader, and by Info-ZIP's where it is there."""
        with zipfile.ZipFile(backup) as opened:
            assert opened.testzip() is None
        if program := shutil.which("unzip"):
            subprocess.run([program, "-tqq", backup], check=True)

    def test_is_whole_while_others_write(self, demo_club: DemoClub, tmp_path: Path) -> None:
        """Whoever was added before it began is in it, and it is sound, however fast they write."""
        over = threading.Event()
        added: list[int] = []

        def write() -> None:
            while not over.is_set():
                with demo_club.work(writes=True) as session:
                    member = athletes.add(session, Person("Neu", f"A{len(added)}"))
                added.append(member.id)

        writer = threading.Thread(target=write)
        writer.start()
        try:
            for number in range(5):
                surely, file = len(added), tmp_path / f"{number}.zip"
                archive.write(demo_club.data, file, MOMENT)
                folder = unpacked(file, tmp_path / f"{number}")
                assert damage_of(folder / "settingsdesk.sqlite3") is None
                store = Store(folder / "settingsdesk.sqlite3")
                with store.work(demo_club.account.club_id, writes=False) as session:
                    found = {member.id for member in athletes.find(session)}
                assert set(added[:surely]) <= found
                store.close()
        finally:
            over.set()
            writer.join()

    @of_files
    def test_a_copy_of_the_file_alone_would_not_be(
        self, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        """What the check above looks for is there to be found: the log is no part of the file."""
        with demo_club.work(writes=True) as session:
            member = athletes.add(session, Person("Neu", "Ana"))
        plain = shutil.copy(demo_club.data.database, tmp_path / "plain.sqlite3")

        store = Store(Path(plain))
        with store.work(demo_club.account.club_id, writes=False) as session:
            assert member.id not in {one.id for one in athletes.find(session)}
        store.close()


class TestWhereNoneIsMade:
    def test_nothing_is_written_over(self, data: DataFolder, backup: Path) -> None:
        before = backup.read_bytes()
        with pytest.raises(FileIsThere, match="another name"):
            archive.write(data, backup, MOMENT)
        assert backup.read_bytes() == before

    def test_an_empty_folder_has_nothing_to_back_up(self, tmp_path: Path) -> None:
        """Nobody believes in a backup of the wrong folder."""
        with pytest.raises(NothingToBackUp, match="SETTINGSDESK_DATA"):
            archive.write(DataFolder.at(tmp_path / "other"), tmp_path / "desk.zip", MOMENT)

    def test_a_place_that_is_not_there_is_named(self, data: DataFolder, tmp_path: Path) -> None:
        """A stick that was pulled out."""
        with pytest.raises(BackupNotWritten, match="has room"):
            archive.write(data, tmp_path / "gone" / "desk.zip", MOMENT)


def cut_short(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-100])


def one_bit_turned(file: Path) -> None:
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)


def made_anew(change: Callable[[dict[str, bytes]], None]) -> Callable[[Path], None]:
    """The same archive with other members, its own checksums right again."""

    def spoil(file: Path) -> None:
        with zipfile.ZipFile(file) as opened:
            members = {name: opened.read(name) for name in opened.namelist()}
        change(members)
        with zipfile.ZipFile(file, "w") as out:
            for name, content in members.items():
                out.writestr(name, content)

    return spoil


def said(**other: object) -> Callable[[dict[str, bytes]], None]:
    def change(members: dict[str, bytes]) -> None:
        members[archive.CONTENTS] = json.dumps(
            {**json.loads(members[archive.CONTENTS]), **other}
        ).encode()

    return change


def another_key(members: dict[str, bytes]) -> None:
    members["card.key"] = b"0" * 65


def one_more(members: dict[str, bytes]) -> None:
    members["settings.txt"] = b"more"


def one_less(members: dict[str, bytes]) -> None:
    del members["card.key"]


def a_way_out(members: dict[str, bytes]) -> None:
    """A name that would leave the folder."""
    said_before = json.loads(members[archive.CONTENTS])
    name = "card.key.until-/../../../card.key"
    members[name] = members["card.key"]
    said_before["files"][name] = said_before["files"]["card.key"]
    members[archive.CONTENTS] = json.dumps(said_before).encode()


@of_files
class TestWhatIsNoBackup:
    @pytest.mark.parametrize(
        ("spoil", "refusal"),
        [
            (cut_short, SettingsDeskError),
            (one_bit_turned, BackupIsDamaged),
            (made_anew(another_key), BackupIsDamaged),
            (made_anew(one_more), BackupIsDamaged),
            (made_anew(one_less), BackupIsDamaged),
            (made_anew(a_way_out), BackupIsOfAnotherProgram),
            (made_anew(said(files=3)), BackupIsDamaged),
            (made_anew(said(made_at="yesterday")), BackupIsDamaged),
            (made_anew(said(format=2)), BackupIsOfAnotherProgram),
            (made_anew(dict.clear), BackupIsOfAnotherProgram),
            (lambda file: file.write_bytes(b""), BackupIsOfAnotherProgram),
            (lambda file: file.write_bytes(b"a letter " * 99), BackupIsOfAnotherProgram),
            (lambda file: file.unlink(), BackupIsDamaged),
        ],
    )
    def test_is_refused_with_its_name(
        self,
        backup: Path,
        tmp_path: Path,
        spoil: Callable[[Path], None],
        refusal: type[SettingsDeskError],
    ) -> None:
        spoil(backup)
        with pytest.raises(refusal, match="Nothing was changed") as refused:
            unpacked(backup, tmp_path / "unpacked")
        assert str(backup) in str(refused.value)
        assert not (tmp_path / "card.key").exists()


@pytest.fixture(scope="module")
def closed(demo_database: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed backup; to close one takes a second, so that guessing takes years."""
    data = DataFolder.at(tmp_path_factory.mktemp("desk"))
    shutil.copy(demo_database, data.database)
    return archive.write(data, tmp_path_factory.mktemp("stick"), MOMENT, PASSPHRASE)


@of_files
class TestAPassphrase:
    def test_closes_the_file(self, closed: Path) -> None:
        """age-encryption.org/v1: its first line, and a stanza of scrypt (C2SP, age.md)."""
        assert closed.name.endswith(".zip.age")
        head, stanza = closed.read_bytes().split(b"\n")[:2]
        assert head == b"age-encryption.org/v1"
        assert stanza.startswith(b"-> scrypt ")

    def test_opens_it_again(self, closed: Path, tmp_path: Path) -> None:
        folder = unpacked(closed, tmp_path / "unpacked", PASSPHRASE)
        assert damage_of(folder / "settingsdesk.sqlite3") is None

    def test_another_one_does_not(self, closed: Path, tmp_path: Path) -> None:
        with pytest.raises(PassphraseWrong, match="once more"):
            unpacked(closed, tmp_path / "unpacked", "five lanterns over wet slates")

    def test_without_one_it_is_asked_for(self, closed: Path, tmp_path: Path) -> None:
        with pytest.raises(PassphraseNeeded, match="SETTINGSDESK_BACKUP_PASSPHRASE"):
            unpacked(closed, tmp_path / "unpacked")

    def test_a_short_one_closes_nothing(self, data: DataFolder, tmp_path: Path) -> None:
        with pytest.raises(PassphraseTooShort, match="12 characters"):
            archive.write(data, tmp_path / "desk.zip.age", MOMENT, "lanterns")
        assert not (tmp_path / "desk.zip.age").exists()
