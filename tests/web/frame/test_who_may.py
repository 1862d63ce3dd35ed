"""Every route × every role × whose things are asked for, from the application's own routes."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from flask import Flask
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.accounts.accounts import new_account
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.squad import athletes
from settingsdesk.store.clubs import Club, Revision, club_by_id
from settingsdesk.web.frame import who_may
from settingsdesk.web.frame.who_may import least_role
from tests.conftest import DemoClub
from tests.web.every_address import address_of
from tests.web.everybody import Hall, until_a_change_over
from tests.web.pages import TOKEN, Reader
from tests.web.test_statements import Forms, statements
from tests.web.whole_desk import OTHERWISE, WholeDesk, one_of_everything

ABSENT = 10**9
"""A number that nothing on the desk has."""


@dataclass(frozen=True)
class Walk:
    """The furnished desk of one club, and browsers of every role in it and in another club."""

    desk: WholeDesk
    here: dict[Role, Reader]
    elsewhere: dict[Role, Reader]
    maker: Reader
    """A helper of the first club who owns the installation."""

    def address(self, rule: Rule, *, absent: bool = False) -> str:
        """Where that route has something of the club's, or nothing of anybody's."""
        otherwise = OTHERWISE.get(rule.endpoint, OTHERWISE.get(rule.endpoint.partition(".")[0], {}))
        numbers: dict[str, object] = {"key": "none"} if "key" in rule.arguments else {}
        for name in rule.arguments - {"key"}:
            number = self.desk.ids[otherwise.get(name, name)]
            if absent and name.endswith("_id"):
                number = ABSENT if isinstance(number, int) else "A" * 22
            numbers[name] = number
        return self.desk.app.url_map.bind("localhost").build(rule.endpoint, numbers)

    def asked(self) -> Iterator[tuple[Rule, str]]:
        """Every route that is not open to strangers or phones, with every method that it takes."""
        closed = who_may.OPEN_ENDPOINTS | who_may.STATION_ENDPOINTS
        for rule in self.desk.app.url_map.iter_rules():
            if rule.endpoint not in closed:
                for method in sorted((rule.methods or set()) & {"GET", "POST"}):
                    yield rule, method


@pytest.fixture
def walk(demo_club: DemoClub, demo_app: Flask, tmp_path: Path) -> Walk:
    """Three people in the demo club, at the bars there, and three in a club that has nothing."""
    with demo_club.store.installation(writes=True) as session:
        other = Club(name="Hillside")
        session.add(other)
        session.flush()
        clubs = (demo_club.account.club_id, other.id)
    here, elsewhere = (
        {role: member(demo_club, demo_app, club_id, role) for role in Role} for club_id in clubs
    )
    desk = one_of_everything(demo_club, demo_app, tmp_path)
    coach = Hall(desk, Reader).coach
    until_a_change_over(coach.get("/rotations/1").send("Take it to the bars"))
    maker = member(demo_club, demo_app, clubs[0], Role.HELPER, owns_installation=True)
    return Walk(desk, here, elsewhere, maker)


def member(
    club: DemoClub, app: Flask, club_id: int, role: Role, *, owns_installation: bool = False
) -> Reader:
    """The browser of somebody new with that role."""
    name = f"{'maker' if owns_installation else role} {club_id}"
    with club.store.installation(writes=True) as session:
        joined = new_account(session, club_id, name, name, "-", role)
        joined.account.owns_installation = owns_installation
        known = sign_ins.begin(session, joined)
    reader = Reader(app)
    with reader.client.session_transaction() as cookie:
        cookie["stamp"] = known.stamp
    return reader


def ask(reader: Reader, address: str, method: str, token: str = "") -> TestResponse:
    """The answer as it is; nothing of a page is followed or checked."""
    sent = {"csrf_token": token} if method == "POST" else None
    return reader.client.open(address, method=method, data=sent, buffered=True)


class TestEveryRoute:
    def test_has_one_decision(self, app: Flask) -> None:
        """A route that somebody adds is open to nobody but owners until it stands in the table."""
        decided = [
            *(who_may.OPEN_ENDPOINTS, who_may.STATION_ENDPOINTS, who_may.HELPER_ENDPOINTS),
            *(who_may.COACH_ENDPOINTS, who_may.OWNER_ENDPOINTS, who_may.INSTALLATION_ENDPOINTS),
        ]
        endpoints = {rule.endpoint for rule in app.url_map.iter_rules()}
        assert {
            one: n for one in endpoints if (n := sum(one in some for some in decided)) != 1
        } == {}
        assert frozenset().union(*decided) == endpoints
        assert who_may.CHANGES_NEED.keys() <= set(endpoints)

    def test_without_one_is_for_owners(self) -> None:
        assert least_role("tomorrow.index", "GET") is Role.OWNER

    def test_is_refused_to_the_roles_below(self, walk: Walk) -> None:
        """ASVS 5.0.0, 8.1.1, 8.2.1, 8.3.1: by one page, which says who may do it."""
        tokens = {role: reader.get("/account").token for role, reader in walk.here.items()}
        refused = 0
        for rule, method in walk.asked():
            for role in (role for role in Role if not opened(rule.endpoint, method, role)):
                answer = ask(walk.here[role], walk.address(rule), method, tokens[role])
                refused += 1
                assert answer.status_code == 403, (rule, method, role)
                assert f"You are signed in as its {role}" in answer.text, (rule, method, role)
        assert refused > 150

    def test_opens_to_who_may_and_shows_no_link_that_does_not(self, walk: Walk) -> None:
        """Nobody presses what will be refused."""
        hall = Hall(walk.desk, Reader)
        for role in (Role.COACH, Role.HELPER):
            for rule, method in walk.asked():
                if "key" in rule.arguments:
                    continue  # a file that waits, or a search: whose it is its key says
                if method == "GET" and opened(rule.endpoint, "GET", role):
                    address = address_of(hall, rule)
                    answer = ask(walk.here[role], address, "GET")
                    assert answer.status_code in (200, 400), (rule, role)  # two who are in one run
                    assert closed_on(walk.desk.app, address, answer, role) == [], (rule, role)


class TestWhoOwnsTheInstallation:
    def test_makes_and_closes_clubs_and_is_opened_nothing_else_by_it(self, walk: Walk) -> None:
        """No athlete, no record: what a club keeps is for its own people."""
        token = walk.maker.get("/account").token
        for rule, method in walk.asked():
            mine = rule.endpoint in who_may.INSTALLATION_ENDPOINTS
            if mine or not opened(rule.endpoint, method, Role.HELPER):
                answer = ask(walk.maker, walk.address(rule), method, token)
                status = {200, 303, 400} if mine else {403}
                assert answer.status_code in status, (rule, method)

    def test_sees_of_a_club_its_name_and_how_many_may_sign_in(self, walk: Walk) -> None:
        page = walk.maker.get("/clubs/")

        assert "Hillside" in page.text
        assert "3 people" in page.text
        with walk.desk.club.work() as session:
            names = [member.listed_name for member in athletes.find(session)]
        assert names
        assert [name for name in names if name in page.text] == []


def opened(endpoint: str, method: str, role: Role) -> bool:
    """Whether the role of a club opens that: what owners of the installation have, none does."""
    closed = endpoint in who_may.INSTALLATION_ENDPOINTS
    return not closed and role.covers(least_role(endpoint, method))


class TestAnotherClubsThings:
    def test_are_answered_exactly_like_what_is_not_there(self, walk: Walk) -> None:
        """ASVS 5.0.0, 8.2.2, 8.4.1: nobody finds out what another club has.

        Neither by what the page says, nor by its status, nor by what the database is asked.
        """
        reader = walk.elsewhere[Role.OWNER]
        token = reader.get("/account").token
        compared = 0
        for rule, method in walk.asked():
            foreign, absent = walk.address(rule), walk.address(rule, absent=True)
            if foreign != absent:
                compared += 1
                told = [answered(reader, one, method, token) for one in (foreign, absent)]
                assert told[0] == told[1], (rule, method)
                refused = (303, 400, 404, 410)
                closed = rule.endpoint in who_may.INSTALLATION_ENDPOINTS
                assert told[0][0] in ((403,) if closed else refused), (rule, method)
        assert compared > 100

    def test_are_not_changed_by_asking(self, walk: Walk) -> None:
        """A press with the numbers of another club's things writes nothing there."""
        reader = walk.elsewhere[Role.OWNER]
        token = reader.get("/account").token
        store, club_id = walk.desk.club.store, walk.desk.club.account.club_id
        with store.installation(writes=False) as session:
            before = Revision.of(club_by_id(session, club_id))
        for rule, method in walk.asked():
            if method == "POST" and walk.address(rule) != walk.address(rule, absent=True):
                ask(reader, walk.address(rule), method, token)

        with store.installation(writes=False) as session:
            assert Revision.of(club_by_id(session, club_id)) == before


