"""A station that is open, and phones that come in to it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from flask import Flask
from sqlalchemy import Engine, event

from settingsdesk.desk.stations import stations
from settingsdesk.web.frame.work import code_key
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet
from tests.web.pages import Page, Reader

Phone = Callable[[str], Page]


@pytest.fixture
def codes(demo_app: Flask, demo_club: DemoClub, held: SmallMeet) -> stations.StationCodes:
    """What the coach's page shows of the station that was opened."""
    with demo_app.test_request_context():
        ink = code_key()
    with demo_club.work(writes=True) as session:
        opened = stations.open_station(session, ink, held.session_id, held.apparatus_id)
        return stations.codes(session, ink, opened.id)


@pytest.fixture
def phone(demo_app: Flask, codes: stations.StationCodes) -> Phone:
    """Lets a new phone in by the scanned code; what it shows first."""

    def come_in(name: str) -> Page:
        page = Reader(demo_app).get("/S/" + codes.url.rpartition("/")[2])
        return page.send("Join", name=name)

    return come_in


@pytest.fixture
def begun(phone: Phone) -> Page:
    return phone("Ivo").send("Begin rotation 1")


@contextmanager
def questions() -> Iterator[list[str]]:
    """Every statement that any database is asked meanwhile."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)
