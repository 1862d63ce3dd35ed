"""What holds for every page: who gets in, what the browser is told."""

import re

import pytest
from flask import Flask
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from settingsdesk.config import DataFolder
from settingsdesk.desk.stations import stations
from settingsdesk.web.frame import security, who_may
from settingsdesk.web.frame.work import code_key
from tests.conftest import DemoClub
from tests.databases import rows_in
from tests.desk.sample_meet import hold
from tests.web.pages import Reader


def address_of(rule: Rule) -> str:
    """An address that this rule answers, with "1" for every part that varies, or enough digits."""
    return re.sub(r"<[^>]+>", "1", re.sub(r"<digits:[^>]+>", "1" * 8, rule.rule))


def rules_for(app: Flask, method: str) -> list[Rule]:
    """The rules that answer this method."""
    return [rule for rule in app.url_map.iter_rules() if method in (rule.methods or ())]


def closed_rules(app: Flask, method: str, besides: frozenset[str]) -> list[Rule]:
    """The rules that answer this method and are neither open nor among those."""
    not_asked = security.OPEN_ENDPOINTS | besides
    return [rule for rule in rules_for(app, method) if rule.endpoint not in not_asked]


def ask(reader: Reader, address: str, method: str = "GET") -> TestResponse:
    """The answer as it is, without following redirects or checking the page."""
    return reader.client.open(address, method=method, buffered=True)


def directives(policy: str) -> dict[str, list[str]]:
    """A content security policy by its directives."""
    return {part.split()[0]: part.split()[1:] for part in policy.split("; ")}


class TestStrangers:
    def test_every_page_that_is_not_listed_as_open_asks_to_sign_in(
        self, app: Flask, stranger: Reader
    ) -> None:
        """A new page is closed until somebody decides otherwise."""
        closed = closed_rules(app, "GET", security.STATION_ENDPOINTS)
        assert closed
        for rule in closed:
            answer = ask(stranger, address_of(rule))

            assert answer.status_code == 303, rule
            assert answer.location.startswith("/sign-in"), rule

    def test_they_change_nothing_even_with_a_token(self, app: Flask, stranger: Reader) -> None:
        """The token says that the form is ours, not who sends it."""
        token = stranger.get("/sign-in").tree.find(".//input[@name='csrf_token']")
        assert token is not None
        closed = closed_rules(app, "POST", security.STATION_ENDPOINTS)
        assert closed
        for rule in closed:
            answer = stranger.client.post(address_of(rule), data={"csrf_token": token.get("value")})

            assert answer.status_code == 303, rule
            assert answer.location.startswith("/sign-in"), rule

    def test_an_address_that_is_not_there_says_so(self, stranger: Reader) -> None:
        """A slip in an address is not answered with a sign-in page."""
        assert stranger.get("/nowhere").status == 404


class TestPhonesAtAStation:
    @pytest.fixture
    def phone(self, demo_app: Flask, demo_club: DemoClub) -> Reader:
        """Let in to the one station of a small meet."""
        meet = hold(demo_club)
        with demo_app.test_request_context():
            ink = code_key()
        with demo_club.work(writes=True) as session:
            one = stations.open_station(session, ink, meet.session_id, meet.apparatus_id)
            code = stations.codes(session, ink, one.id).short_code
        reader = Reader(demo_app)
        page = reader.get("/station").send("Join", code=code, name="Ivo")
        assert page.address == "/station/now"
        return reader

    def test_every_page_but_the_stations_own_asks_them_to_sign_in(
        self, demo_app: Flask, phone: Reader
    ) -> None:
        """A new page is closed to them too, until somebody decides otherwise."""
        closed = closed_rules(demo_app, "GET", security.STATION_ENDPOINTS)
        assert closed
        for rule in closed:
            answer = ask(phone, address_of(rule))

            assert answer.status_code == 303, rule
            assert answer.location.startswith("/sign-in"), rule

    def test_they_change_nothing_else_even_with_their_token(
        self, demo_app: Flask, phone: Reader
    ) -> None:
        token = phone.get("/station/now").tree.find(".//input[@name='csrf_token']")
        assert token is not None
        for rule in closed_rules(demo_app, "POST", security.STATION_ENDPOINTS):
            answer = phone.client.post(address_of(rule), data={"csrf_token": token.get("value")})

            assert answer.status_code == 303, rule
            assert answer.location.startswith("/sign-in"), rule

    @pytest.mark.parametrize("who", ["stranger", "pages"])
    def test_the_stations_pages_are_shut_for_everybody_else(
        self, app: Flask, request: pytest.FixtureRequest, who: str
    ) -> None:
        """For strangers, and for coaches who were not let in."""
        reader = request.getfixturevalue(who)
        rules = [
            one for one in app.url_map.iter_rules() if one.endpoint in security.STATION_ENDPOINTS
        ]
        token = reader.get("/station").tree.find(".//input[@name='csrf_token']")
        assert rules
        assert token is not None
        for rule in rules:
            for method in (rule.methods or set()) & {"GET", "POST"}:
                answer = reader.client.open(
                    address_of(rule), method=method, data={"csrf_token": token.get("value")}
                )

                assert answer.status_code == 303, rule
                assert answer.location == "/station?out=1", rule


