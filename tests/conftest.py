"""A desk with one club and one coach, on a real database file, for the tests of every package."""

import gc
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask
from hypothesis import HealthCheck, settings
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket
from sqlalchemy.orm import Session

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts.accounts import add_coach
from settingsdesk.desk.demo.club import load as load_demo
from settingsdesk.desk.rotations import searches
from settingsdesk.resources import folder
from settingsdesk.store.clubs import Club, coach_by_sign_in_name
from settingsdesk.store.migrate import upgrade
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app
from settingsdesk.web.rotations import searches as web_searches
from settingsdesk.web.runs import run as web_run

# The same examples every time, and none is about time: a shared machine is slow at times.
settings.register_profile(
    "repeatable", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("repeatable")

# It is noon where the tests run, so that no midnight comes between what is made and what is read.
os.environ["TZ"] = f"NOON{datetime.now(UTC).hour - 12:+d}"
time.tzset()


def pytest_collection_finish() -> None:
    """What is loaded by now stays: looking through it for garbage took a tenth of all the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)


class CompiledTemplates(BytecodeCache):
    """What templates were compiled to, for all applications of this process."""

    def __init__(self) -> None:
        self._compiled: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if compiled := self._compiled.get(bucket.key):
            bucket.bytecode_from_string(compiled)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._compiled[bucket.key] = bucket.bytecode_to_string()


TEMPLATES = CompiledTemplates()

DEMO_PASSWORD = "seven lanterns over wet slates"


@dataclass(frozen=True)
class Account:
    """What a coach knows to sign in, and the club and coach it leads to."""

    club_id: int
    coach_id: int
    sign_in_name: str
    password: str


class Clock:
    """Seconds that pass only when a test says so."""

    def __init__(self) -> None:
        self.seconds = 1000.0

    def __call__(self) -> float:
        return self.seconds


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with this version's tables and nothing in them, to be copied."""
    file = tmp_path_factory.mktemp("empty") / "desk.sqlite3"
    upgrade(file)
    return file


@pytest.fixture(scope="session")
def one_club(
    empty_database: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, Account]:
    """A database with one club and one coach, to be copied: keeping a password takes its time."""
    file = tmp_path_factory.mktemp("one_club") / "desk.sqlite3"
    shutil.copy(empty_database, file)
    store = Store(file)
    account = new_account(store, "Harbour Gymnastics", "edda", "Edda Quill")
    store.close()
    return file, account


@pytest.fixture
def account(one_club: tuple[Path, Account]) -> Account:
    """The coach of the club that the tests work in."""
    return one_club[1]


@pytest.fixture
def data(tmp_path: Path, one_club: tuple[Path, Account]) -> DataFolder:
    """A data folder whose database holds that club and its coach, and nothing else."""
    folder = DataFolder.at(tmp_path / "desk")
    shutil.copy(one_club[0], folder.database)
    return folder


@pytest.fixture
def store(data: DataFolder) -> Iterator[Store]:
    """The store on that database."""
    opened = Store(data.database)
    yield opened
    opened.close()


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """Orders and their ends are waited for, so that no test depends on how busy the machine is."""
    for module, most_s in (
        (web_searches, "AT_ONCE_S"),
        (web_run, "REST_S"),
        (searches, "PATIENCE_S"),
        (searches, "ENDS_WITHIN_S"),
    ):
        monkeypatch.setattr(module, most_s, 60.0)


@pytest.fixture
def clock() -> Clock:
    """The clock that the application measures waiting times with."""
    return Clock()


@pytest.fixture
def app(data: DataFolder, store: Store, clock: Clock) -> Flask:
    """The application on that store."""
    return new_app(data, store, clock)


@pytest.fixture(scope="session")
def demo_database(empty_database: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with the demo club, to be copied."""
    file = tmp_path_factory.mktemp("demo") / "desk.sqlite3"
    shutil.copy(empty_database, file)
    store = Store(file)
    load_demo(store, folder("seed"), DEMO_PASSWORD)
    store.close()
    return file


@dataclass(frozen=True)
class DemoClub:
    """A desk with the demo club on it, and its coach."""

    data: DataFolder
    store: Store
    account: Account

    @contextmanager
    def work(self, *, writes: bool = False) -> Iterator[Session]:
        """One unit of work in the demo club."""
        with self.store.work(self.account.club_id, writes=writes) as session:
            yield session


@pytest.fixture
def demo_club(demo_database: Path, tmp_path: Path) -> Iterator[DemoClub]:
    """The demo club, on a database of its own."""
    data = DataFolder.at(tmp_path / "demo")
    shutil.copy(demo_database, data.database)
    store = Store(data.database)
    with store.installation(writes=False) as session:
        coach = coach_by_sign_in_name(session, "runa")
        assert coach is not None
        account = Account(coach.club_id, coach.id, "runa", DEMO_PASSWORD)
    yield DemoClub(data, store, account)
    store.close()


@pytest.fixture
def demo_app(demo_club: DemoClub, clock: Clock) -> Flask:
    """The application on the demo club."""
    return new_app(demo_club.data, demo_club.store, clock)


def new_app(data: DataFolder, store: Store, clock: Clock) -> Flask:
    """An application of its own; what its templates were compiled to is shared with the others."""
    app = create_app(data=data, store=store, testing=True, clock=clock)
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
    coach_id = add_coach(store, club_id, sign_in_name, shown_name, password)
    return Account(club_id, coach_id, sign_in_name, password)
