"""Readers of pages: a stranger, and the coach of a club."""

from collections.abc import Iterator
from functools import cached_property

import pytest
from flask import Flask
from flask.testing import FlaskClient

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import sign_ins
from settingsdesk.store.clubs import open_memberships
from settingsdesk.store.work import Store
from settingsdesk.web.app import new_desk
from settingsdesk.web.frame.work import OURS
from tests.conftest import Account, Applications, Clock, DemoClub
from tests.desk.sample_meet import SmallMeet, hold
from tests.web.pages import Reader
from tests.web.sample import sample


@pytest.fixture
def stranger(app: Flask) -> Reader:
    """Somebody who has not signed in."""
    return Reader(app)


@pytest.fixture
def pages(app: Flask, account: Account) -> Reader:
    """The coach of the club, signed in."""
    return signed_in(app, account)


@pytest.fixture
def demo_pages(demo_app: Flask, demo_club: DemoClub) -> Reader:
    """The coach of the demo club, signed in."""
    return signed_in(demo_app, demo_club.account)


@pytest.fixture
def held(demo_club: DemoClub) -> SmallMeet:
    """A small meet in the demo club's hall."""
    return hold(demo_club)


@pytest.fixture
def scanner(demo_app: Flask) -> Reader:
    """The phone of somebody without an account."""
    return Reader(demo_app)


class SignedIn(Reader):
    """A reader with an account's cookie, as signing in would have set it, but at once.

    It signs in when it first asks for something: until then the desk is the same for every test,
    and what a fixture puts there can be copied (``made_once``).
    """

    def __init__(self, app: Flask, account: Account):
        super().__init__(app)
        self._account = account

    @cached_property
    def client(self) -> FlaskClient:
        """What holds the cookies."""
        client, desk = self.app.test_client(), self.app.extensions[OURS]
        with desk.store.installation(writes=True) as session:
            membership = open_memberships(session, self._account.account_id)[0]
            known = sign_ins.begin(session, membership)
        with client.session_transaction() as cookie:
            cookie["stamp"] = known.stamp
        return client


def signed_in(app: Flask, account: Account) -> Reader:
    """A coach's reader."""
    return SignedIn(app, account)


SAMPLED = Applications(sample)


@pytest.fixture
def sampled(data: DataFolder, store: Store, clock: Clock) -> Iterator[Flask]:
    """The application with one more room, in which every macro and field is used."""
    with SAMPLED.lent(new_desk(data, store, clock=clock)) as app:
        yield app


@pytest.fixture
def sampled_pages(sampled: Flask, account: Account) -> Reader:
    """The coach of the club, signed in where that room is."""
    return signed_in(sampled, account)
