"""One rotation of a meet, run by two volunteers' phones on a network that comes and goes."""

import re

from playwright.sync_api import Page, Response, Route, expect
from pypdfium2 import PdfDocument

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import settings
from settingsdesk.desk.stations import stations
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.browser.at_station import (
    Phone,
    back,
    begin,
    confirm,
    heading,
    hold_out,
    set_and_check,
    wait_for_copy,
)
from tests.browser.conftest import OpenPage
from tests.browser.looks import (
    assert_accessible,
    assert_focus_is_seen,
    assert_no_sideways_scroll,
    assert_read_in_every_light,
    assert_targets,
    text_px,
)
from tests.browser.two_seconds import TwoSeconds
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet

AT_FIRST_BYTES = 60_000
AFTERWARDS_BYTES = 15_000
EMPTIED = """async () => {
    while ((await caches.keys()).length) await new Promise((again) => setTimeout(again, 50));
}"""


def change_setting(club: DemoClub, held: SmallMeet, athlete_id: int, high_mm: int) -> None:
    with club.work(writes=True) as session:
        piece = apparatus.piece(session, held.apparatus_id)
        wanted = {
            axis.key: Wanted(mm, 10)
            for axis, mm in zip(piece.model.kind.axes, (1700, high_mm, 1750), strict=True)
        }
        setting = Setting(piece.model.kind, wanted)
        settings.keep_setting(session, athlete_id, piece.model_id, setting)


