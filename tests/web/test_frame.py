"""What holds for every page: who gets in, what the browser is told, how errors are said."""

import re
from http.cookies import SimpleCookie

import pytest
from flask import Flask
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from settingsdesk.config import DataFolder
from settingsdesk.store.work import Store
from settingsdesk.web import security
from settingsdesk.web.app import MOST_BYTES, create_app
from tests.conftest import Account
from tests.web.pages import NotAGoodPage, Page, Reader, words


def address_of(rule: Rule) -> str:
    """An address that this rule answers, with "1" for every part that varies."""
    return re.sub(r"<[^>]+>", "1", rule.rule)


def rules_for(app: Flask, method: str) -> list[Rule]:
    """The rules that answer this method."""
    return [rule for rule in app.url_map.iter_rules() if method in (rule.methods or ())]


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
        closed = [
            rule for rule in rules_for(app, "GET") if rule.endpoint not in security.OPEN_ENDPOINTS
        ]
        assert closed
        for rule in closed:
            answer = ask(stranger, address_of(rule))

            assert answer.status_code == 303, rule
            assert answer.location.startswith("/sign-in"), rule

    def test_they_change_nothing_even_with_a_token(self, app: Flask, stranger: Reader) -> None:
        """The token says that the form is ours, not who sends it."""
        token = stranger.get("/sign-in").tree.find(".//input[@name='csrf_token']")
        assert token is not None
        closed = [
            rule for rule in rules_for(app, "POST") if rule.endpoint not in security.OPEN_ENDPOINTS
        ]
        assert closed
        for rule in closed:
            answer = stranger.client.post(address_of(rule), data={"csrf_token": token.get("value")})

            assert answer.status_code == 303, rule
            assert answer.location.startswith("/sign-in"), rule

    def test_an_address_that_is_not_there_says_so(self, stranger: Reader) -> None:
        """A slip in an address is not answered with a sign-in page."""
        assert stranger.get("/nowhere").status == 404


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

    def test_after_thirty_days_a_coach_signs_in_again(self, pages: Reader) -> None:
        """Even who comes by every day."""
        with pages.client.session_transaction() as cookie:
            cookie["since"] -= 30 * 24 * 3600 + 1

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

        page = pages.get("/").send("Sign out")

        assert page.banners == ["You are signed out, on every device."]
        assert copy.get("/account").heading == "Sign in"

    def test_the_browser_forgets_what_it_kept(self, pages: Reader) -> None:
        """Nothing of the club stays on a borrowed computer."""
        page = pages.get("/").send("Sign out")

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


class TestTheRooms:
    def test_the_head_says_where_one_is(self, pages: Reader) -> None:
        """On the first page of a room, below it, and outside all of them."""
        here = {
            address: [
                words(link)
                for link in pages.get(address).tree.iter("a")
                if link.get("aria-current")
            ]
            for address in ("/", "/athletes/", "/athletes/new", "/account")
        }

        assert here == {
            "/": ["Today"],
            "/athletes/": ["Athletes"],
            "/athletes/new": ["Athletes"],
            "/account": [],
        }


class TestForms:
    def test_every_change_needs_the_forms_own_token(self, app: Flask, pages: Reader) -> None:
        """Another site cannot send our forms in a coach's name."""
        changing = rules_for(app, "POST")
        assert changing
        for rule in changing:
            answer = pages.client.post(address_of(rule))

            assert answer.status_code == 400, rule
            assert "no longer fresh" in answer.text, rule

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

    def test_more_than_12_megabytes_is_refused(self, pages: Reader) -> None:
        """With a page that names the limit."""
        page = pages.post("/account", {"present": b"x" * (MOST_BYTES + 1)})

        assert page.status == 413
        assert "12 megabytes" in page.text


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

    def test_the_referrer_stays_on_the_site_and_a_cards_address_on_its_page(
        self, app: Flask, pages: Reader
    ) -> None:
        """A card's address is its key, so not even our own log gets it as a referrer."""
        for rule in rules_for(app, "GET"):
            own = rule.endpoint in security.CAPABILITY_ENDPOINTS
            expected = "no-referrer" if own else "same-origin"
            assert ask(pages, address_of(rule)).headers["Referrer-Policy"] == expected, rule

    def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(self, stranger: Reader) -> None:
        """HttpOnly and SameSite=Lax."""
        cookie = SimpleCookie(stranger.client.get("/sign-in").headers["Set-Cookie"])["settingsdesk"]

        assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Lax", "/")

    def test_where_the_desk_is_reached_by_https_the_cookie_never_travels_in_the_clear(
        self, data: DataFolder, store: Store
    ) -> None:
        """And the browser is told to stay with https for a year."""
        secure = create_app(data=data, store=store, https=True)

        answer = secure.test_client().get("/sign-in", base_url="https://desk.example.org")

        cookie = SimpleCookie(answer.headers["Set-Cookie"])["__Host-settingsdesk"]
        assert cookie["secure"]
        assert not cookie["domain"]
        policy = answer.headers["Strict-Transport-Security"]
        assert policy == "max-age=31536000; includeSubDomains"


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
        before = data.database.read_bytes()
        for rule in rules_for(app, "GET"):
            ask(pages, address_of(rule))
            ask(pages, address_of(rule), "HEAD")

        assert data.database.read_bytes() == before


