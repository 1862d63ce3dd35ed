"""Signing in and out, sessions, and changing the password."""

import base64
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from threading import Event, Thread

import pytest
from flask import Flask
from sqlalchemy import select, update

from settingsdesk.desk.accounts import passwords
from settingsdesk.desk.accounts.accounts import add_account
from settingsdesk.store.base import utc_now
from settingsdesk.store.failed_tries import FailedTry
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store
from settingsdesk.web.serving import THREADS
from tests.conftest import Account
from tests.web.pages import Reader


class TestSigningIn:
    def test_a_coach_comes_to_the_first_page(self, stranger: Reader, account: Account) -> None:
        """And the head of the page says whose club it is."""
        page = stranger.sign_in(account.sign_in_name, account.password)

        assert (page.status, page.heading) == (200, "Today")
        assert page.title.endswith("Today – Harbour Gymnastics – settingsdesk")

    def test_then_the_page_that_was_asked_for(self, stranger: Reader, account: Account) -> None:
        """A link from a message leads to its page, by way of the sign-in."""
        page = stranger.get("/account?from=mail").send(
            "Sign in", sign_in_name="edda", password=account.password
        )

        assert page.address == "/account?from=mail"

    @pytest.mark.parametrize(
        "elsewhere",
        [
            "//evil.example",
            "/\\evil.example",
            "\\\\evil.example",
            "https:evil.example",
            "https://evil.example/",
            "/..//evil.example",
            "/\t/evil.example",
            "javascript:alert(1)",
            "evil.example",
        ],
    )
    def test_nobody_is_led_off_the_site(
        self, stranger: Reader, account: Account, elsewhere: str
    ) -> None:
        """A link that somebody sends must not end on another site."""
        asked = stranger.get("/sign-in", query_string={"next": elsewhere})
        page = asked.send("Sign in", sign_in_name="edda", password=account.password)

        assert page.address == "/"

    @pytest.mark.parametrize(("name", "password"), [("edda", "not it"), ("nobody", "not it")])
    def test_an_unknown_name_and_a_wrong_password_read_alike(
        self, stranger: Reader, account: Account, name: str, password: str
    ) -> None:
        """Nobody can find out who has an account here."""
        page = stranger.sign_in(name, password)

        assert page.status == 400
        assert page.mistakes == ["The sign-in name or the password is not right. Type both again"]

    def test_nothing_typed_says_what_to_enter(self, stranger: Reader) -> None:
        """Each empty field by its name."""
        assert stranger.sign_in("", "").mistakes == ["Enter the sign-in name", "Enter the password"]

    def test_the_name_is_kept_and_the_password_is_not(self, stranger: Reader) -> None:
        """Typing is not lost, and no password is written into a page."""
        page = stranger.sign_in("edda", "a secret thing")

        assert 'value="edda"' in page.response.text
        assert "a secret thing" not in page.response.text

    def test_after_ten_wrong_passwords_there_is_a_wait(
        self, stranger: Reader, account: Account
    ) -> None:
        """And it says how long."""
        for _ in range(10):
            stranger.sign_in("Edda", "not it")

        page = stranger.sign_in("edda", account.password)

        assert page.status == 429
        assert page.response.headers["Retry-After"] == "900"
        assert "Wait 15 minutes, then try again" in page.text

    def test_a_session_begins_anew(self, stranger: Reader, account: Account) -> None:
        """What somebody else put into the browser before is worth nothing after signing in."""
        with stranger.client.session_transaction() as planted:
            planted["planted"] = True

        stranger.sign_in(account.sign_in_name, account.password)

        with stranger.client.session_transaction() as after:
            assert "planted" not in after

    def test_after_thirty_days_a_coach_signs_in_again(self, store: Store, pages: Reader) -> None:
        """Even who comes by every day."""
        assert pages.get("/account").heading != "Sign in"
        with store.installation(writes=True) as session:
            began_long_ago = utc_now() - timedelta(days=30, seconds=1)
            session.execute(update(SignIn).values(began_at=began_long_ago))

        assert pages.get("/account").heading == "Sign in"

    def test_a_spoilt_cookie_is_a_stranger(self, stranger: Reader) -> None:
        """Not an error page."""
        stranger.client.set_cookie("settingsdesk", "spoilt.cookie.value")

        assert stranger.get("/account").heading == "Sign in"


