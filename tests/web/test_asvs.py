"""Rows of the security requirements (OWASP ASVS 5.0.0) that have no better place for their test.

DEVELOPERS.md has the table of all of them; a class here is named after its row.
"""

import ast
import re
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import pytest
from flask import Flask
from itsdangerous import BadSignature
from openpyxl.xml import DEFUSEDXML
from sqlalchemy import Engine, event, select

from settingsdesk.config import KEY_BYTES
from settingsdesk.desk.cards.in_hand import ScannedCard
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base import codes
from settingsdesk.resources import folder
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.clubs import account_by_id
from settingsdesk.web.app import MOST_FORM_BYTES, MOST_REQUEST_BYTES
from settingsdesk.web.frame import log
from tests.conftest import DemoClub
from tests.databases import rows_in
from tests.test_layers import FILES, PACKAGE
from tests.web.pages import Reader

ROOT = Path(__file__).parents[2]
DEVELOPERS = ROOT / "DEVELOPERS.md"
HOSTILE = "<img src=x onerror=alert(1)> ' \" {{ 7*7 }} %s --"


def sources(pattern: str, files: list[Path]) -> list[str]:
    """The files in which a pattern stands."""
    sought = re.compile(pattern)
    return sorted(
        str(file.relative_to(PACKAGE)) for file in files if sought.search(file.read_text("utf-8"))
    )


class TestRow1:
    def test_names_are_text_on_every_page_that_shows_them(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person(HOSTILE, "Lova", group_name=HOSTILE))
        for address in ("/athletes/", f"/athletes/{one.id}", f"/athletes/{one.id}/kept", "/record"):
            page = demo_pages.get(address)
            assert page.status == 200
            assert "<img src=x" not in page.response.text
            assert "49" not in page.heading

    def test_no_template_says_that_something_is_safe(self) -> None:
        """Markup is made by what draws or says, which escapes, and by heads of tables of ours."""
        templates = [file for file in folder("templates").rglob("*.html") if file.is_file()]
        assert [
            file.name
            for file in templates
            if re.search(r"\|\s*safe\b|autoescape", file.read_text())
        ] == []
        assert sources(r"\bMarkup\(", FILES) == [
            "web/cards/card_page.py",
            "web/frame/fields.py",
            "web/frame/language.py",
            "web/frame/shown.py",
            "web/frame/svg.py",
            "web/frame/tables.py",
        ]


class TestRow2:
    @pytest.mark.parametrize("typed", ["' OR 1=1 --", '"; DROP TABLE athlete; --', "%", "_", "\\"])
    def test_what_is_searched_for_is_no_sql(self, demo_pages: Reader, typed: str) -> None:
        page = demo_pages.get(f"/athletes/?q={typed}")
        assert page.status == 200
        assert "Nobody in the club has all of these words" in page.text


class TestRow5:
    def test_no_template_is_made_of_what_is_kept(self) -> None:
        assert sources(r"render_template_string", FILES) == []


class TestRow6:
    def test_workbooks_are_read_without_entities(self) -> None:
        """openpyxl says so only where defusedxml is installed."""
        assert DEFUSEDXML is True


class TestRow8:
    def test_what_fails_at_any_statement_leaves_all_as_it_was(self, demo_club: DemoClub) -> None:
        """The press with most statements: half an erasure would be the worst of all."""
        before = rows_in(demo_club.data.where)

        def erased(fails_at: int) -> bool:
            asked = 0

            def fail(*_: object) -> None:
                nonlocal asked
                asked += 1
                if asked == fails_at:
                    raise RuntimeError("the power went")

            event.listen(Engine, "before_cursor_execute", fail)
            try:
                with demo_club.work(writes=True) as session:
                    erasing.erase(session, 1)
            except RuntimeError:
                return False
            finally:
                event.remove(Engine, "before_cursor_execute", fail)
            return True

        fails_at = 1
        while not erased(fails_at):
            assert rows_in(demo_club.data.where) == before
            fails_at += 1
        assert fails_at > 20


class TestRow38:
    def test_a_cookie_with_any_letter_changed_is_none(self, app: Flask) -> None:
        """Signed by HMAC with the desk's own key, its own salt, and its age."""
        signing = app.session_interface.get_signing_serializer(app)
        cookie = signing.dumps({"stamp": "a" * 32})
        assert signing.loads(cookie, max_age=60) == {"stamp": "a" * 32}
        for place, letter in enumerate(cookie):
            # The last letter of 27 has bits that say nothing: another letter may mean the same.
            other = "B" if letter != "B" else "Q"
            spoilt = cookie[:place] + other + cookie[place + 1 :]
            if place < len(cookie) - 1:
                with pytest.raises(BadSignature):
                    signing.loads(spoilt)
        with pytest.raises(BadSignature):
            signing.loads(cookie, salt=b"another purpose")


class TestRow40:
    def test_secrets_come_from_the_systems_own_source_and_are_long_enough(self) -> None:
        """The planner draws orders by chance, and nothing else does."""
        assert sources(r"\bimport random\b|from random import (?!SystemRandom)", FILES) == [
            "planner/anneal.py"
        ]
        assert sources(r"uuid[0-9]?\b", FILES) == []
        assert KEY_BYTES * 8 >= 256
        assert len(codes.SYMBOLS) ** codes.CARD_CODE_LENGTH > 2**128


class TestRow41:
    def test_no_secret_stands_in_the_source(self) -> None:
        """No text that is given to something called a key, a password or a secret."""
        found = [
            f"{file.name}:{node.lineno}"
            for file in FILES
            for node in ast.walk(ast.parse(file.read_text("utf-8")))
            if isinstance(node, ast.keyword)
            and re.search(r"secret|password|token", node.arg or "")
            and isinstance(node.value, ast.Constant)
            and isinstance(node.value.value, (str, bytes))
            and node.value.value
        ]
        assert found == []