class TestForms:
    def test_every_change_needs_the_forms_own_token(self, app: Flask, pages: Reader) -> None:
        """Another site cannot send our forms in a coach's name."""
        changing = rules_for(app, "POST")
        assert changing
        for rule in changing:
            answer = pages.client.post(address_of(rule))

            assert answer.status_code == 400, rule
            assert "This form is too old" in answer.text, rule

    def test_a_token_of_another_session_says_to_send_the_form_again(self, pages: Reader) -> None:
        """What happens to a page that stayed open over a sign-out."""
        page = pages.post("/account", {"csrf_token": "old", "present": "x"})

        assert page.status == 400
        assert "load the page again, and send the form once more" in page.text

    @pytest.mark.parametrize(
        "headers",
        [
            {"Sec-Fetch-Site": "cross-site"},
            {"Sec-Fetch-Site": "same-site"},
            {"Origin": "https://evil.example"},
            {"Origin": "http://[::1"},
        ],
    )
    def test_a_change_asked_for_by_another_site_is_refused(
        self, pages: Reader, headers: dict[str, str]
    ) -> None:
        """Even with a token that got out."""
        token = pages.get("/account").tree.find(".//input[@name='csrf_token']")
        assert token is not None

        answer = pages.client.post(
            "/sign-out", data={"csrf_token": token.get("value")}, headers=headers
        )

        assert answer.status_code == 403
        assert pages.get("/account").heading == "Your account"

    @pytest.mark.parametrize(
        "headers",
        [
            {"Sec-Fetch-Site": "same-origin", "Origin": "null"},
            {"Origin": "http://localhost"},
            {"Origin": "null"},
            {},
        ],
    )
    def test_our_own_pages_may_change_things(self, pages: Reader, headers: dict[str, str]) -> None:
        """Also from a page that sends no referrer, and from old browsers."""
        token = pages.get("/account").tree.find(".//input[@name='csrf_token']")
        assert token is not None

        answer = pages.client.post(
            "/sign-out", data={"csrf_token": token.get("value")}, headers=headers
        )

        assert answer.status_code == 303


class TestHeaders:
    def test_every_answer_has_them(self, app: Flask, pages: Reader) -> None:
        """Pages, files and errors alike."""
        addresses = [address_of(rule) for rule in rules_for(app, "GET")]
        for address in [*addresses, "/static/tokens.css", "/nowhere"]:
            headers = ask(pages, address).headers

            assert headers["X-Content-Type-Options"] == "nosniff", address
            assert headers["Cross-Origin-Opener-Policy"] == "same-origin", address
            assert headers["Cross-Origin-Resource-Policy"] == "same-origin", address
            if headers["Content-Type"].startswith("text/"):
                assert "charset=utf-8" in headers["Content-Type"], address
            assert "Server" not in headers, address
            policy = directives(headers["Content-Security-Policy"])
            assert policy["default-src"] == policy["object-src"] == ["'none'"], address
            assert policy["frame-ancestors"] == policy["base-uri"] == ["'none'"], address
            assert {source for sources in policy.values() for source in sources} == {
                "'none'",
                "'self'",
            }, address

    def test_pages_are_not_kept_by_the_browser(self, app: Flask, pages: Reader) -> None:
        """The next person at the hall's computer cannot go back to them."""
        for rule in rules_for(app, "GET"):
            if rule.endpoint != "static":
                headers = ask(pages, address_of(rule)).headers
                assert headers["Cache-Control"] == "no-store", rule

    def test_what_has_its_version_in_its_address_is_loaded_once(self, pages: Reader) -> None:
        """A poor network carries each style sheet and script to a phone only once."""
        sheets = [one.get("href", "") for one in pages.get("/").tree.iter("link")]
        assert all("?v=" in address for address in sheets)
        for address in sheets:
            headers = ask(pages, address).headers
            assert headers["Cache-Control"] == "public, max-age=31536000, immutable", address
        assert "immutable" not in ask(pages, "/static/tokens.css").headers["Cache-Control"]

    def test_the_referrer_stays_on_the_site_and_a_cards_address_on_its_page(
        self, app: Flask, pages: Reader
    ) -> None:
        """A card's address is its key, so not even our own log gets it as a referrer."""
        for rule in rules_for(app, "GET"):
            is_a_key = rule.endpoint in who_may.LINK_ENDPOINTS
            expected = "no-referrer" if is_a_key else "same-origin"
            assert ask(pages, address_of(rule)).headers["Referrer-Policy"] == expected, rule


class TestMethods:
    def test_only_the_intended_ones_are_answered(self, app: Flask, pages: Reader) -> None:
        """Nothing is deleted or traced by a verb that no page uses."""
        for rule in app.url_map.iter_rules():
            for method in {"TRACE", "DELETE", "PUT", "PATCH"} - (rule.methods or set()):
                answer = ask(pages, address_of(rule), method)
                assert answer.status_code in (400, 405), (rule, method)

    def test_a_wrong_one_gets_a_page_and_the_right_ones(self, pages: Reader) -> None:
        """For whoever types the address of a button."""
        page = pages.get("/sign-out")

        assert page.status == 405
        assert set(page.response.headers["Allow"].split(", ")) == {"OPTIONS", "POST"}
        assert "use the buttons of the page" in page.text

    def test_asking_changes_nothing(self, app: Flask, pages: Reader, data: DataFolder) -> None:
        """Whatever follows every link of the desk leaves it as it was."""
        pages.get("/")  # signs in
        before = rows_in(data.where)
        for rule in rules_for(app, "GET"):
            ask(pages, address_of(rule))
            ask(pages, address_of(rule), "HEAD")

        assert rows_in(data.where) == before
