"""OWASP ASVS 5.0.0 at the edge of the desk: what browsers are told, and what strangers can send.

Each class is a requirement, tried on every address of the application's own route table. Source:
OWASP Application Security Verification Standard 5.0.0 (May 2025), the requirements by number.
"""

import logging
from collections.abc import Iterator
from http.cookies import SimpleCookie

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from settingsdesk.config import DataFolder, Front
from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.cards.code_address import Reach
from settingsdesk.store.clubs import open_memberships
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app
from settingsdesk.web.frame.bodies import MOST_OF_A_STRANGER_BYTES, most_bytes
from settingsdesk.web.frame.load import CARDS
from settingsdesk.web.frame.who_may import LINK_ENDPOINTS
from tests.conftest import Account
from tests.web.frame.test_security import address_of

PUBLIC = "https://desk.example.org"
ODD_METHODS = ("TRACE", "TRACK", "CONNECT", "PROPFIND")
BESIDES = ("/static/tokens.css", "/nowhere", "/c/ABC", "/station//now")
"""A file, what is not there, and what is led on."""
OF_ANOTHER = "a name that is not ours"


@pytest.fixture
def public(data: DataFolder, store: Store) -> Flask:
    """The desk behind a server that ends https."""
    reach = Reach(PUBLIC, from_phones=True)
    return create_app(data=data, store=store, reach=reach, front=Front(https=True))


@pytest.fixture
def coach(public: Flask, store: Store, account: Account) -> FlaskClient:
    """A coach's browser."""
    client = public.test_client()
    with store.installation(writes=True) as work:
        known = sign_ins.begin(work, open_memberships(work, account.account_id)[0])
    with client.session_transaction(base_url=PUBLIC) as cookie:
        cookie["stamp"] = known.stamp
        cookie.permanent = True
    return client


def answers(public: Flask, client: FlaskClient) -> Iterator[tuple[str, TestResponse]]:
    """What every address answers, with the endpoint behind it."""
    for rule in public.url_map.iter_rules():
        if "GET" in (rule.methods or ()):
            yield rule.endpoint, client.get(address_of(rule), base_url=PUBLIC, buffered=True)
    for address in BESIDES:
        yield address, client.get(address, base_url=PUBLIC, buffered=True)
    yield OF_ANOTHER, client.get("/", base_url="https://evil.example", buffered=True)


def cookies_331_to_334(_endpoint: str, answer: TestResponse) -> bool:
    """Secure, ``__Host-``, HttpOnly and SameSite, on whatever is set anywhere."""
    told = answer.headers.getlist("Set-Cookie")
    cookies = [one for each in told for one in SimpleCookie(each).items()]
    return all(
        name.startswith("__Host-")
        and (cookie["secure"], cookie["httponly"]) == (True, True)
        and (cookie["samesite"], cookie["path"], cookie["domain"]) == ("Lax", "/", "")
        for name, cookie in cookies
    )


def stays_with_https_341(endpoint: str, answer: TestResponse) -> bool:
    """For a year; all but a name that is not ours, which is another's to decide for."""
    expected = None if endpoint == OF_ANOTHER else "max-age=31536000; includeSubDomains"
    return answer.headers.get("Strict-Transport-Security") == expected


def passes_on_no_key_345(endpoint: str, answer: TestResponse) -> bool:
    """An address that may be a card's or a station's stays with whoever has it."""
    may_be_a_key = endpoint in {*LINK_ENDPOINTS, *BESIDES[1:], OF_ANOTHER}
    expected = "no-referrer" if may_be_a_key else "same-origin"
    return answer.headers["Referrer-Policy"] == expected


def is_opened_by_no_other_site_348_358(_endpoint: str, answer: TestResponse) -> bool:
    """Nor embedded in one."""
    policies = ("Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy")
    return all(answer.headers[policy] == "same-origin" for policy in policies)


def says_in_which_letters_411(_endpoint: str, answer: TestResponse) -> bool:
    """And what it is at all."""
    told = answer.headers["Content-Type"]
    return bool(told) and (not told.startswith("text/") or "charset=utf-8" in told)


def says_not_what_serves_it_1346(_endpoint: str, answer: TestResponse) -> bool:
    """Neither a program nor its version."""
    return not {"Server", "X-Powered-By", "Via"} & set(answer.headers.keys())


