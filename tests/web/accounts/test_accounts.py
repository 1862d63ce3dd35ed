"""Signing in and out, sessions, and changing the password."""

from datetime import timedelta

import pytest
from flask import Flask
from sqlalchemy import update

from settingsdesk.store.base import utc_now
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store
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