class TestRow43:
    def test_a_cards_address_stands_in_no_line_of_the_log(self) -> None:
        """The code is in the address because paper needs no app; nothing may write it down."""
        written = Path(log.__file__).read_text("utf-8")
        assert not re.search(r"request\.(path|url|full_path|base_url|query_string)", written)


class TestRow44:
    def test_whoever_holds_a_card_sees_these_fields_and_no_others(self) -> None:
        """A name as on the card, and marks: a field more is a decision, not an accident."""
        assert {field.name for field in fields(ScannedCard)} == {
            *("name", "printed_for", "version", "issued_on", "counts_until", "now"),
            *("apparatus_id", "elsewhere", "differences", "newest_version", "newest_on"),
            *("newest_counts", "withdrawn_since", "taken_in", "scratched"),
        }


class TestRow45:
    def test_a_browser_keeps_nothing_for_itself_but_what_was_not_sent_yet(self) -> None:
        """The presses at the apparatus that wait for the network, and the page's copy there."""
        scripts = [*(PACKAGE / "web" / "static").glob("*.js")]
        stores = r"localStorage|sessionStorage|indexedDB|document\.cookie|caches\."
        assert sources(stores, scripts) == [
            "web/static/apparatus_worker.js",
            "web/static/at_apparatus.js",
            "web/static/sign_out.js",
        ]


class TestRow47:
    def test_what_is_taken_in_has_an_end(self, app: Flask) -> None:
        assert app.config["MAX_CONTENT_LENGTH"] == MOST_REQUEST_BYTES <= 12 * 1024 * 1024
        assert app.config["MAX_FORM_MEMORY_SIZE"] == MOST_FORM_BYTES <= 1024 * 1024


class TestRow48:
    def test_what_no_field_asks_for_sets_nothing_and_of_a_field_the_first_counts(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Columns by name in what is sent: a form reads its own fields, and each of them once."""
        token = demo_pages.get("/athletes/new").token
        sent = {
            "csrf_token": token,
            "family_name": ["Ask", "Embla"],
            "given_name": "Ea",
            "id": "4711",
            "club_id": "2",
            "meet_id": "1",
            "left_on": "2026-01-01",
            "erased_on": "2026-01-01",
            "taken_into_id": "1",
            "created_by": "Nobody",
        }
        assert demo_pages.client.post("/athletes/new", data=sent).status_code == 303

        with demo_club.work() as session:
            [row] = session.scalars(select(Athlete).where(Athlete.given_name == "Ea")).all()
            told = (row.family_name, row.club_id, row.meet_id, row.left_on, row.erased_on)
            assert told == ("Ask", demo_club.account.club_id, None, None, None)
            assert (row.id != 4711, row.taken_into_id, row.created_by) == (
                True,
                None,
                "Runa Calloway",
            )

    def test_nobody_makes_themselves_more_than_they_are(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Neither an owner nor an owner of the installation, by a field in a form of theirs."""
        sent = {"role": "owner", "owns_installation": "1", "club_id": "2", "account_id": "1"}
        with demo_club.store.installation(writes=True) as session:
            account = account_by_id(session, demo_club.account.account_id)
            account.owns_installation = False
            account.memberships[0].role = "helper"
        for address in ("/account", "/account/club", "/account/second-factor"):
            token = demo_pages.get("/account").token
            demo_pages.client.post(address, data={"csrf_token": token, **sent})

        with demo_club.store.installation(writes=False) as session:
            account = account_by_id(session, demo_club.account.account_id)
            assert (account.owns_installation, account.memberships[0].role) == (False, "helper")
            assert len(account.memberships) == 1


class TestRow51:
    def test_an_error_in_any_view_shows_no_trace(self, app_of_its_own: Flask) -> None:
        app_of_its_own.testing = False

        def broken(**_: object) -> str:
            raise ValueError("Traceback of Jagna")

        views: dict[str, Callable[..., object]] = app_of_its_own.view_functions
        asked = 0
        for rule in list(app_of_its_own.url_map.iter_rules()):
            if rule.endpoint in ("accounts.sign_in", "help.page", "privacy.page", "station.enter"):
                views[rule.endpoint] = broken
                answer = app_of_its_own.test_client().get(rule.rule.replace("<code>", "A"))
                assert answer.status_code == 500
                assert "Traceback" not in answer.text
                assert "Jagna" not in answer.text
                asked += 1
        assert asked >= 4


class TestTheTable:
    def rows(self) -> dict[int, str]:
        told = DEVELOPERS.read_text("utf-8").partition("## The security requirements")[2]
        return {
            int(found[1]): found[2]
            for found in re.finditer(r"^\| (\d+) \| ([^\n]*) \|$", told, re.MULTILINE)
        }

    def test_every_row_has_a_line_that_says_where_it_is_tested_or_why_not(self) -> None:
        assert sorted(self.rows()) == list(range(1, 52))
        assert [row for row, told in self.rows().items() if "`" not in told] == []

    def test_every_test_that_it_names_is_there(self) -> None:
        missing = []
        for row, told in self.rows().items():
            for file, name in re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", told):
                path = ROOT / file
                text = path.read_text("utf-8") if path.exists() else ""
                if not text or (name and not re.search(rf"(class|def) {name}\b", text)):
                    missing.append(f"row {row}: {file}::{name}")
        assert missing == []

    def test_every_row_here_stands_in_the_table(self) -> None:
        here = re.findall(r"^class TestRow(\d+)", Path(__file__).read_text("utf-8"), re.MULTILINE)
        rows = self.rows()
        named = "tests/web/test_asvs.py::TestRow{}`"
        assert [row for row in here if named.format(row) not in rows[int(row)]] == []