def ten_guesses(app: Flask, address: str, sign_in_name: str) -> list[int]:
    """What ten wrong passwords are answered that somebody at that address types on one page."""
    guesser = Reader(app)
    guesser.client.environ_base["REMOTE_ADDR"] = address
    page = guesser.get("/sign-in")
    said = {"sign_in_name": sign_in_name, "password": "not it"}
    return [page.send("Sign in", **said).status for _ in range(10)]


class TestNobodyIsLockedOutByOthers:
    """ASVS 5.0.0, 6.1.1 and 6.3.1: guessing is slowed down, and the coach comes in all the same."""

    @pytest.fixture
    def known(self, stranger: Reader, account: Account) -> Reader:
        """A device on which the coach has signed in, and out again."""
        stranger.sign_in(account.sign_in_name, account.password).reader.get("/account").send(
            "Sign out"
        )
        return stranger

    @pytest.fixture
    def guessed(self, app: Flask, known: Reader) -> None:
        """Ten wrong passwords from each of ten addresses, and ten from the hall's own."""
        for number in (*range(2, 11), 1):
            assert set(ten_guesses(app, f"127.0.0.{number}", "edda")) == {400}

    @pytest.mark.usefixtures("guessed")
    def test_a_device_that_was_in_before_comes_in(self, known: Reader, account: Account) -> None:
        assert known.sign_in("edda", account.password).heading == "Today"

    @pytest.mark.usefixtures("guessed")
    def test_a_device_that_was_not_waits_wherever_it_is(self, app: Flask, account: Account) -> None:
        """Else the hundredth address would go on guessing."""
        another = Reader(app)
        another.client.environ_base["REMOTE_ADDR"] = "192.0.2.7"

        page = another.sign_in("edda", account.password)

        assert page.status == 429
        assert int(page.response.headers["Retry-After"]) > 0

    @pytest.mark.usefixtures("guessed")
    def test_a_coach_who_is_in_changes_the_password(self, pages: Reader, account: Account) -> None:
        page = pages.get("/account").send(
            "Change the password", present=account.password, new="nine quiet otters juggling"
        )

        assert page.status == 200

    def test_a_known_device_guesses_no_faster(self, known: Reader, account: Account) -> None:
        for _ in range(10):
            known.sign_in("edda", "not it")

        assert known.sign_in("edda", account.password).status == 429

    def test_it_is_known_for_its_own_account_alone(
        self, app: Flask, store: Store, known: Reader, account: Account
    ) -> None:
        """Whoever has an account cannot guess another's by the leave of their own device."""
        add_account(store, account.club_id, "bo", "Bo Larch", "nine quiet otters juggling")
        for number in range(10):
            ten_guesses(app, f"192.0.2.{number}", "bo")

        assert known.sign_in("bo", "nine quiet otters juggling").status == 429

    def test_the_cookie_is_signed_and_names_nobody(self, known: Reader, app: Flask) -> None:
        """A made-up one is none, and the hall's computer tells nobody who was at it."""
        cookie = known.client.get_cookie("settingsdesk-device")
        assert cookie is not None
        assert cookie.http_only
        assert cookie.same_site == "Lax"
        assert cookie.max_age is not None
        assert cookie.max_age > 300 * 24 * 3600
        assert b"edda" not in base64.urlsafe_b64decode(cookie.value.split(".")[0] + "==")
        for _ in range(10):
            known.sign_in("edda", "not it")
        known.client.set_cookie("settingsdesk-device", cookie.value[:-4] + "aaaa")

        assert known.sign_in("edda", "not it").status == 400  # counted as anybody's