class TestOneRotationByTwoPhones:
    def test_with_a_scratch_a_wrong_card_a_superseded_one_and_a_dropped_network(
        self, phone: Phone, demo_club: DemoClub, held: SmallMeet, printed: list[Card]
    ) -> None:
        """What each of the two sees at every moment; and no event twice."""
        ivo, ana = phone("Ivo", by_code=True), phone("Ana", by_code=True)
        begin(ivo)
        heading(ana).to_contain_text("Almira O.")

        # The second card is held out first.
        hold_out(ivo, printed[1].url)
        heading(ivo).to_have_text("Another athlete")
        expect(ivo.get_by_text("Almira O. is expected now.")).to_be_visible()
        expect(ivo.get_by_text("Sunniva B.'s, who comes next")).to_be_visible()
        back(ivo)
        set_and_check(ivo, "Almira O.")
        heading(ana).to_have_text("Almira O. is on")

        # The network drops while one of them confirms; the other is told nothing wrong.
        ivo.context.set_offline(True)
        ivo.get_by_role("button", name="The turn is over").click()
        expect(ivo.get_by_text("What you confirmed is not sent yet")).to_be_visible()
        expect(ivo.get_by_text(re.compile(r"Not live since \d\d:\d\d:\d\d"))).to_be_visible()
        expect(ivo.locator(".station")).to_have_class(re.compile(r"\bold\b"))
        heading(ivo).to_have_text("Almira O. is on")
        heading(ana).to_have_text("Almira O. is on")
        ivo.context.set_offline(False)
        heading(ana).to_contain_text("Sunniva B.")
        heading(ivo).to_contain_text("Sunniva B.")
        expect(ivo.locator(".station")).not_to_have_class(re.compile(r"\bold\b"))

        # Scratch: the second is not here.
        ana.get_by_text("Something is different").click()
        ana.get_by_label("Who").select_option(label="Sunniva B.")
        confirm(ana, "Is not here")
        heading(ana).to_contain_text("Noor H.")
        heading(ivo).to_contain_text("Noor H.")

        # The coach changes the third's setting: the paper no longer counts, nor does what stood.
        change_setting(demo_club, held, held.guests[2].member.id, 2400)
        hold_out(ana, printed[2].short_code)
        heading(ana).to_have_text("This card is out of date")
        expect(ana.get_by_role("table", name="What has changed")).to_contain_text(
            "High rail height"
        )
        ana.get_by_role("link", name="Back to the station").click()
        heading(ana).to_have_text("The marks were changed")
        confirm(ana, "Take the new marks")
        set_and_check(ana, "Noor H.")
        confirm(ana, "The turn is over")

        heading(ivo).to_have_text("All turns done")
        ivo.get_by_text("Something is different").click()
        confirm(ivo, "Sunniva B. is here after all")
        set_and_check(ivo, "Sunniva B.")
        confirm(ivo, "The turn is over")
        heading(ana).to_have_text("All turns done")

        with demo_club.work() as session:
            view = desk_run.run(session, 1)
        assert [view.name_of(had.turn) for had in view.run.over] == [
            "Almira O.",
            "Noor H.",
            "Sunniva B.",
        ]
        told = [type(event.what).__name__ for event in view.events]
        assert told.count("TurnOver") == 3
        assert (told.count("NotHere"), told.count("Arrived"), told.count("Reordered")) == (1, 1, 1)

    def test_an_answer_that_is_lost_doubles_nothing(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        """The desk took the confirmation, and the phone never heard of it."""
        page = phone("Ivo", service_workers="block")  # so that the test sees all it sends
        begin(page)
        set_and_check(page, "Almira O.")
        lost: list[int] = []

        def lose(route: Route) -> None:
            if lost:
                route.continue_()
                return
            lost.append(route.fetch(max_redirects=0).status)
            route.abort("internetdisconnected")

        page.route("**/station/confirm", lose)
        page.get_by_role("button", name="The turn is over").click()
        heading(page).to_contain_text("Sunniva B.")

        assert lost == [200]
        with demo_club.work() as session:
            told = [type(event.what).__name__ for event in desk_run.run(session, 1).events]
        assert told.count("TurnOver") == 1

    def test_a_network_that_answers_in_the_desks_place_loses_nothing(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        """As a hall's does that first wants a name or a payment: with its page, or led on to it."""
        page = phone("Ivo", service_workers="block")  # so that the test sees all it sends
        begin(page)
        set_and_check(page, "Almira O.")
        foreign = [
            {"status": 200, "content_type": "text/html", "body": "<main>Welcome</main>"},
            {"status": 302, "headers": {"Location": "/station?out=1"}},
            {"status": 410, "content_type": "text/html", "body": "<main>Gone</main>"},
        ]
        answered = len(foreign)

        def answer(route: Route) -> None:
            if foreign:
                route.fulfill(**foreign.pop())
            else:
                route.continue_()

        page.route("**/station/confirm", answer)
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text("What you confirmed is not sent yet")).to_be_visible()
        heading(page).to_contain_text("Sunniva B.")

        assert (answered, foreign) == (3, [])
        with demo_club.work() as session:
            told = [type(event.what).__name__ for event in desk_run.run(session, 1).events]
        assert told.count("TurnOver") == 1


class TestTwoPhones:
    def test_the_other_one_sees_it_before_two_of_its_seconds_are_over(self, phone: Phone) -> None:
        """Its clock is held by the test: how fast this machine is plays no part."""
        ivo, ana = phone("Ivo"), phone("Ana")
        begin(ivo)
        heading(ana).to_contain_text("Almira O.")
        clock = TwoSeconds(ana)
        set_and_check(ivo, "Almira O.")

        clock.pass_by()
        heading(ana).to_have_text("Almira O. is on")


class TestWithoutNetwork:
    def test_that_a_rotation_begins_is_kept_until_it_is_through(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        page = phone("Ivo", service_workers="block")
        page.context.set_offline(True)
        page.locator("#of-day").check()
        page.get_by_role("button", name="Begin rotation 1").click()
        expect(page.get_by_text("What you confirmed is not sent yet")).to_be_visible()
        page.context.set_offline(False)
        heading(page).to_contain_text("Almira O.")

        with demo_club.work() as session:
            assert desk_run.run(session, 1).number == 1

    def test_the_last_state_stays_readable_and_is_marked_as_old(self, phone: Phone) -> None:
        """Where the browser allows a worker: on this machine, and by https."""
        page = phone("Ivo")
        begin(page)
        set_and_check(page, "Almira O.")
        wait_for_copy(page)
        page.context.set_offline(True)
        page.reload()

        heading(page).to_have_text("Almira O. is on")
        expect(page.get_by_text("A copy that this phone kept on")).to_be_visible()
        expect(page.locator(".station")).to_have_class(re.compile(r"\bold\b"))
        button = page.get_by_role("button", name="The turn is over")
        assert button.evaluate("one => parseFloat(getComputedStyle(one).minHeight) >= 56")
        assert text_px(page, ".figures .value") < 40
        expect(page.locator("[data-lost]")).to_contain_text("Not live")  # says the script

    def test_when_it_is_put_out_nothing_stays_on_the_phone(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        page = phone("Ivo")
        begin(page)
        wait_for_copy(page)
        with demo_club.work(writes=True) as session:
            stations.close(session, 1)

        heading(page).to_have_text("The station was closed")
        page.evaluate(EMPTIED)
        assert page.evaluate("localStorage.length") == 0


class TestTheCamera:
    def test_a_cards_address_leads_to_the_station_with_the_answer(
        self, phone: Phone, printed: list[Card]
    ) -> None:
        page = phone("Ivo")
        page.goto("/C/" + printed[0].url.rpartition("/")[2])

        heading(page).to_have_text("The right card")
        page.get_by_role("link", name="Back to the station").click()
        heading(page).to_contain_text("rotation 1 is next")


class TestWeight:
    def test_the_first_page_and_each_one_after_it(
        self, phone: Phone, address: str, held: SmallMeet
    ) -> None:
        """Uncompressed, with styles, scripts and pictures; the worst page is the change-over."""
        page = phone("Ivo")
        begin(page)
        set_and_check(page, "Almira O.")
        weights: dict[str, int] = {}

        def weigh(answer: Response) -> None:
            if answer.status == 200:
                weights[answer.url.removeprefix(address)] = len(answer.body())

        with page.expect_response("**/station/latest"):
            pass
        page.on("response", weigh)
        confirm(page, "The turn is over")
        one_step = sum(weights.values())
        page.remove_listener("response", weigh)

        fresh = page.context.new_page()
        fresh.on("response", weigh)
        weights.clear()
        fresh.goto("/station/now")
        expect(fresh.locator("[data-touch]")).to_contain_text("Live")
        at_first = sum(weights.values())

        assert weights["/station/now"] < AFTERWARDS_BYTES
        assert one_step < AFTERWARDS_BYTES
        assert at_first < AT_FIRST_BYTES


class TestHowItLooks:
    def test_each_stage_is_readable_and_pressed_with_chalk_on_the_hand(self, phone: Phone) -> None:
        """Before it begins, a check, an athlete on, a change-over; in one walk.

        One hand holds the rail, a thumb confirms: mark, hands and button in one look.
        """
        page = phone("Ivo")
        self.must_be_readable(page)
        begin(page)
        self.must_be_readable(page)
        set_and_check(page, "Almira O.")
        self.must_be_readable(page)
        assert text_px(page, ".figures .value") >= 40
        assert_focus_is_seen(page)

        page.reload()  # whatever has the focus now must not keep the page from its next state
        confirm(page, "The turn is over")
        self.must_be_readable(page)
        told = []
        while page.get_by_role("button", name="Done with").count():
            told += page.locator(".now").first.locator(":is(.how li, p.how)").all_inner_texts()
            assert text_px(page, ".now :is(.how, .go strong)") >= 18
            expect(page.get_by_role("button", name="Done with").first).to_be_in_viewport(ratio=1)
            confirm(page, "Done with")

        assert told[0] == "See that nobody is on or under the rails."
        assert {"step on a stand or the mounting steps", "close the lock", "pull to try"} < set(
            told
        )

    def must_be_readable(self, page: Page) -> None:
        assert_read_in_every_light(page)
        assert_no_sideways_scroll(page)
        assert_targets(page, 48)
        page.emulate_media(color_scheme="light")

    def test_the_coachs_pages_too(self, open_page: OpenPage, codes: stations.StationCodes) -> None:
        page = open_page("/stations/1", light="dark")
        for path in ("/stations/1", "/stations/1/sheet", "/stations/sessions/1"):
            page.goto(path)

            assert_accessible(page)
            assert_no_sideways_scroll(page)
            assert_targets(page)

    def test_the_sheet_is_one_page(self, open_page: OpenPage, codes: stations.StationCodes) -> None:
        """What is pinned up by its first page must not have a second one."""
        page = open_page("/stations/1/sheet", screen="desktop")

        for paper in ("A4", "Letter"):
            assert len(PdfDocument(page.pdf(format=paper))) == 1, paper

    def test_the_way_in_is_as_easy(self, open_page: OpenPage) -> None:
        page = open_page("/station", stranger=True, light="dark")

        assert_accessible(page)
        assert_no_sideways_scroll(page)
        assert_targets(page, 48)
