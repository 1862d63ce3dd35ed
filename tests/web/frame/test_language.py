"""In which language and unit a stranger reads a page: as the browser asks, or by a choice."""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from unicodedata import bidirectional

import pytest
from flask import Flask

from settingsdesk.desk.cards import paper_language
from settingsdesk.desk.hall import apparatus
from settingsdesk.resources import folder
from settingsdesk.web.frame import language as web_language
from settingsdesk.web.frame.language import COOKIE, SPOKEN_ENDPOINTS
from settingsdesk.web.frame.work import OURS
from settingsdesk.words.language import APART, TOGETHER
from settingsdesk.words.languages import NAMES, spoken
from tests.conftest import DemoClub
from tests.desk.sample_meet import hold
from tests.web.cards.making import issue
from tests.web.pages import Page, Reader

TRANSLATED = [tag for tag in NAMES if tag != "en"]


@pytest.fixture
def card(demo_club: DemoClub) -> str:
    """The address of a card's page."""
    return issue(demo_club)


@pytest.fixture
def scanner(demo_app: Flask) -> Reader:
    """Somebody's phone, without an account."""
    return Reader(demo_app)


def asking(reader: Reader, address: str, wish: str) -> Page:
    return reader.get(address, headers={"Accept-Language": wish})


class TestTheBrowsersWish:
    @pytest.mark.parametrize(
        ("wish", "tag"),
        [
            ("de", "de"),
            ("de-AT,de;q=0.9,en;q=0.8", "de"),
            ("pt-BR", "pt"),
            ("nl,fr;q=0.5,en;q=0.3", "fr"),
            ("nl", "en"),
            ("", "en"),
            ("en-US,de;q=0.5", "en"),
            ("*", "en"),
            ("ar-EG;q=1", "ar"),
            (";;=,q", "en"),
        ],
    )
    def test_is_met_by_the_first_language_that_there_is(
        self, scanner: Reader, card: str, wish: str, tag: str
    ) -> None:
        assert asking(scanner, card, wish).tree.get("lang") == tag

    def test_is_said_to_whatever_keeps_answers_on_the_way(self, scanner: Reader, card: str) -> None:
        told = {one.lower() for one in scanner.get(card).response.vary}
        assert {"accept-language", "cookie"} <= told

    def test_one_readers_page_is_not_the_next_ones(self, scanner: Reader, card: str) -> None:
        """A card's page is kept ready, for each language and unit by itself."""
        asked = [asking(scanner, card, wish) for wish in ("de", "ja", "de", "en")]
        assert [page.tree.get("lang") for page in asked] == ["de", "ja", "de", "en"]
        assert asked[0].text == asked[2].text != asked[1].text

    def test_no_catalogue_is_read_twice(self, scanner: Reader, card: str) -> None:
        before = spoken.cache_info().misses
        for _ in range(3):
            asking(scanner, card, "it")
        assert spoken.cache_info().misses <= before + 1


