"""A desk with one club and one coach, on a real database file, for the tests of every package."""

# ruff: noqa: E402
import gc

# While modules are loaded and tests are found, hardly anything becomes garbage.
gc.disable()

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Blueprint, Flask
from hypothesis import HealthCheck, settings
from jinja2 import FileSystemBytecodeCache
from sqlalchemy import URL, Compiled, Engine, create_engine
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite

from settingsdesk.cards import lettering
from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import passwords
from settingsdesk.desk.accounts.accounts import add_account
from settingsdesk.desk.demo.club import load as load_demo
from settingsdesk.desk.rotations import searches
from settingsdesk.resources import folder
from settingsdesk.store import engine, server
from settingsdesk.store.clubs import Club, account_by_sign_in_name, this_club
from settingsdesk.store.migrate import upgrade, upgraded
from settingsdesk.store.work import ClubSession, Store
from settingsdesk.web.app import create_app, new_desk
from settingsdesk.web.frame.sessions import DeskSessions
from settingsdesk.web.frame.work import OURS, Desk
from settingsdesk.web.rotations import searches as web_searches
from settingsdesk.web.runs import run as web_run
from tests.databases import Databases, Where
from tests.databases import databases as all_databases

# The same examples every time, and none is about time: a shared machine is slow at times.
settings.register_profile(
    "repeatable", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "long", settings.get_profile("repeatable"), derandomize=False, max_examples=500
)
settings.load_profile("repeatable")

# It is noon where the tests run, so that no midnight comes between what is made and what is read.
os.environ["TZ"] = f"NOON{datetime.now(UTC).hour - 12:+d}"
time.tzset()


LONGEST = (
    "tests/web/test_statements.py",
    "tests/browser/test_interruptions.py",
    "tests/browser/test_bars_story.py::TestTheWholeRotation",
)
"""What takes a minute and more each."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Each process begins with one of the longest, or all would wait for it at the end."""
    others = [item for item in items if not item.nodeid.startswith(LONGEST)]
    share = -(-len(others) // int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1")))
    ordered = []
    for number, name in enumerate(LONGEST):
        ordered += [item for item in items if item.nodeid.startswith(name)]
        ordered += others[number * share : (number + 1) * share]
    items[:] = [*ordered, *others[len(LONGEST) * share :]]


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Iterator[None]:
    """Who comes first to a module of tests compiles it, and the other processes wait for that.

    They all collect everything, in the same order: each compiled it, and that took longer than
    all the rest of collecting.
    """
    if not isinstance(collector, pytest.Module):
        return (yield)
    with collector.path.open("rb") as module:
        fcntl.flock(module, fcntl.LOCK_EX)
        return (yield)


def pytest_collection_finish() -> None:
    """What is loaded by now stays: looking through it for garbage took a tenth of all the time."""
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)
    gc.enable()


TEMPLATES = FileSystemBytecodeCache(pattern="template-%s")
"""What templates were compiled to, for all applications; where, ``shared_templates`` says."""


@pytest.fixture(scope="session", autouse=True)
def only_our_letters() -> None:
    """Cards are lettered by our own faces, whatever else is installed on this machine."""
    lettering._INSTALLED = dict.fromkeys(lettering.Face, ("nothing_beside_ours", ""))


@pytest.fixture(scope="session", autouse=True)
def shared_templates(tmp_path_factory: pytest.TempPathFactory) -> None:
    """All processes of a run share them, and no run the next: it may compile in another way."""
    TEMPLATES.directory = str(_of_all(tmp_path_factory))


@pytest.fixture(scope="session", autouse=True)
def shared_sql() -> Iterator[None]:
    """What statements were compiled to, for all databases of this process.

    An engine keeps that for itself and by its dialect; each test opens engines for a file of its
    own, and all of them speak the same.
    """
    compiled: dict[object, Compiled] = {}

    def sharing(url: URL, **settings: Any) -> Engine:
        return create_engine(url, execution_options={"compiled_cache": compiled}, **settings)

    with pytest.MonkeyPatch.context() as patch:
        for dialect in (SQLiteDialect_pysqlite, PGDialect_psycopg):
            patch.setattr(dialect, "__eq__", lambda one, other: type(one) is type(other))
            patch.setattr(dialect, "__hash__", lambda one: hash(type(one)))
        for module in (engine, server):
            patch.setattr(module, "create_engine", sharing)
        yield


AS_SLOW_AS_IT_IS = passwords._hasher


