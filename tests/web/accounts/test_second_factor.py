"""The pages of the second factor."""

from flask import Flask
from pyotp import TOTP

from tests.conftest import Account
from tests.web.pages import Page, Reader, words


def shown(page: Page) -> str:
    """What a phone works its codes out from, as the page has it for typing."""
    [typed] = [words(one) for one in page.having("class", "link")]
    return typed.replace(" ", "")


def recovery_codes(pages: Reader) -> list[str]:
    """Set one up; the codes for who loses the phone."""
    page = pages.get("/account").follow("Second factor")
    page = page.send("Turn it on", code=TOTP(shown(page)).now())
    assert page.heading == "Recovery codes"
    return [words(one) for one in page.tree.iter("code")]


class TestTheWay:
    def test_from_setting_it_up_to_signing_in_by_it(
        self, app: Flask, pages: Reader, account: Account
    ) -> None:
        codes, phone = recovery_codes(pages), Reader(app)

        asked = phone.get("/athletes/").send(
            "Sign in", sign_in_name="edda", password=account.password
        )
        assert asked.heading == "Code from your phone"
        assert phone.get("/").heading == "Sign in"
        wrong = phone.get(asked.address).send("Sign in", code="000000")
        assert wrong.status == 400
        assert list(wrong.links_of_mistakes.values()) == ["#code"]

        assert wrong.send("Sign in", code=codes[0]).address == "/athletes/"
        off = pages.get("/account/second-factor").send("Turn it off", code=codes[1])
        assert off.banners == ["Your account has no second factor any more."]

    def test_without_a_password_before_there_is_no_code_to_type(self, stranger: Reader) -> None:
        assert stranger.get("/sign-in/code").heading == "Sign in"

    def test_asking_for_a_code_that_nobody_waits_for_signs_nobody_out(self, pages: Reader) -> None:
        """Any other site can lead a coach to that address."""
        pages.get("/sign-in/code")

        assert pages.get("/").status == 200

    def test_codes_are_not_guessed(self, app: Flask, pages: Reader, account: Account) -> None:
        """ASVS 5.0.0, 6.6.3: five an hour; a recovery code comes in all the same."""
        codes = recovery_codes(pages)
        asked = Reader(app).sign_in("edda", account.password)
        tried = [asked.send("Sign in", code=f"{number:06}") for number in range(6)]

        assert [one.status for one in tried] == [400] * 5 + [429]
        assert asked.send("Sign in", code=codes[0]).heading == "Today"

    def test_a_clubs_people_set_it_up_before_any_other_page(self, pages: Reader) -> None:
        page = pages.get("/people/").send("Require it for everybody")
        assert page.heading == "Set up a second factor"
        assert "Harbour Gymnastics requires a second factor" in page.text
        for address in ("/", "/athletes/", "/account"):
            assert pages.get(address).heading == "Set up a second factor"

        page = page.send("Turn it on", code=TOTP(shown(page)).now())

        assert page.follow("I have kept them").heading == "Your account"
        assert "Required" in pages.get("/people/").text

    def test_the_symbol_stays_the_same_until_it_is_used(self, pages: Reader) -> None:
        """Whoever mistypes the first code has not to scan anew."""
        first = pages.get("/account/second-factor")

        slip = first.send("Turn it on", code="000000")

        assert slip.status == 400
        assert shown(slip) == shown(first)