class TestEveryAnswer:
    """Pages, files, mistakes and what leads on, to a coach and to a stranger."""

    CHECKS = (
        cookies_331_to_334,
        stays_with_https_341,
        passes_on_no_key_345,
        is_opened_by_no_other_site_348_358,
        says_in_which_letters_411,
        says_not_what_serves_it_1346,
    )

    def test_331_to_334_341_345_348_358_411_1346(self, public: Flask, coach: FlaskClient) -> None:
        """Each answer is held against each of the requirements; what fails is named by both."""
        found = [*answers(public, coach), *answers(public, public.test_client())]
        failed = [
            (check.__name__, endpoint)
            for endpoint, answer in found
            for check in self.CHECKS
            if not check(endpoint, answer)
        ]
        assert failed == []
        assert sum("Set-Cookie" in answer.headers for _, answer in found) > 20

    def test_341_not_where_the_desk_is_reached_in_the_clear(
        self, data: DataFolder, store: Store
    ) -> None:
        """A hall without https would be locked out for a year."""
        answer = create_app(data=data, store=store).test_client().get("/sign-in")

        assert "Strict-Transport-Security" not in answer.headers


class TestForwardedHeaders413And1534:
    """What a client writes about where it comes from is believed of nobody who was not named."""

    def test_they_change_neither_who_is_counted_nor_what_is_logged(
        self, public: Flask, caplog: pytest.LogCaptureFixture
    ) -> None:
        client = public.test_client()
        with caplog.at_level(logging.DEBUG):
            statuses = [
                client.get(
                    "/C/1",
                    base_url=PUBLIC,
                    headers={
                        "X-Forwarded-For": f"203.0.113.{number % 250}",
                        "Forwarded": f"for=203.0.113.{number % 250}",
                        "X-Real-IP": f"203.0.113.{number % 250}",
                    },
                ).status_code
                for number in range(CARDS.client.at_once * 2)
            ]
        assert 429 in statuses
        assert "203.0.113." not in caplog.text


class TestMethods414And1344:
    """Only what a page uses; TRACE would read a cookie back to a script."""

    def test_no_address_answers_another(self, public: Flask, coach: FlaskClient) -> None:
        for rule in public.url_map.iter_rules():
            for method in {*ODD_METHODS} - (rule.methods or set()):
                answer = coach.open(address_of(rule), method=method, base_url=PUBLIC)
                assert answer.status_code in (400, 405), (rule, method)

    def test_none_is_meant_to(self, public: Flask) -> None:
        meant = {method for rule in public.url_map.iter_rules() for method in rule.methods or ()}

        assert meant == {"GET", "HEAD", "OPTIONS", "POST"}


class TestSizes511And521:
    """More than a page takes is refused unread, at every address that takes anything."""

    @pytest.mark.parametrize("who", ["a stranger", "a coach"])
    def test_every_address_has_a_limit(self, public: Flask, coach: FlaskClient, who: str) -> None:
        client = coach if who == "a coach" else public.test_client()
        for rule in public.url_map.iter_rules():
            if "POST" not in (rule.methods or ()):
                continue
            most = most_bytes(rule.endpoint, signed_in=who == "a coach")
            answer = client.post(
                address_of(rule),
                base_url=PUBLIC,
                content_type="multipart/form-data; boundary=x",
                environ_overrides={"CONTENT_LENGTH": str(most + 1)},
            )
            assert answer.status_code in (413, 429), rule

    def test_a_strangers_is_a_few_lines(self) -> None:
        assert most_bytes("accounts.sign_in", signed_in=False) == MOST_OF_A_STRANGER_BYTES


class TestNothingOfTheProgram1341And1342And1345:
    """No source, no debugger, no description of itself."""

    @pytest.mark.parametrize(
        "address",
        [
            *("/.git/HEAD", "/.git/config", "/.env", "/console", "/server-status", "/metrics"),
            *("/static/", "/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py"),
        ],
    )
    def test_it_is_not_there(self, public: Flask, address: str) -> None:
        answer = public.test_client().get(address, base_url=PUBLIC)

        assert answer.status_code == 404

    def test_no_debugger_runs(self, public: Flask) -> None:
        assert not public.debug
        asked = {"__debugger__": "yes", "cmd": "resource", "f": "debugger.js"}
        answer = public.test_client().get("/sign-in", query_string=asked, base_url=PUBLIC)
        assert answer.mimetype == "text/html"