@pytest.fixture(scope="session", autouse=True)
def quick_passwords() -> Iterator[None]:
    """Passwords are kept and compared in the same way, but not as slowly as it is on purpose.

    ``slow_passwords`` has it as slow as it is, in ``tests/desk/accounts``: where it is the subject.
    """
    with pytest.MonkeyPatch.context() as patch:
        hash_with(patch, PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
        yield


def hash_with(patch: pytest.MonkeyPatch, hasher: PasswordHasher) -> None:
    """Keep passwords so, and also what the password of an unknown name is compared with."""
    patch.setattr(passwords, "_hasher", hasher)
    patch.setattr(passwords, "_nobody", cache(passwords._nobody.__wrapped__))


class Applications:
    """Applications that one test after the other works with, each at a desk of its own.

    To make one takes longer than most tests take, nearly all of it for the rules of its addresses.
    A test that changes more than the desk would change it for others, and fails here.
    """

    def __init__(self, *also: Blueprint, **reached: Any) -> None:
        """``also`` are rooms that these applications have besides those of the desk.

        ``reached`` is given to ``create_app``: where they are reached and what stands before them.
        """
        self._also, self._reached, self._free = also, reached, list[Flask]()

    @contextmanager
    def lent(self, desk: Desk) -> Iterator[Flask]:
        """An application at that desk."""
        app = self._free.pop() if self._free else self._made(desk)
        app.extensions[OURS], app.secret_key = desk, desk.data.secret_key()
        app.session_interface = DeskSessions()  # it keeps what it made of a desk's key
        as_lent = _set_up_with(app)
        yield app
        desk.searches.close()
        assert _set_up_with(app) == as_lent, "ask for app_of_its_own to change an application"
        self._free.append(app)

    def _made(self, desk: Desk) -> Flask:
        app = new_app(desk.data, desk.store, **self._reached)
        for room in self._also:
            app.register_blueprint(room)
        return app


def _set_up_with(app: Flask) -> tuple[object, ...]:
    refusals = {
        (room, status, kind): handler
        for room, by_status in app.error_handler_spec.items()
        for status, by_kind in by_status.items()
        for kind, handler in by_kind.items()
    }
    by_room = (
        app.before_request_funcs,
        app.after_request_funcs,
        app.teardown_request_funcs,
        app.template_context_processors,
        app.url_default_functions,
    )
    by_name = (
        *(app.config, app.extensions, app.view_functions, app.blueprints, refusals),
        *(app.jinja_env.filters, app.jinja_env.globals),
    )
    return (
        *(dict(values) for values in by_name),
        *({room: list(functions) for room, functions in by.items() if functions} for by in by_room),
    )


APPLICATIONS = Applications()

DEMO_PASSWORD = "seven lanterns over wet slates"


@dataclass(frozen=True)
class Account:
    """What a coach knows to sign in, and the club and coach it leads to."""

    club_id: int
    account_id: int
    sign_in_name: str
    password: str


class Clock:
    """Seconds that pass only when a test says so."""

    def __init__(self) -> None:
        self.seconds = 1000.0

    def __call__(self) -> float:
        return self.seconds


def once_in_a_run(
    folders: pytest.TempPathFactory, name: str, make: Callable[[Path], object]
) -> Path:
    """A file for all processes of a run: the first that asks makes it, and the others wait."""
    of_all = _of_all(folders)
    file = of_all / name
    with (of_all / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.exists():
            unfinished = of_all / f"{name}.unfinished"
            make(unfinished)
            unfinished.rename(file)
    return file


def database_of_a_run(
    folders: pytest.TempPathFactory,
    databases: Databases,
    name: str,
    make: Callable[[Where], object],
) -> Where:
    """A database for all processes of a run, to be copied from."""
    return databases.known_by(once_in_a_run(folders, name, lambda file: databases.made(file, make)))


def _of_all(folders: pytest.TempPathFactory) -> Path:
    """The folder of a run, in which each of its processes has one of its own."""
    own = folders.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@pytest.fixture(scope="session")
def databases() -> Iterator[Databases]:
    """Where this process keeps its databases."""
    yield from all_databases()


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory, databases: Databases) -> Where:
    """A database with this version's tables and nothing in them, to be copied."""
    return database_of_a_run(tmp_path_factory, databases, "empty.sqlite3", upgrade)


@pytest.fixture(scope="session")
def one_club(
    empty_database: Where, tmp_path_factory: pytest.TempPathFactory, databases: Databases
) -> tuple[Where, Account]:
    """A database with one club and one coach, to be copied."""
    return new_club(databases, empty_database, tmp_path_factory.mktemp("one_club"))


def new_club(databases: Databases, empty: Where, folder: Path) -> tuple[Where, Account]:
    """Make that database, known by a file in that folder."""
    where = databases.copied(empty, folder / "desk.sqlite3")
    store = Store(where)
    account = new_account(store, "Harbour Gymnastics", "edda", "Edda Quill")
    store.close()
    return where, account


@pytest.fixture
def account(one_club: tuple[Where, Account]) -> Account:
    """The coach of the club that the tests work in."""
    return one_club[1]


@pytest.fixture
def data(
    tmp_path: Path, one_club: tuple[Where, Account], databases: Databases
) -> Iterator[DataFolder]:
    """A data folder whose database holds that club and its coach, and nothing else."""
    made = folder_with(databases, one_club[0], tmp_path / "desk")
    yield made
    databases.forget(made.database)


def folder_with(databases: Databases, template: Where, path: Path) -> DataFolder:
    """A new data folder with a copy of that database."""
    folder = DataFolder.at(path)
    where = databases.copied(template, folder.database)
    return folder if isinstance(where, Path) else replace(folder, server=where)


@pytest.fixture
def store(data: DataFolder) -> Iterator[Store]:
    """The store on that database."""
    opened = Store(data.where, folder=data.path)
    yield opened
    opened.close()


@pytest.fixture(scope="session", autouse=True)
def patience() -> Iterator[None]:
    """Orders and their ends are waited for, so that no test depends on how busy the machine is."""
    with pytest.MonkeyPatch.context() as patch:
        for module, most_s in (
            (web_searches, "AT_ONCE_S"),
            (web_run, "REST_S"),
            (searches, "PATIENCE_S"),
            (searches, "ENDS_WITHIN_S"),
        ):
            patch.setattr(module, most_s, 60.0)
        yield


@pytest.fixture
def clock() -> Clock:
    """The clock that the application measures waiting times with."""
    return Clock()


@pytest.fixture
def app(data: DataFolder, store: Store, clock: Clock) -> Iterator[Flask]:
    """The application on that store."""
    with APPLICATIONS.lent(new_desk(data, store, clock=clock)) as app:
        yield app


@pytest.fixture
def app_of_its_own(data: DataFolder, store: Store, clock: Clock) -> Flask:
    """The same for a test that changes the application itself."""
    return new_app(data, store, clock)


@pytest.fixture(scope="session")
def demo_database(tmp_path_factory: pytest.TempPathFactory, databases: Databases) -> Where:
    """A database with the demo club, to be copied."""

    def make(where: Where) -> None:
        store = upgraded(where)
        load_demo(store, folder("seed"), DEMO_PASSWORD)
        store.close()

    return database_of_a_run(tmp_path_factory, databases, "demo.sqlite3", make)


@dataclass(frozen=True)
class DemoClub:
    """A desk with the demo club on it, and its coach."""

    data: DataFolder
    store: Store
    account: Account

    @contextmanager
    def work(self, *, by: str = "Runa", writes: bool = False) -> Iterator[ClubSession]:
        """One unit of work in the demo club."""
        with self.store.work(self.account.club_id, by=by, writes=writes) as session:
            yield session


def read_inches(session: ClubSession) -> None:
    """From now on the club reads and types inches."""
    this_club(session).length_unit = "in"
    session.flush()


@pytest.fixture(scope="session")
def demo_account(
    demo_database: Where, tmp_path_factory: pytest.TempPathFactory, databases: Databases
) -> Account:
    """The coach of the demo club, the same in all copies of it."""
    copy = tmp_path_factory.mktemp("demo") / "desk.sqlite3"
    store = Store(databases.copied(demo_database, copy))
    with store.installation(writes=False) as session:
        runa = account_by_sign_in_name(session, "runa")
        assert runa is not None
        account = Account(runa.memberships[0].club_id, runa.id, "runa", DEMO_PASSWORD)
    store.close()
    return account


@pytest.fixture
def demo_club(
    demo_database: Where, demo_account: Account, tmp_path: Path, databases: Databases
) -> Iterator[DemoClub]:
    """The demo club, on a database of its own."""
    data = folder_with(databases, demo_database, tmp_path / "demo")
    store = Store(data.where, folder=data.path)
    yield DemoClub(data, store, demo_account)
    store.close()
    databases.forget(data.database)


@pytest.fixture
def demo_app(demo_club: DemoClub, clock: Clock) -> Iterator[Flask]:
    """The application on the demo club."""
    with APPLICATIONS.lent(new_desk(demo_club.data, demo_club.store, clock=clock)) as app:
        yield app


def new_app(
    data: DataFolder, store: Store, clock: Callable[[], float] = time.monotonic, **reached: Any
) -> Flask:
    """An application of its own; what its templates were compiled to is shared with the others."""
    app = create_app(data=data, store=store, testing=True, clock=clock, **reached)
    app.jinja_env.bytecode_cache = TEMPLATES
    return app


def new_account(store: Store, club_name: str, sign_in_name: str, shown_name: str) -> Account:
    """A new club with one coach who can sign in."""
    password = f"lanterns over seven wet {sign_in_name} roofs"
    with store.installation(writes=True) as session:
        club = Club(name=club_name)
        session.add(club)
        session.flush()
        club_id = club.id
    account_id = add_account(store, club_id, sign_in_name, shown_name, password)
    return Account(club_id, account_id, sign_in_name, password)
