"""A desk that moves from its folder to a server and back: as it was, or not moved at all."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import select

from settingsdesk.config import DatabaseIsInFolder, DatabaseIsOnServer, DataFolder
from settingsdesk.desk.backups import begun, moving
from settingsdesk.desk.backups.refusals import FolderHasADesk, NoServerNamed, NothingToMove
from settingsdesk.desk.cards import card_keys, in_hand, issued
from settingsdesk.desk.demo import whole
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.codes import card_code
from settingsdesk.folder_lock import FolderInUse, FolderLock
from settingsdesk.resources import folder
from settingsdesk.store.cards import Card
from settingsdesk.store.errors import MoveUnfinished, ServerHasADesk
from settingsdesk.store.migrate import upgraded
from settingsdesk.store.work import Store
from tests.databases import Databases, Where, on_server
from tests.store.test_moving import all_of, as_the_desk_reads

pytestmark = on_server


@pytest.fixture(scope="session")
def whole_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the whole demo, its meet and a card that was handed out; to be copied."""
    data = DataFolder.at(tmp_path_factory.mktemp("whole") / "desk")
    put, _ = whole.put(data, folder("seed"), "seven lanterns over wet slates")
    store = begun.opened(data)
    with store.work(put.club_id, by="test", writes=True) as session:
        squad = [member.id for member in athletes.find(session)]
        key = card_keys.code_key(data, "https://desk.example.org")
        issued.issue(session, key, 1, squad[:1])
    store.close()
    return data.path


@pytest.fixture
def desk(whole_demo: Path, tmp_path: Path) -> DataFolder:
    """A folder of the test's own with that demo."""
    return DataFolder(Path(shutil.copytree(whole_demo, tmp_path / "desk")))


@pytest.fixture
def on_a_server(desk: DataFolder, empty_database: Where, databases: Databases) -> DataFolder:
    """The same folder where a server is named, with nothing in its database."""
    where = databases.copied(empty_database, desk.path.with_name("server"))
    return replace(desk, server=str(where))


class CutOffError(BaseException):
    """The process is gone."""


def cut_off(*_: object, **__: object) -> None:
    raise CutOffError


def files_of(data: DataFolder) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in data.path.iterdir() if file.is_file()}


class TestTheWholeDemo:
    def test_is_there_and_back_row_by_row(
        self, desk: DataFolder, on_a_server: DataFolder, tmp_path: Path
    ) -> None:
        before = all_of(desk.database)
        others = files_of(desk)

        there = moving.to_server(on_a_server)
        assert there.left is not None
        assert there.left in desk.copies()
        assert as_the_desk_reads(on_a_server.server) == as_the_desk_reads(there.left)
        store = begun.opened(on_a_server)
        store.close()

        back = moving.to_folder(on_a_server)
        assert back == moving.Moved(there.rows, None)
        assert all_of(desk.database) == before
        assert {name: len(rows) for name, rows in before.items()} == there.rows
        # Keys and addresses were where they are all the time.
        kept = files_of(desk)
        assert {name: kept[name] for name in others if name != desk.database.name} == {
            name: content for name, content in others.items() if name != desk.database.name
        }

    def test_opens_the_cards_that_were_printed_before(
        self, desk: DataFolder, on_a_server: DataFolder
    ) -> None:
        store = begun.opened(desk)
        with store.work(1, writes=False) as session:
            [number] = session.scalars(select(Card.id))
        store.close()
        code = card_code(desk.card_key(), number)

        for move, data in ((moving.to_server, on_a_server), (moving.to_folder, desk)):
            move(on_a_server)
            store = begun.opened(data)
            assert in_hand.holder_of(store, code).card_id == number
            store.close()


class TestAfterIt:
    def test_the_desk_is_opened_where_it_went_and_nowhere_else(
        self, desk: DataFolder, on_a_server: DataFolder
    ) -> None:
        """A start without the server's address would begin an empty desk, or an old one."""
        moving.to_server(on_a_server)
        with pytest.raises(DatabaseIsOnServer, match="SETTINGSDESK_DATABASE_URL"):
            begun.opened(desk)
        assert not desk.database.exists()
        moving.to_folder(on_a_server)
        with pytest.raises(DatabaseIsInFolder, match="settingsdesk move server"):
            begun.opened(on_a_server)
        begun.opened(desk).close()

    def test_it_is_not_moved_again_over_what_it_left(self, on_a_server: DataFolder) -> None:
        moving.to_server(on_a_server)
        with pytest.raises(DatabaseIsOnServer):
            moving.to_server(on_a_server)
        moving.to_folder(on_a_server)
        with pytest.raises(ServerHasADesk):
            moving.to_server(on_a_server)