class TestAChoice:
    def test_is_offered_in_each_languages_own_name(self, scanner: Reader, card: str) -> None:
        page = asking(scanner, card, "pl")
        offered = {
            link.get("lang"): "".join(link.itertext())
            for link in page.tree.iter("a")
            if link.get("lang")
        }
        assert offered == NAMES

    def test_counts_more_than_the_browsers_wish_and_is_remembered(
        self, scanner: Reader, card: str
    ) -> None:
        page = asking(scanner, card, "de").follow("Italiano")
        assert page.address == card
        assert page.tree.get("lang") == "it"
        assert asking(scanner, card, "de").tree.get("lang") == "it"

    def test_says_nothing_else_and_begins_no_session(self, scanner: Reader, card: str) -> None:
        answer = scanner.client.get(f"{card}?lang=es")
        [cookie] = answer.headers.getlist("Set-Cookie")
        assert answer.status_code == 303
        assert cookie.startswith(f"{COOKIE}=es.;")
        assert {"HttpOnly", "Path=/", "SameSite=Lax"} <= set(cookie.split("; "))

    @pytest.mark.parametrize("kept", ["xx.", "de.ft", "../etc", "de", ".in", "de.in.more"])
    def test_that_was_spoilt_is_none(self, scanner: Reader, card: str, kept: str) -> None:
        scanner.client.set_cookie(COOKIE, kept)
        assert scanner.get(card).response.status_code == 200

    def test_leads_nobody_off_the_site(self, scanner: Reader) -> None:
        for path in ("//elsewhere.example", "/\\elsewhere.example", "/nowhere"):
            answer = scanner.client.get(f"{path}?lang=de")
            assert "elsewhere.example" not in answer.headers.get("Location", "").split("?")[0][:3]

    def test_leaves_the_rest_of_the_address(self, scanner: Reader, card: str) -> None:
        page = scanner.get(f"{card}?apparatus=2&other=1").follow("Français")
        assert page.response.request.query_string == b"apparatus=2"

    def test_of_inches_gives_those_of_the_lengths_themselves(
        self, scanner: Reader, card: str
    ) -> None:
        """Not of what was rounded to centimetres; marks have no unit and stay."""
        in_cm = scanner.get(card)
        in_inches = in_cm.follow("Inches")
        marks = [
            ["".join(one.itertext()) for one in page.tree.iter("dd") if one.get("class") == "value"]
            for page in (in_cm, in_inches)
        ]
        assert marks[0] == marks[1]
        assert " cm" in in_cm.text
        assert " cm" not in in_inches.text
        assert " in" in in_inches.text
        assert " cm" in in_inches.follow("Centimetres").text