def closed_on(app: Flask, asked: str, answer: TestResponse, role: Role) -> list[str]:
    """Where links and buttons of a page lead that the role may not go."""
    if answer.mimetype != "text/html":
        return []
    parser = Forms()
    parser.feed(answer.text)
    page = parser.tree()
    ways = [(link.get("href", ""), "GET") for link in page.iter("a")]
    ways += [
        (form.get("action", ""), form.get("method", "get").upper()) for form in page.iter("form")
    ]
    pressed = (one.get("formaction") for one in page.iter("button"))
    ways += [(address, "POST") for address in pressed if address]
    bound = app.url_map.bind("localhost")
    closed = []
    for address, method in ways:
        if address.startswith("otpauth:"):
            continue  # opened by an app of the phone
        path = urlsplit(urljoin(asked, address)).path
        endpoint, _ = bound.match(path, method)
        is_open = endpoint in who_may.OPEN_ENDPOINTS | who_may.STATION_ENDPOINTS
        if not is_open and not opened(endpoint, method, role):
            closed.append(f"{method} {address}")
    return closed


def answered(
    reader: Reader, address: str, method: str, token: str
) -> tuple[int, str, str, list[str]]:
    """Status, where it leads, page and statements; the number itself and the token left out."""
    with statements() as asked:
        answer = ask(reader, address, method, token)
    with reader.client.session_transaction() as cookie:
        cookie.pop("_flashes", None)  # what the next page would say
    page = re.sub(r"(?<=with the number )[\w-]+", "#", TOKEN.sub("", answer.text))
    where = re.sub(r"\d+", "#", answer.headers.get("Location", ""))
    return answer.status_code, where, "" if where else page.replace(address, "#"), asked
