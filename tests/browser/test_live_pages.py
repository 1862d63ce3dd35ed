"""Every phone at the apparatus knows what is true now, on a network that comes and goes."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from flask import Flask
from playwright.sync_api import Dialog, Page, Request, expect

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.runs import presses
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.presses import Press
from settingsdesk.desk.squad import settings
from settingsdesk.domain.changeover.happenings import NotHere, Rechecked
from settingsdesk.domain.checks.findings import Step
from settingsdesk.domain.hall.scales import RegularScale
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store import sign_ins
from settingsdesk.store.base import utc_now
from tests.browser.at_station import NOT_OURS, Phone, begin, heading, wait_for_copy
from tests.browser.conftest import OpenPage, bring_cookie
from tests.browser.pressing import press
from tests.browser.served_desk import ServedDesk
from tests.browser.two_seconds import TwoSeconds
from tests.conftest import Account, DemoClub
from tests.desk.sample_meet import SmallMeet

RUN = "/bars/1"
OLD = re.compile(r"\bold\b")
ON_PAPER = "was made on paper"
NOT_THROUGH = "What you confirmed is not sent yet"
STYLED = "element => parseFloat(getComputedStyle(element).minHeight) >= 56"
CLOCK_PUT_BACK = """
    const present = Date.now;
    Date.now = () => present() - (window.putBackMs ?? 0);
"""
CUT_OFF = (
    *NOT_OURS,
    "ERR_CONNECTION",
    "ERR_SOCKET_NOT_CONNECTED",
    "ERR_EMPTY_RESPONSE",
    "status of 503",
    "ERR_ABORTED",
    "ERR_CONTENT_LENGTH",
)
NO_WORKERS = "delete Navigator.prototype.serviceWorker"


@pytest.fixture
def at_the_bars(open_page: OpenPage) -> Page:
    """The coach's phone, the first athlete to be checked before."""
    page = open_page("/rotations/1", expected=CUT_OFF)
    press(page.get_by_role("button", name="Take it to the bars"))
    expect(page.locator("[data-touch]")).to_contain_text("Live")
    return page


def words_of(club: DemoClub) -> list[str]:
    with club.work() as session:
        return [type(event.what).__name__ for event in desk_run.run(session, 1).events]


def on(page: Page) -> None:
    page.get_by_label(ON_PAPER).check()
    page.get_by_role("button", name="Checked alone").click()
    heading(page).to_contain_text("is on")


def withdraw(club: DemoClub, apparatus_id: int) -> int:
    with club.work(writes=True) as session:
        return findings.add_finding(
            session, apparatus_id, "Cracked", withdraws=True, press_key="p"
        ).id