class TestSigningOut:
    def test_it_ends_the_session_for_copies_of_the_cookie_too(
        self, app: Flask, pages: Reader
    ) -> None:
        """A cookie that somebody copied from the hall's computer is worth nothing then."""
        copied = pages.client.get_cookie("settingsdesk")
        assert copied is not None
        copy = Reader(app)
        copy.client.set_cookie("settingsdesk", copied.value)
        assert copy.get("/account").heading == "Your account"

        page = pages.get("/account").send("Sign out")

        assert page.banners == ["You are signed out on this device."]
        assert copy.get("/account").heading == "Sign in"

    def test_the_coachs_other_devices_go_on(
        self, app: Flask, pages: Reader, account: Account
    ) -> None:
        """The telephone at the bars is not signed out by the computer in the office."""
        telephone = Reader(app)
        telephone.sign_in(account.sign_in_name, account.password)

        pages.get("/account").send("Sign out")

        assert telephone.get("/account").heading == "Your account"

    def test_the_browser_forgets_what_it_kept(self, pages: Reader) -> None:
        """Nothing of the club stays on a borrowed computer."""
        page = pages.get("/account").send("Sign out")

        assert page.response.history[0].headers["Clear-Site-Data"] == '"cache", "storage"'


class TestChangingThePassword:
    def test_it_ends_every_other_session(self, app: Flask, pages: Reader, account: Account) -> None:
        """Whoever knew the old one is out."""
        other = Reader(app)
        other.sign_in(account.sign_in_name, account.password)

        page = pages.get("/account").send(
            "Change the password", present=account.password, new="nine quiet otters juggling"
        )

        assert page.banners == [
            "Your password is changed. You are signed out on every other device."
        ]
        assert pages.get("/account").heading == "Your account"
        assert other.get("/account").heading == "Sign in"
        assert Reader(app).sign_in("edda", "nine quiet otters juggling").heading == "Today"

    def test_the_present_one_is_asked_for(self, pages: Reader) -> None:
        """A telephone left on the bench must not cost the account."""
        page = pages.get("/account").send(
            "Change the password", present="not it", new="nine quiet otters juggling"
        )

        assert page.mistakes == [
            "The present password is not right; nothing was changed. Type it again"
        ]

    def test_one_that_is_easy_to_guess_is_refused(self, pages: Reader, account: Account) -> None:
        """The sentence stands beside the new password."""
        page = pages.get("/account").send(
            "Change the password", present=account.password, new="gymnastics harbour 1"
        )

        assert page.links[page.mistakes[0]] == "#new"


class TestManyAtOnce:
    def test_more_sign_ins_than_are_worked_out_are_told_to_wait_and_nothing_is_counted(
        self, app: Flask, store: Store, account: Account
    ) -> None:
        """Hashing is slow on purpose: a storm of it must not take the threads of the stations."""
        with ExitStack() as held:
            for _ in range(passwords.MOST_IN_TURN):
                held.enter_context(_a_thread_in_turn())
            reader = Reader(app)
            page = reader.get("/sign-in").send(
                "Sign in", sign_in_name=account.sign_in_name, password=account.password
            )
            assert (page.status, page.response.headers["Retry-After"]) == (503, "2")
            assert "Nothing was tried or counted" in page.text
            assert Reader(app).get(f"/C/{'A' * 26}").status == 404, "a card is answered"
        with store.installation(writes=False) as session:
            assert session.scalars(select(FailedTry)).all() == []
        reader.sign_in(account.sign_in_name, account.password)

    def test_a_place_is_given_back_also_by_who_fails(self, app: Flask, account: Account) -> None:
        for _ in range(passwords.MOST_IN_TURN + 1):
            page = Reader(app).get("/sign-in").send("Sign in", sign_in_name="bo", password="wrong")
            assert page.status == 400
        Reader(app).sign_in(account.sign_in_name, account.password)

    def test_half_of_the_servers_threads_are_left(self) -> None:
        assert passwords.MOST_IN_TURN * 2 <= THREADS


@contextmanager
def _a_thread_in_turn() -> Iterator[None]:
    """Another thread that has a place until the block ends."""
    has_it, may_go = Event(), Event()

    def take() -> None:
        with passwords.in_turn():
            has_it.set()
            may_go.wait(10)

    thread = Thread(target=take)
    thread.start()
    assert has_it.wait(10)
    yield
    may_go.set()
    thread.join()
