"""A station that is open, and phones that come in to it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from flask import Flask
from sqlalchemy import Engine, event

from settingsdesk.desk.stations import stations
from settingsdesk.web.frame.work import code_key
from tests.conftest import DemoClub
from tests.desk.sample_meet import DAY, SmallMeet, checked_before_use
from tests.made_once import made_once
from tests.web.pages import Page, Reader
from tests.web.walked import walked

Phone = Callable[[str], Page]


@pytest.fixture
def codes(demo_app: Flask, demo_club: DemoClub, held: SmallMeet) -> stations.StationCodes:
    """What the coach's page shows of the station that was opened."""
    kept = demo_club.data.path / "card.key"

    def opened() -> tuple[stations.StationCodes, bytes]:
        checked_before_use(demo_club, held.apparatus_id)
        return open_station(demo_app, demo_club, held), kept.read_bytes()

    codes, key = made_once(demo_club.store, "a station", opened)
    kept.write_bytes(key)
    return codes


def open_station(app: Flask, club: DemoClub, held: SmallMeet) -> stations.StationCodes:
    """The meet's station, opened."""
    with app.test_request_context():
        ink = code_key()
    with club.work(writes=True) as session:
        one = stations.open_station(session, ink, held.session_id, held.apparatus_id)
        return stations.codes(session, ink, one.id)


@pytest.fixture
def phone(demo_app: Flask, codes: stations.StationCodes) -> Phone:
    """Lets a new phone in by the scanned code; what it shows first."""

    return lambda name: come_in(Reader(demo_app), codes, name)


def come_in(phone: Reader, codes: stations.StationCodes, name: str) -> Page:
    """By the code that is scanned."""
    return phone.get("/S/" + codes.url.rpartition("/")[2]).send("Join", name=name)


@pytest.fixture
def begun(demo_app: Flask, codes: stations.StationCodes) -> Page:
    """The rotation, begun by the first phone that came in."""

    def walk(phone: Reader) -> Page:
        return come_in(phone, codes, "Ivo").send("Begin rotation 1", of_day=str(DAY))

    return walked(Reader(demo_app), "a rotation begun", walk)


@contextmanager
def questions() -> Iterator[list[str]]:
    """Every statement that any database is asked meanwhile."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)