class TestErrors:
    @pytest.fixture
    def at_the_sample(self, sampled: Flask, pages: Reader) -> Reader:
        """The coach, where things go wrong on request."""
        sampled.config["PROPAGATE_EXCEPTIONS"] = False
        return pages

    @pytest.mark.parametrize(
        ("kind", "status", "sentence"),
        [
            ("refused", 400, "The high rail stands at hole 6, not 7; read the mark again."),
            (
                "absent",
                404,
                "This club has no athlete with the number 12. Look for it in the list.",
            ),
            ("busy", 503, "Others were saving for 5 seconds without a gap"),
        ],
    )
    def test_a_refusal_is_said_in_its_own_words(
        self, at_the_sample: Reader, kind: str, status: int, sentence: str
    ) -> None:
        """Pages, command line and paper say the same sentence."""
        page = at_the_sample.get(f"/sample/wrong/{kind}")

        assert page.status == status
        assert sentence in page.text

    @pytest.mark.parametrize("status", [400, 403, 404, 405, 413, 418, 500])
    def test_every_error_has_a_page_that_says_what_to_do(
        self, at_the_sample: Reader, status: int
    ) -> None:
        """In the frame, with a way on."""
        page = at_the_sample.get(f"/sample/wrong/{status}")

        assert page.status == status
        assert page.links["Go to the first page"] == "/"

    def test_a_mistake_of_ours_shows_no_detail(
        self, at_the_sample: Reader, caplog: pytest.LogCaptureFixture
    ) -> None:
        """It is written to the log instead."""
        page = at_the_sample.get("/sample/wrong/broken")

        assert (page.status, page.heading) == (500, "The desk has made a mistake")
        assert "secret detail" not in page.response.text
        assert "Traceback" not in page.response.text
        assert "a secret detail" in caplog.text

    def test_when_it_cannot_be_told_who_asks_nothing_is_shown(
        self, at_the_sample: Reader, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A broken check of the session closes the desk, it does not open it."""

        def fails(*_: object) -> None:
            raise RuntimeError("the check is broken")

        monkeypatch.setattr(security, "still_signed_in", fails)

        page = at_the_sample.get("/account")

        assert page.status == 500
        assert "edda" not in page.response.text.casefold()


class TestTheSampleRoom:
    @pytest.fixture
    def form(self, sampled: Flask, pages: Reader) -> Page:
        """A form with one field of every kind."""
        return pages.get("/sample/form")

    def filled_in(self, form: Page, **other: object) -> Page:
        """The form sent with everything in order but what is named."""
        everything = {
            "name": "  Alma   R. ",
            "high": "251,0 cm",
            "turns": "3",
            "held_on": "2026-05-30",
            "apparatus": "2",
            "crew": "4",
            "squad": ["7", "8"],
        }
        return form.send("Save the setting", **{**everything, **other})

    @pytest.mark.parametrize("address", ["/sample/", "/sample/step", "/sample/form"])
    def test_every_macro_makes_a_good_page(
        self, sampled: Flask, pages: Reader, address: str
    ) -> None:
        """The reader checks it; this test only asks for it."""
        assert pages.get(address).status == 200

    def test_what_was_done_is_said_on_the_next_page(self, form: Page) -> None:
        """After the redirect, once."""
        page = self.filled_in(form)

        assert page.address == "/sample/"
        assert page.banners == ["Alma R. is saved with 2510 mm."]
        assert page.reader.get("/sample/").banners == []

    def test_everything_that_is_empty_is_named_in_order(self, form: Page) -> None:
        """Each with a link to its field."""
        page = form.send("Save the setting", high="")

        assert page.status == 400
        assert page.mistakes == [
            "Enter the name",
            "Enter the high rail height",
            "Enter the turns",
            "Enter the day",
            "Choose the apparatus",
            "Choose the crew",
            "Choose the athletes",
        ]
        assert page.links["Choose the crew"] == "#crew-0"

    @pytest.mark.parametrize(
        ("field", "typed", "sentence"),
        [
            ("name", "x" * 21, "Name must have 20 letters or fewer; it has 21"),
            ("high", "abc", "High rail height must be a number, like 250 or 247.5; 'abc' was read"),
            ("turns", "ten", "Turns must be a whole number, like 3"),
            ("turns", "10", "Turns must be between 1 and 9"),
            ("turns", "0", "Turns must be between 1 and 9"),
            ("turns", "-1", "Turns must be a whole number, like 3"),
            ("held_on", "30.5.2026", "Day must be a day, like 2026-05-30"),
            ("apparatus", "3", "Choose the apparatus"),
            ("apparatus", "x", "Choose the apparatus"),
            ("crew", "3", "Choose the crew"),
            ("squad", ["7", "9"], "Choose the athletes"),
            ("squad", ["x"], "Choose the athletes"),
        ],
    )
    def test_what_cannot_be_read_is_said_and_kept(
        self, form: Page, field: str, typed: object, sentence: str
    ) -> None:
        """Nobody types a form twice because of one slip."""
        page = self.filled_in(form, **{field: typed})

        assert page.mistakes == [sentence]
        if isinstance(typed, str) and field in ("name", "high", "turns", "held_on"):
            assert f'value="{typed}"' in page.response.text
        kept = {"name": "  Alma   R. ", "turns": "3"}
        for other, value in kept.items():
            if other != field:
                assert f'value="{value}"' in page.response.text

    def test_a_refusal_of_the_desk_stands_beside_its_field(self, form: Page) -> None:
        """Like a slip of the pen."""
        page = self.filled_in(form, name="Refuse")

        assert page.links[page.mistakes[0]] == "#high"
        assert page.title.startswith("Error: Write a setting down")

    def test_a_stored_length_is_shown_as_the_club_reads_it(self, form: Page) -> None:
        """2475 mm."""
        high = form.tree.find(".//input[@id='high']")

        assert high is not None
        assert (high.get("value"), high.get("inputmode")) == ("247.5", "decimal")

    @pytest.mark.parametrize("typed", ["<script>", "\"'><b>", "{{ 7 * 7 }}", "a\u0000b"])
    def test_what_is_typed_is_never_markup(self, form: Page, typed: str) -> None:
        """It is shown as it was typed, in the box and in the sentences."""
        page = self.filled_in(form, name=typed, high=typed)

        # HTML cannot carry a nought character; its tokenizer reads the replacement sign instead.
        name = page.tree.find(".//input[@id='name']")
        assert name is not None
        assert name.get("value", "").replace("\ufffd", "\u0000") == typed
        assert not list(page.tree.iter("b"))


class TestTheReaderOfPages:
    """The checker itself: a check that lets everything pass is worth nothing."""

    GOOD = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<title>Bars</title></head><body>"
        '<a href="#main">Skip</a><main id="main"><h1>Bars</h1>{}</main></body></html>'
    )

    def read(self, app: Flask, html: str) -> None:
        """Serve this page and read it."""
        app.view_functions["accounts.sign_in"] = lambda: html
        Reader(app).get("/sign-in")

    def test_a_good_page_passes(self, app: Flask) -> None:
        self.read(app, self.GOOD.format("<p>Rails</p>"))

    @pytest.mark.parametrize(
        ("bad", "why"),
        [
            ("<p><div></div></p>", "line 1"),
            ("<h1>Two</h1>", "2 <h1>"),
            ("<p id='a'></p><p id='a'></p>", "ids used twice"),
            ("<input id='x' name='x'>", "no label"),
            ("<label for='x'>X</label><input id='x' placeholder='y'>", "placeholder"),
            ("<label for='nothing'>X</label>", "points at nothing"),
            ("<form method='post'></form>", "no token"),
            ("<a href='/nowhere'>x</a>", "leads nowhere"),
            ("<a href='#nowhere'>x</a>", "not on the page"),
            ("<p style='color:red'></p>", "inline"),
            ("<p onclick='x()'></p>", "inline"),
            ("<script>x()</script>", "inline script"),
            ("<button></button>", "without words"),
            ("<table><thead><tr><th scope='col'>A</th></tr></thead></table>", "captions"),
            ("<table><caption>A</caption><tbody><tr><th>A</th></tr></tbody></table>", "scopes"),
        ],
    )
    def test_a_page_that_breaks_a_rule_fails(self, app: Flask, bad: str, why: str) -> None:
        with pytest.raises(NotAGoodPage, match=re.escape(why)):
            self.read(app, self.GOOD.format(bad))

    @pytest.mark.parametrize(
        ("good", "bad"),
        [
            (' lang="en"', ""),
            ("width=device-width", "width=980"),
            ("<title>Bars", "<title>Rails"),
            ('href="#main"', 'href="/help"'),
        ],
    )
    def test_a_frame_that_breaks_a_rule_fails(self, app: Flask, good: str, bad: str) -> None:
        with pytest.raises(NotAGoodPage):
            self.read(app, self.GOOD.format("").replace(good, bad))