class TestWhatMakesThePageUntrue:
    def test_reaches_the_coachs_and_the_stations_page_within_two_of_their_seconds(
        self, phone: Phone, open_page: OpenPage, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Withdrawn, released, other marks, another scale: as fast as a step, by one mechanism."""
        ivo = phone("Ivo")
        begin(ivo)
        coach = open_page(RUN)
        pages = (ivo, coach)
        clocks = [TwoSeconds(page) for page in pages]

        def all_show(words: str) -> None:
            for clock in clocks:
                clock.pass_by()
                heading(clock.page).to_contain_text(words)

        all_show("Almira O.")
        finding = withdraw(demo_club, held.apparatus_id)
        all_show("use")
        for page in pages:
            expect(page.get_by_text("Nobody goes up, nothing is set")).to_be_visible()
        with demo_club.work(writes=True) as session:
            findings.take_step(session, finding, Step.RELEASED, "Seen to")
        all_show("Read the present marks")
        with demo_club.work(writes=True) as session:
            run = desk_run.run(session, 1)
            desk_run.read_off(session, run, run.number, (3, 3, 3))
        all_show("Set for Almira O.")
        with demo_club.work(writes=True) as session:
            apparatus.record_setup(session, held.apparatus_id, (1, 1, 1), "read off")
        all_show("Read the present marks")
        with demo_club.work(writes=True) as session:
            desk_run.end(session, 1)
        all_show("ended")

    def test_a_list_a_setting_mats_and_a_scale_do_so_too(
        self, phone: Phone, open_page: OpenPage, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Whatever a rail is set by, and whoever comes next."""
        ivo = phone("Ivo")
        begin(ivo)
        clocks = [TwoSeconds(page) for page in (ivo, open_page(RUN))]
        first, second = (guest.member.id for guest in held.guests[:2])

        def all_show(*words: str) -> None:
            for clock, said in zip(clocks, words * (2 // len(words)), strict=True):
                clock.pass_by()
                expect(clock.page.locator("main")).to_contain_text(said)

        with demo_club.work(writes=True) as session:
            desk_run.confirm(session, 1, 1, NotHere(second))
        all_show("Next: Noor H.")
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            lengths = zip(piece.model.kind.axes, (1700, 2550, 1650), strict=True)
            wanted = {axis.key: Wanted(mm, 10) for axis, mm in lengths}
            settings.keep_setting(session, first, piece.model_id, Setting(piece.model.kind, wanted))
        all_show("The old marks do not count", "other marks are wanted now")
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, 1)
            presses.confirm(session, now, Press("new_marks", 0, now.number))
        all_show("Set for Almira O.")
        drawn = [clock.page.locator(".drawing").inner_html() for clock in clocks]
        with demo_club.work(writes=True) as session:
            apparatus.change_piece(session, piece.id, piece.name, piece.place, 300)
        for clock, before in zip(clocks, drawn, strict=True):
            clock.pass_by()
            clock.page.wait_for_function(
                "before => document.querySelector('.drawing').innerHTML !== before", arg=before
            )
        with demo_club.work(writes=True) as session:
            version = models.model(session, piece.model_id)
            low, *others = version.model.axes
            fewer = replace(low, scale=RegularScale(1500, 50, 5))
            axes = (fewer, *others)
            other = replace(version.model, axes=axes)
            models.change_model(session, piece.model_id, other, "fewer holes", version.version)
        all_show("was changed since this run began")


class TestAFormThatIsOpen:
    """Found marks and the end are typed and thought over while others go on."""

    def test_says_that_something_happened_and_keeps_what_was_typed(
        self, phone: Phone, open_page: OpenPage, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        ivo = phone("Ivo")
        begin(ivo)
        coach = open_page(f"{RUN}/found")
        to_end = open_page(f"{RUN}/end")
        ivo.goto("/station/marks")
        forms = (ivo, coach, to_end)
        for page in (ivo, coach):
            page.get_by_label("Low rail height").fill("7")
        for page in forms:
            expect(page.locator("[data-touch]")).to_contain_text("Live")
            expect(page.get_by_text("Something has happened")).to_have_count(0)
        withdraw(demo_club, held.apparatus_id)
        for page in forms:
            expect(page.get_by_text("Something has happened since")).to_be_visible()
            expect(page.get_by_role("link", name="See what happened")).to_be_visible()
        for page in (ivo, coach):
            expect(page.get_by_label("Low rail height")).to_have_value("7")


class TestACoachOnAPoorNetwork:
    def test_what_is_confirmed_without_network_is_kept_and_counts_once(
        self, at_the_bars: Page, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        on(page)
        page.context.set_offline(True)
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        expect(page.get_by_text(re.compile(r"Not live since \d\d:\d\d:\d\d"))).to_be_visible()
        expect(page.locator(".bars")).to_have_class(OLD)
        page.context.set_offline(False)

        heading(page).to_contain_text("Step 1 of")
        expect(page.locator(".bars")).not_to_have_class(OLD)
        assert words_of(demo_club).count("TurnOver") == 1

    def test_it_is_refused_and_said_where_something_changed_meanwhile(
        self, at_the_bars: Page, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        on(page)
        page.context.set_offline(True)
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        with demo_club.work() as session:
            piece_id = desk_run.run(session, 1).piece.id
        withdraw(demo_club, piece_id)
        page.context.set_offline(False)

        heading(page).to_contain_text("is out of use")
        expect(page.get_by_role("status").filter(has_text="out of use").first).to_be_visible()
        expect(page.get_by_text(NOT_THROUGH)).to_have_count(0)
        assert "TurnOver" not in words_of(demo_club)

    def test_a_check_never_counts_late(self, at_the_bars: Page, demo_club: DemoClub) -> None:
        """Pressed in touch, and the desk hears of it only much later."""
        page = at_the_bars
        page.clock.install()
        page.reload()
        page.clock.run_for(2000)
        # In touch by then: out of it a check cannot be pressed at all.
        expect(page.get_by_role("button", name="Checked alone")).to_be_enabled()
        page.context.set_offline(True)
        page.get_by_role("button", name="Checked alone").click()
        expect(page.get_by_text(NOT_THROUGH)).to_have_count(1)
        kept = page.evaluate("Object.entries(localStorage)[0]")
        page.evaluate(
            "([name, one]) => localStorage.setItem(name, JSON.stringify("
            "{...JSON.parse(one), pressed: String(JSON.parse(one).pressed - 60000)}))",
            kept,
        )
        page.context.set_offline(False)
        page.clock.run_for(12_000)

        expect(page.get_by_text("does not count")).to_be_visible()
        heading(page).to_contain_text("Check before")
        assert "Rechecked" not in words_of(demo_club)

    def test_what_is_ticked_and_typed_stays_till_it_counts_and_goes_with_the_kept_press(
        self, at_the_bars: Page, demo_club: DemoClub
    ) -> None:
        """While others change the page, when it was not ticked, and where a press is not heard."""
        page = at_the_bars
        by_another = page.get_by_role("button", name="Checked by a second person")
        page.get_by_label("Who checked").fill("Signe Moe")
        by_another.click()
        expect(page.get_by_text("A coach makes it under Checks, or you tick")).to_be_visible()
        page.get_by_label(ON_PAPER).check()
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, 1)
            presses.confirm(session, now, Press("hands", 2, now.number))
        expect(page.get_by_role("button", name="Go on with one person")).to_be_visible()
        expect(page.get_by_label(ON_PAPER)).to_be_checked()
        page.route("**/confirm", lambda route: route.abort())
        by_another.click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        page.unroute_all()

        heading(page).to_contain_text("is on")
        with demo_club.work() as session:
            checked = desk_run.run(session, 1).events[-1].what
        assert isinstance(checked, Rechecked)
        assert (checked.second, checked.before_use_on_paper) == ("Signe Moe", True)

    def test_a_check_cannot_be_pressed_where_nobody_hears_of_it(self, at_the_bars: Page) -> None:
        page = at_the_bars
        page.evaluate("navigator.serviceWorker.ready.then(() => null)")  # it is fetched once
        page.context.set_offline(True)

        expect(page.get_by_text("A check counts only while this page is live")).to_be_visible()
        expect(page.get_by_role("button", name="Checked alone")).to_be_disabled()

    def test_a_clock_that_is_put_back_makes_nothing_young_and_loses_nothing(
        self, at_the_bars: Page, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        page.add_init_script(CLOCK_PUT_BACK)
        page.reload()
        on(page)
        page.context.set_offline(True)
        page.evaluate("window.putBackMs = 24 * 3600 * 1000")
        page.get_by_role("button", name="The turn is over").click()
        expect(page.locator(".bars")).to_have_class(OLD)
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        page.context.set_offline(False)

        heading(page).to_contain_text("Step 1 of")
        assert words_of(demo_club).count("TurnOver") == 1

    def test_an_expired_sign_in_loses_nothing(
        self, at_the_bars: Page, demo_club: DemoClub, app: Flask, address: str, account: Account
    ) -> None:
        page = at_the_bars
        on(page)
        with demo_club.store.installation(writes=True) as session:
            sign_ins.end_older(session, utc_now() + timedelta(hours=1))
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text("Nobody is signed in on this phone any more")).to_be_visible()
        bring_cookie(page.context, app, address, account)
        page.goto(RUN)

        heading(page).to_contain_text("Step 1 of")
        assert words_of(demo_club).count("TurnOver") == 1

    def test_signing_out_asks_while_something_is_kept(self, at_the_bars: Page) -> None:
        page = at_the_bars
        other = page.context.new_page()
        other.goto("/account")
        on(page)
        page.route("**/confirm", lambda route: route.abort())
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        asked: list[str] = []

        def stay(dialog: Dialog) -> None:
            asked.append(dialog.message)
            dialog.dismiss()

        other.on("dialog", stay)
        other.get_by_role("button", name="Sign out").click()

        assert "not sent yet" in asked[0]
        expect(other.get_by_role("button", name="Sign out")).to_be_visible()


class TestTheCopy:
    def test_after_the_first_visit_it_is_whole_dead_and_says_what_is_pending(
        self, at_the_bars: Page, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        on(page)
        wait_for_copy(page)
        page.context.set_offline(True)
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        page.reload()

        expect(page.get_by_text("A copy that this phone kept on")).to_be_visible()
        assert page.locator(".bars .button").first.evaluate(STYLED)
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()  # only the script says it
        expect(page.locator(".bars")).to_have_class(OLD)
        heading(page).to_contain_text("is on")
        page.context.set_offline(False)
        heading(page).to_contain_text("Step 1 of")
        expect(page.get_by_text("A copy that this phone kept on")).to_be_hidden()
        assert words_of(demo_club).count("TurnOver") == 1

    def test_its_buttons_are_dead_until_the_script_lives(self, at_the_bars: Page) -> None:
        page = at_the_bars
        wait_for_copy(page)
        copy = page.evaluate("caches.match(location.pathname).then(one => one.text())")
        page.context.route("**/*", lambda route: route.abort())
        bare = page.context.new_page()
        bare.set_content(re.sub(r"<script.*?</script>|<link[^>]*>", "", copy))

        assert bare.locator("main :is(button, select):enabled").count() == 0
        assert bare.locator("main a[href]").count() == 0
        assert bare.locator("main .button").count() > 4

    def test_a_page_that_was_not_kept_says_that_there_is_none(self, at_the_bars: Page) -> None:
        page = at_the_bars
        wait_for_copy(page)
        page.context.set_offline(True)
        page.goto(f"{RUN}/record")

        heading(page).to_contain_text("no copy of this page")
        page.context.set_offline(False)
        heading(page).to_contain_text("What was confirmed at")

    def test_a_plain_connection_says_so_before_the_network_goes_and_keeps_what_is_confirmed(
        self, open_page: OpenPage, at_the_bars: Page, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        page.add_init_script(NO_WORKERS)
        page.reload()
        expect(page.get_by_text("do not load it again")).to_be_visible()
        on(page)
        page.context.set_offline(True)
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        page.context.set_offline(False)

        heading(page).to_contain_text("Step 1 of")
        assert words_of(demo_club).count("TurnOver") == 1


class TestADeskThatStops:
    @pytest.fixture
    def served(self, demo_club: DemoClub) -> Iterator[ServedDesk]:
        """The demo club's desk in a process of its own: only these tests need one."""
        desk = ServedDesk(demo_club.data.database.parent)
        desk.start()
        yield desk
        desk.kill()

    @pytest.fixture
    def address(self, served: ServedDesk) -> str:
        return served.address

    def test_a_network_that_swallows_everything_is_said_and_questions_do_not_pile_up(
        self, at_the_bars: Page, served: ServedDesk, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        on(page)
        waiting: set[Request] = set()
        most: list[int] = []

        def sent(request: Request) -> None:
            waiting.add(request)
            most.append(len(waiting))

        page.on("request", sent)
        page.on("requestfailed", lambda request: waiting.discard(request))
        page.on("requestfinished", lambda request: waiting.discard(request))
        served.freeze()
        expect(page.locator("[data-lost]")).to_contain_text("Not live since")
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        served.thaw()

        heading(page).to_contain_text("Step 1 of")
        assert max(most) <= 2
        assert words_of(demo_club).count("TurnOver") == 1

    def test_a_desk_that_is_killed_and_started_again_loses_nothing(
        self, at_the_bars: Page, served: ServedDesk, demo_club: DemoClub
    ) -> None:
        page = at_the_bars
        on(page)
        served.kill()
        page.get_by_role("button", name="The turn is over").click()
        expect(page.get_by_text(NOT_THROUGH)).to_be_visible()
        served.start()

        heading(page).to_contain_text("Step 1 of")
        assert words_of(demo_club).count("TurnOver") == 1