class TestACoachsPage:
    def test_stays_english_and_says_so(self, demo_pages: Reader) -> None:
        page = asking(demo_pages, "/athletes/", "de")
        assert page.tree.get("lang") == "en"
        assert "Deutsch" not in page.text

    def test_that_strangers_read_has_an_english_frame(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        page = asking(demo_pages, f"/crew-sheets/{held.rotation_id}", "ar")
        [head] = list(page.tree.iter("header"))
        assert (page.tree.get("lang"), page.tree.get("dir")) == ("ar", "rtl")
        assert (head.get("lang"), head.get("dir")) == ("en", "ltr")

    def test_marks_stand_in_one_order_wherever_lines_run_from_right_to_left(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """What is read first is rightmost: each mark is by itself, in its row and in a sentence."""
        held = hold(demo_club)
        with demo_club.work() as session:
            piece = apparatus.piece(session, held.apparatus_id)
            marks = piece.model.marks(piece.must_stand_somewhere()).values()
        page = asking(demo_pages, f"/crew-sheets/{held.rotation_id}", "ar")
        for alone in page.tree.iter("bdi"):
            alone.text, alone.tail = f"{APART}{alone.text}{TOGETHER}", alone.tail
        for beneath in page.having("class", "english"):
            for part in beneath.iter():
                part.text = part.tail = ""
        lines = "".join(page.tree.itertext())
        told = " / ".join(f"{APART}{mark}{TOGETHER}" for mark in marks)
        assert told in lines
        runs = re.findall(r"(\S) / (\S)", lines)
        assert len(runs) > len(held.guests)
        for before, after in runs:
            assert before == TOGETHER or bidirectional(before) == "AL", runs
            assert after == APART or bidirectional(after) == "AL", runs

    def test_the_version_of_a_crew_sheet_is_the_papers_whoever_reads_it(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        address = f"/crew-sheets/{hold(demo_club).rotation_id}"
        version = demo_pages.get(address).text.partition("Version ")[2][:4]
        assert version in demo_pages.get(address).follow("Inches").follow("Polski").text

    def test_what_hangs_at_the_apparatus_is_in_the_clubs_language(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            paper_language.keep(session, "fr")
        page = demo_pages.get(f"/stations/sessions/{held.session_id}").send(
            "Open the station at Bars by the window"
        )
        sheet = asking(demo_pages, f"{page.address}/sheet", "de")
        assert sheet.tree.get("lang") == "fr"
        assert sheet.follow("Polski").tree.get("lang") == "pl"


class TestAPageThatIsNone:
    def test_says_so_in_the_readers_language(self, scanner: Reader) -> None:
        page = asking(scanner, "/nowhere", "es")
        assert page.tree.get("lang") == "es"

    def test_of_a_coach_in_english(self, demo_pages: Reader) -> None:
        assert asking(demo_pages, "/nowhere", "es").tree.get("lang") == "en"


class TestWithoutAPage:
    def test_a_phone_without_network_and_copy_is_told_so_in_its_language(
        self, demo_app: Flask
    ) -> None:
        """By what the station's worker has with it; the script itself is the same."""
        german, english = (
            demo_app.test_client()
            .get("/station/worker.js", headers={"Accept-Language": wish})
            .get_data(as_text=True)
            for wish in ("de", "en")
        )
        told = re.compile(r"const TOLD = \{.*\};")
        assert "keine Kopie dieser Seite" in german
        assert "Set nothing by what you remember" in german
        assert told.sub("", german) == told.sub("", english)
        assert json.loads(told.findall(english)[0][13:-1])["lang"] == "en"

    def test_who_asks_too_much_is_told_so_in_theirs(self, demo_app: Flask, card: str) -> None:
        client = demo_app.test_client()
        wish = {"Accept-Language": "ja"}
        answers = (client.get(card, headers=wish) for _ in range(2000))
        refused = next(answer for answer in answers if answer.status_code == 429)
        assert '<html lang="ja"' in refused.text


def english_of(page: Page) -> list[str]:
    """What stands beneath the translation."""
    return [
        " ".join("".join(one.itertext()).split())
        for one in page.tree.iter("span")
        if (one.get("class"), one.get("lang"), one.get("dir")) == ("english", "en", "ltr")
    ]


class TestATranslationThatNobodyHasRead:
    @pytest.mark.parametrize("tag", TRANSLATED)
    def test_says_so_and_has_its_cautions_in_english_too(
        self, scanner: Reader, card: str, tag: str
    ) -> None:
        english = english_of(asking(scanner, card, tag))
        assert any(one.startswith("No native speaker has read") for one in english)
        assert any(one.startswith("Caution. The maker's instructions") for one in english)

    @pytest.fixture
    def read(self, demo_app: Flask) -> Iterator[None]:
        """Somebody has read the German one."""
        before = demo_app.extensions[web_language.READER]
        demo_app.extensions[web_language.READER] = lambda: replace(spoken("de"), unread=False)
        yield
        demo_app.extensions[web_language.READER] = before

    @pytest.mark.usefixtures("read")
    def test_stands_alone_once_somebody_has(self, scanner: Reader, card: str) -> None:
        page = scanner.get(card)
        assert english_of(page) == []
        assert "Muttersprache" not in page.text

    def test_english_has_nothing_beneath(self, scanner: Reader, card: str) -> None:
        assert english_of(scanner.get(card)) == []


class TestFromRightToLeft:
    def test_marks_and_codes_keep_their_own_direction(self, scanner: Reader, card: str) -> None:
        page = asking(scanner, card, "ar")
        values = [one for one in page.tree.iter("dd") if one.get("class") == "value"]
        assert page.tree.get("dir") == "rtl"
        assert values
        assert all(one.find("bdi") is not None for one in values)

    def test_a_name_that_runs_so_keeps_the_marks_beside_it_in_order(self, demo_app: Flask) -> None:
        """On an English page, too: behind it "5 / 4 / 168" would be read from its end."""
        with demo_app.test_request_context("/"):
            assert web_language.apart("سلمى") == "<bdi>سلمى</bdi>"
            assert web_language.apart("Runa") == "Runa"

    def test_an_arrow_from_mark_to_mark_points_as_it_is_read(self) -> None:
        """The line with it runs from left to right in every language."""
        at_the_bars = (folder("templates") / "runs" / "_at_apparatus.html").read_text("utf-8")
        assert '<p class="go" dir="ltr">' in at_the_bars


class TestWhoSpeaks:
    def test_every_page_of_strangers_is_known(self, demo_app: Flask) -> None:
        """A new one is spoken in the reader's language once it is named."""
        endpoints = {rule.endpoint for rule in demo_app.url_map.iter_rules()}
        assert endpoints >= SPOKEN_ENDPOINTS
        assert OURS in demo_app.extensions
