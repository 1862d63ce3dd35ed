"""Under which names the desk answers, and that no address of its own comes from a request."""

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask, request
from werkzeug.test import TestResponse

from settingsdesk.config import DataFolder, Front
from settingsdesk.desk.cards.code_address import Reach
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app, new_desk
from settingsdesk.web.frame import hosts
from tests.conftest import Applications

REFUSED = "The desk does not answer at this address"
PUBLIC = Reach("https://desk.example.org", from_phones=True)


FRONT = Front(names=frozenset({"desk.hall.example", "2001:db8::7"}))
APPLICATIONS = Applications(reach=PUBLIC, front=FRONT, listening="0.0.0.0")  # noqa: S104


@pytest.fixture
def public(data: DataFolder, store: Store) -> Iterator[Flask]:
    """A desk with a public address and one more name, that is asked in the hall as well."""
    with APPLICATIONS.lent(new_desk(data, store, PUBLIC)) as app:
        yield app


def asked(app: Flask, host: str, path: str = "/sign-in", **environ: str) -> TestResponse:
    """The answer to a request under that name."""
    return app.test_client().get(path, environ_overrides={"HTTP_HOST": host, **environ})


class TestNames:
    @pytest.mark.parametrize(
        "host",
        [
            "desk.example.org",
            "DESK.Example.ORG",
            "desk.example.org.",
            "desk.example.org:443",
            "desk.example.org:8443",
            "desk.hall.example:5000",
            "localhost:5000",
            "127.0.0.1:5000",
            "[::1]:5000",
            "[0:0:0:0:0:0:0:1]:5000",
            "[2001:DB8::7]",
        ],
    )
    def test_the_desk_answers_under_its_own(self, public: Flask, host: str) -> None:
        """However a browser spells them, and whichever port a server in front was asked at."""
        assert asked(public, host).status_code == 200

    def test_in_the_hall_it_answers_by_the_machines_name(self, public: Flask) -> None:
        """Phones reach the machine by the name that its network has for it."""
        machine = socket.gethostname().partition(".")[0]

        assert asked(public, f"{machine}:5000").status_code == 200
        assert asked(public, f"{machine}.local:5000").status_code == 200

    def test_in_the_hall_it_answers_by_the_address_that_was_asked(self, public: Flask) -> None:
        """A laptop has another address in each hall; the server says which was asked."""
        assert asked(public, "192.0.2.7:5000", SERVER_ADDR="192.0.2.7").status_code == 200
        assert asked(public, "192.0.2.8:5000", SERVER_ADDR="192.0.2.7").status_code == 400

    def test_on_this_machine_alone_it_has_only_the_names_of_this_machine(self) -> None:
        assert hosts.own_names("127.0.0.1") == {"127.0.0.1", "::1", "localhost"}

    @pytest.mark.parametrize(
        "host",
        [
            "evil.example",
            "desk.example.org.evil.example",
            "evil.example:5000",
            "desk.example.org@evil.example",
            "evil.example/desk.example.org",
            "desk.example.org, desk.example.org",
            "desk.example.org:",
            "desk.example.org:0",
            "desk.example.org:65536",
            "desk.example.org:http",
            "desk.example.org:443:443",
            "desk.example.org..",
            ".desk.example.org",
            "desk.example.org\x00",
            " desk.example.org",
            "[::1",
            "::1",
            "[desk.example.org]",
            "[::ffff:127.0.0.1]",
            "127.1",
            "0x7f.0.0.1",
            "2130706433",
            "None",
            "",
        ],
    )
    def test_every_other_is_refused_in_plain_words(self, public: Flask, host: str) -> None:
        """A name server of somebody else can lead a browser here under a name of its own."""
        answer = asked(public, host)

        assert answer.status_code == 400
        assert REFUSED in answer.text
        assert "settingsdesk serve --name" in answer.text
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
        assert "Set-Cookie" not in answer.headers

    def test_a_whole_address_in_the_first_line_counts_as_well(self, public: Flask) -> None:
        """RFC 9112, 3.2.2: it goes before Host, so that one right of the two is not enough."""
        right, wrong = "http://desk.example.org/sign-in", "http://evil.example/sign-in"
        assert asked(public, "localhost", REQUEST_URI=right).status_code == 200
        assert asked(public, "localhost", REQUEST_URI=wrong).status_code == 400
        assert asked(public, "evil.example", REQUEST_URI=right).status_code == 400
        assert asked(public, "localhost", REQUEST_URI="http://x@evil.example?/").status_code == 400

    def test_what_is_refused_was_not_looked_up(
        self, public: Flask, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Nothing of the desk is opened for whoever knocks under a wrong name."""

        def opened(*_of: object, **_how: object) -> None:
            raise AssertionError("opened")

        monkeypatch.setattr(Store, "work", opened)
        monkeypatch.setattr(Store, "installation", opened)
        monkeypatch.setattr(public.session_interface, "open_session", opened)

        assert asked(public, "evil.example", "/C/" + "A" * 26).status_code == 400


class TestAddresses:
    @pytest.mark.parametrize(
        ("asked_for", "led_to"),
        [
            ("/c/ABC", "/C/ABC"),
            ("/s/ABC", "/S/ABC"),
            ("/c/ABC?apparatus=1", "/C/ABC?apparatus=1"),
            ("/station//now", "/station/now"),
        ],
    )
    def test_who_is_led_on_stays_here(self, public: Flask, asked_for: str, led_to: str) -> None:
        """Also with a name that somebody else put in front of the desk's own."""
        answer = asked(public, "localhost:1", asked_for, HTTP_X_FORWARDED_HOST="evil.example")

        assert (answer.status_code, answer.location) == (308, led_to)
        assert "localhost:1" not in answer.text

    def test_what_begins_with_two_strokes_leads_to_no_other_site(self, public: Flask) -> None:
        """Browsers read "//name" as another site."""
        answer = asked(public, "localhost", PATH_INFO="//station//now")

        assert (answer.status_code, answer.location) == (308, "/station/now")

    def test_no_source_of_ours_asks_for_a_whole_address(self) -> None:
        """What the framework makes absolute comes from the request's Host."""
        whole = (
            "_external",
            "host_url",
            "url_root",
            "request.base_url",
            "request.url ",
            "request.url)",
        )
        package = Path(hosts.__file__).parents[2]
        found = [
            (file.name, word)
            for file in package.rglob("*.py")
            for word in whole
            if word in file.read_text(encoding="utf-8")
        ]
        assert found == []


class TestServersInFront:
    @staticmethod
    def seen(
        data: DataFolder, store: Store, front: Front, **environ: str
    ) -> tuple[str | None, str, str]:
        """The client's address, the scheme and the name, as a view sees them."""
        app = create_app(data=data, store=store, reach=PUBLIC, front=front)
        seen = []

        @app.before_request
        def see() -> None:
            seen.append((request.remote_addr, request.scheme, request.host))

        asked(app, "localhost", "/help", REMOTE_ADDR="198.51.100.1", **environ)
        return seen[0]

    SAID = {  # noqa: RUF012 - never changed
        "HTTP_X_FORWARDED_FOR": "203.0.113.9, 192.0.2.1",
        "HTTP_X_FORWARDED_PROTO": "https",
        "HTTP_X_FORWARDED_HOST": "evil.example",
        "HTTP_X_FORWARDED_PORT": "1",
        "HTTP_X_FORWARDED_PREFIX": "/evil",
        "HTTP_FORWARDED": "for=203.0.113.9;host=evil.example;proto=https",
    }

    def test_none_is_believed_that_was_not_told(self, data: DataFolder, store: Store) -> None:
        """Anybody can write that a request came from elsewhere."""
        seen = self.seen(data, store, Front(), **self.SAID)

        assert seen == ("198.51.100.1", "http", "localhost")

    def test_of_one_the_address_that_it_added_counts(self, data: DataFolder, store: Store) -> None:
        """What stood there before was written by the client."""
        seen = self.seen(data, store, Front(behind=1), **self.SAID)

        assert seen == ("192.0.2.1", "https", "localhost")

    def test_of_two_the_one_before_counts(self, data: DataFolder, store: Store) -> None:
        front = Front(behind=2)
        said = {**self.SAID, "HTTP_X_FORWARDED_PROTO": "https, http"}
        assert self.seen(data, store, front, **said) == ("203.0.113.9", "https", "localhost")

    def test_where_the_pages_are_reached_by_https_every_request_was(
        self, data: DataFolder, store: Store
    ) -> None:
        """Whatever the way between the server in front and the desk is."""
        assert self.seen(data, store, Front(https=True))[1] == "https"