class TestItIsRefused:
    def test_while_a_desk_is_served(self, on_a_server: DataFolder) -> None:
        with FolderLock(on_a_server.path, "serving at 127.0.0.1, port 8000"):
            for move in (moving.to_server, moving.to_folder):
                with pytest.raises(FolderInUse):
                    move(on_a_server)

    def test_without_a_server(self, desk: DataFolder) -> None:
        for move in (moving.to_server, moving.to_folder):
            with pytest.raises(NoServerNamed):
                move(desk)

    def test_without_a_desk(
        self, tmp_path: Path, databases: Databases, on_a_server: DataFolder
    ) -> None:
        empty = DataFolder.at(tmp_path / "empty")
        bare = str(databases.made(tmp_path / "bare", lambda where: None))
        with pytest.raises(NothingToMove, match=f"no desk in {empty.path}"):
            moving.to_server(replace(empty, server=bare))
        with pytest.raises(NothingToMove, match="no desk in the database on the server"):
            moving.to_folder(replace(empty, server=bare))
        assert not empty.database.exists()

    def test_where_the_folder_has_a_database(
        self, desk: DataFolder, on_a_server: DataFolder
    ) -> None:
        before = desk.database.read_bytes()
        with pytest.raises(FolderHasADesk, match="left as it is"):
            moving.to_folder(on_a_server)
        assert desk.database.read_bytes() == before


class TestAMoveThatIsCutOff:
    def test_before_the_folder_says_so_leaves_the_desk_where_it_was(
        self, desk: DataFolder, on_a_server: DataFolder, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Work goes on in the folder, and the next move brings that too."""
        before = as_the_desk_reads(desk.database)
        with monkeypatch.context() as patch:
            patch.setattr(DataFolder, "remember_kept_on", cut_off)
            with pytest.raises(CutOffError):
                moving.to_server(on_a_server)
        with pytest.raises(MoveUnfinished):
            begun.opened(on_a_server)
        assert as_the_desk_reads(desk.database) == before
        add_somebody(desk)

        moving.to_server(on_a_server)
        begun.opened(on_a_server).close()
        assert as_the_desk_reads(on_a_server.server)["athlete"] != before["athlete"]

    @pytest.mark.parametrize(
        "cut", [(moving.migrate, "end_move"), (moving, "_put_aside"), (moving, "write_through")]
    )
    def test_after_that_is_ended_by_whoever_opens_it(
        self,
        desk: DataFolder,
        on_a_server: DataFolder,
        monkeypatch: pytest.MonkeyPatch,
        cut: tuple[object, str],
    ) -> None:
        before = as_the_desk_reads(desk.database)
        with monkeypatch.context() as patch:
            patch.setattr(*cut, cut_off)
            with pytest.raises(CutOffError):
                moving.to_server(on_a_server)
        with pytest.raises(DatabaseIsOnServer):
            begun.opened(desk)

        begun.opened(on_a_server).close()
        assert as_the_desk_reads(on_a_server.server) == before
        assert not desk.database.exists()

    @pytest.mark.parametrize(
        ("where", "name", "moved"),
        [
            (moving.migrate, "copy_rows", False),
            (DataFolder, "remember_kept_on", False),
            (moving, "_end", True),
        ],
    )
    def test_on_its_way_back_is_here_or_there(
        self,
        desk: DataFolder,
        on_a_server: DataFolder,
        monkeypatch: pytest.MonkeyPatch,
        where: object,
        name: str,
        moved: bool,
    ) -> None:
        moving.to_server(on_a_server)
        before = as_the_desk_reads(on_a_server.server)
        real: Callable[..., object] = getattr(where, name)
        calls = 0

        def second(*given: object, **more: object) -> object:
            """The last call of that name in the move."""
            nonlocal calls
            calls += 1
            return real(*given, **more) if name == "_end" and calls == 1 else cut_off()

        with monkeypatch.context() as patch:
            patch.setattr(where, name, second)
            with pytest.raises(CutOffError):
                moving.to_folder(on_a_server)

        here, there = (desk, on_a_server) if moved else (on_a_server, desk)
        with pytest.raises((DatabaseIsInFolder, DatabaseIsOnServer)):
            begun.opened(there)
        begun.opened(here).close()
        assert as_the_desk_reads(here.where) == before
        assert not list(desk.path.glob(f"{moving.CAME}*"))


def add_somebody(data: DataFolder) -> None:
    store: Store = upgraded(data.where)
    with store.work(1, by="test", writes=True) as session:
        athletes.add(session, Person("Neu", "Ana"))
    store.close()
