"""Several people at one apparatus: each with a phone, and the coach beside them."""

from playwright.sync_api import expect

from settingsdesk.desk.meets import entries
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad.athletes import Person
from tests.browser.at_station import Phone, begin, confirm, heading, set_and_check
from tests.browser.conftest import OpenPage
from tests.browser.pressing import press
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, set_anew


class TestTwoPeopleTwoSteps:
    def test_pressed_in_the_same_moment_both_count(self, phone: Phone, demo_club: DemoClub) -> None:
        """One at each side of the bars: neither waits for the other, nobody does it twice."""
        ivo = phone("Ivo")
        begin(ivo)
        set_and_check(ivo, "Almira O.")
        confirm(ivo, "The turn is over")
        ana = phone("Ana")
        done = ana.get_by_role("button", name="Done with")
        expect(done).to_have_count(2)
        ana.route("**/latest*", lambda route: route.abort())
        confirm(ivo, "Done with")
        heading(ivo).to_contain_text("Step 2 of")
        done.nth(1).click()
        heading(ana).to_contain_text("Step 3 of")

        expect(ana.get_by_text("Something was confirmed")).to_have_count(0)
        with demo_club.work() as session:
            now = desk_run.run(session, 1)
        assert now.run.done == {0, 1}
        assert [event.by for event in now.events[-2:]] == ["Ivo (station)", "Ana (station)"]

    def test_the_second_check_is_asked_for_on_the_other_phone(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        ivo = phone("Ivo")
        begin(ivo)
        set_and_check(ivo, "Almira O.")
        confirm(ivo, "The turn is over")
        ana = phone("Ana")
        confirm(ivo, "All steps are done")
        for words in ("Checked by a second person", "Checked alone"):
            expect(ivo.get_by_role("button", name=words)).to_be_visible()
        expect(ivo.get_by_text("Ana: look at it yourself")).to_be_visible()
        heading(ana).to_contain_text("Check before")
        expect(ana.get_by_text("Ivo (station) set it")).to_be_visible()
        confirm(ana, "Checked by a second person")

        heading(ivo).to_contain_text("is on")
        with demo_club.work() as session:
            run = desk_run.run(session, 1).run
        assert (run.set_by, run.checked_by, run.alone) == ("Ivo (station)", "Ana (station)", False)


class TestEndedByMistake:
    def test_the_coach_takes_it_up_again_and_the_phone_goes_on(
        self, phone: Phone, open_page: OpenPage, held: SmallMeet
    ) -> None:
        """After one turn of three somebody pressed End, and said yes."""
        ivo = phone("Ivo")
        begin(ivo)
        set_and_check(ivo, "Almira O.")
        confirm(ivo, "The turn is over")
        ivo.get_by_text("Something is different").click()
        press(ivo.get_by_role("link", name="End this rotation"))
        press(ivo.get_by_role("button", name="End the rotation"))
        heading(ivo).to_contain_text("was ended")
        expect(ivo.get_by_text("Next:")).to_have_count(0)

        coach = open_page(f"/start-orders/{held.rotation_id}")
        expect(coach.get_by_text("Ended: 1 of 3 turns")).to_be_visible()
        expect(coach.get_by_text("Ended by Ivo (station)")).to_be_visible()
        press(coach.get_by_role("button", name="Take it up again where it ended"))

        heading(ivo).to_contain_text("Set for Sunniva B.")
        confirm(ivo, "All steps are done")
        confirm(ivo, "Checked alone")
        heading(ivo).to_contain_text("Sunniva B. is on")


class TestALeanThatTheCoachMeasures:
    def test_changes_what_is_tensioned_first_on_every_phone(
        self, phone: Phone, open_page: OpenPage
    ) -> None:
        """Pulled on the wrong side first, it would lean more."""
        ivo = phone("Ivo")
        begin(ivo)
        set_and_check(ivo, "Almira O.")
        confirm(ivo, "The turn is over")
        coach = open_page("/bars/1")
        press(coach.get_by_role("link", name="Is the frame square?"))
        for box, typed in {"Offset of the": "1.2", "Height over": "200"}.items():
            coach.get_by_label(box).fill(typed)
        coach.get_by_label("The HIGH-rail side").check()
        press(coach.get_by_role("button", name="Work out the plumb line"))
        confirm(ivo, "Done with")
        press(coach.get_by_role("button", name="Tension the LOW-rail side first"))
        for page in (ivo, coach):
            expect(page.get_by_text("Tension the LOW-rail side first.")).to_be_visible()
            steps = page.locator(".steps li").filter(has_text="about half")
            expect(steps.first).to_contain_text("Tension LOW-rail side")


class TestSomebodyWithoutASetting:
    def test_is_passed_over_on_one_phone_and_given_marks_on_the_other(
        self, phone: Phone, open_page: OpenPage, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A rotation does not wait for one athlete whose setting nobody entered.

        The next has the same printed name: their start numbers tell them apart.
        """
        without, namesake = "Almira O., no. 9", "Almira O., no. 11"
        with demo_club.work(writes=True) as session:
            person = Person("Oldenburg", "Almira")
            guest = entries.enter_guest(session, held.meet_id, person, "Wexlow Turners", "9")
            ids = [guest.member.id, held.guests[0].member.id]
            set_anew(session, held.rotation_id, ids)
        ivo = phone("Ivo")
        begin(ivo)
        coach = open_page("/bars/1")
        for page in (ivo, coach):
            heading(page).to_contain_text(f"No setting for {without}")

        confirm(ivo, f"Pass {without} over for now")
        heading(coach).to_contain_text(namesake)
        set_and_check(ivo, namesake)
        confirm(ivo, "The turn is over")
        heading(coach).to_contain_text(f"No setting for {without}")
        press(coach.get_by_role("link", name="Enter the setting"))
        for axis in ("Low rail height", "High rail height", "Rail spread"):
            coach.get_by_role("group", name=axis).get_by_label("Mark").fill(
                "150" if "spread" in axis else "3"
            )
        press(coach.get_by_role("button", name="Check, then save"))
        press(coach.get_by_role("button", name="Save this setting"))
        expect(ivo.get_by_text(f"A setting for {without} is entered now.")).to_be_visible()
        coach.get_by_role("button", name="Take the new marks").click()
        for page in (ivo, coach):
            heading(page).to_contain_text(f"Set for {without}")
