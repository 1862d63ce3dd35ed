"""At the bars: the demo's rotation carried out page by page."""

import re

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import learned_times, run_list
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.domain.changeover.happenings import StepDone
from tests.conftest import DemoClub
from tests.desk.sample_meet import hold
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader
from tests.web.rotations.making import TONIGHT
from tests.web.runs.at_the_bars import RUN, done, over, post, set_next, set_to_check


class TestOneTurnAfterTheOther:
    def test_who_needs_nothing_moved_is_on_at_once(self, begun: Page) -> None:
        assert begun.heading == "Jagna B. is on"
        assert "Next: " in begun.text
        assert "This is turn 1 of 12" in begun.text

    def test_a_step_says_what_from_where_to_where_and_how_far(self, begun: Page) -> None:
        page = over(begun, 2)

        assert page.heading == "Step 1 of 13: Set for Tuva F."
        assert "Slacken the tensioners a little" in page.text
        page = done(page)
        assert page.heading.startswith("Step 2 of 13")
        assert "LOW rail height, front end from 5 → to 6 Up 1 hole, 5.0 cm" in page.text

    def test_all_steps_can_be_confirmed_at_once_and_then_comes_the_check(self, begun: Page) -> None:
        page = over(begun, 2).send("All steps are done")

        assert page.heading == "Check before Tuva F. goes up"
        assert (
            page.send("Checked by a second person", checker="Signe Moe").heading == "Tuva F. is on"
        )

    def test_it_goes_to_its_end_and_what_stands_there_is_on_record(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = over(begun, 12)

        assert page.heading == "All turns done"
        with demo_club.work() as session:
            view = desk_run.run(session, 1)
            piece = apparatus.piece(session, view.piece.id)
            assert piece.setup == view.run.over[-1].turn.setup
            assert run_list.under_way(session) == []
        record = demo_pages.get(f"{RUN}/record").text
        assert "Checked alone, says" in record
        assert "The turn is over" in record

    def test_beginning_twice_goes_on_with_the_same_run(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        over(begun, 1)
        demo_pages.get(TONIGHT)
        with demo_club.work() as session:
            piece_id = desk_run.run(session, 1).piece.id
        again = post(begun, "/bars/begin", rotation=1, apparatus=piece_id)

        assert "turn 2 of 12" in again.text

    def test_the_operation_times_become_known(self, begun: Page, demo_club: DemoClub) -> None:
        over(begun, 12)

        with demo_club.work() as session:
            model_id = desk_run.run(session, 1).piece.model_id
            timed = learned_times.timed_change_overs(session, model_id)
            had = desk_run.run(session, 1).run.over
        assert len(timed) == sum(one.planned_s > 0 for one in had)


class TestTheCheck:
    def test_it_names_what_was_moved_and_is_short_where_nothing_was(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        """A coach alone, for the twelfth time this evening, looks at what is different."""
        page = over(begun, 2).send("All steps are done")

        assert "These were moved. Put your hand on each" in page.text
        assert "both ends: lock closed, pulled" in page.text
        page.send("Checked alone")
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, 1)
            desk_run.read_off(session, now, now.number, now.run.stands or ())
        again = page.reader.get(RUN)
        assert again.heading.startswith("Check before")
        assert "Nothing was moved since the last check" in again.text
        assert "lock closed, pulled" not in again.text

    def test_it_begins_with_the_marks_and_what_a_tape_finds_there(self, begun: Page) -> None:
        """The answers are in sight from the first: what is checked must be, too."""
        text = set_to_check(begun).text
        assert "by tape" in text
        assert text.index("by tape") < text.index("These were moved")
        assert text.index("by tape") < text.index("Checked by a second person")

    def test_which_end_and_which_side_is_which_is_said_there(self, begun: Page) -> None:
        """A volunteer who reads "HIGH-rail side, tensioner 2" stands there the first time."""
        text = set_to_check(begun).text
        assert "At the front end, looking along the rails: LOW rail left." in text
        assert "Tensioner 1 is nearest." in text


class TestTwoPeople:
    def test_who_is_slower_is_told_and_nothing_is_confirmed_twice(
        self, begun: Page, demo_app, demo_club: DemoClub
    ) -> None:
        """Both saw the same step; one of them was faster."""
        page = over(begun, 2)
        other = signed_in(demo_app, demo_club.account).get(RUN)
        done(page)
        late = other.send("All steps are done")

        assert "Runa Calloway confirmed something" in late.banners[0]
        assert late.heading.startswith("Step 2 of 13")

    def test_a_second_press_changes_nothing(self, begun: Page) -> None:
        page = over(begun, 2)
        done(page)
        again = done(page)

        assert again.banners == []
        assert again.heading.startswith("Step 2 of 13")

    def test_others_can_ask_whether_something_was_confirmed(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        before = demo_pages.client.get(f"{RUN}/latest").json["state"]
        assert demo_pages.client.get(f"{RUN}/latest").json["state"] == before
        begun.send("The turn is over")
        assert demo_pages.client.get(f"{RUN}/latest").json["state"] != before


class TestTheState:
    """Asked for each second: whatever makes an open page untrue makes it another one."""

    def state(self, reader: Reader) -> str:
        return reader.client.get(f"{RUN}/latest").json["state"]

    def test_a_check_that_was_made_on_another_phone_changes_it(self, demo_pages: Reader) -> None:
        """Else the page goes on to send its coach to a check that was just made."""
        page = demo_pages.get(TONIGHT).send("Take it to the bars")
        before = self.state(demo_pages)
        assert "First the check before use" in page.text
        check = page.follow("Make the check before use")
        check.send("Finish the check").send("Finish the check", rest="y")

        assert self.state(demo_pages) != before
        assert "The check before use was made today" in demo_pages.get(RUN).text


class TestTheCheckBeforeUse:
    """Nobody goes up before it, so it is asked for before anything else is done."""

    TICK = "The check before use of Bars by the window was made on paper"

    @pytest.fixture
    def to_set(self, demo_pages: Reader, demo_club: DemoClub) -> Page:
        """The first turn of all, for which the apparatus has to be set."""
        with demo_club.work(writes=True) as session:
            (piece_id,) = desk_rotation.rotation(session, 1).pieces
            apparatus.record_setup(session, piece_id, (0, 0, 0), "read off")
            desk_rotation.order_anew(session, 1)
        return demo_pages.get(TONIGHT).send("Take it to the bars")

    def test_it_stands_before_the_first_step_and_leads_back_to_the_run(self, to_set: Page) -> None:
        first, step = to_set.text.index("First the check before use"), to_set.text.index("Done")
        assert to_set.heading.startswith("Step 1 of")
        assert first < step

        check = to_set.follow("Make the check before use")
        assert check.links["Back to the run"] == RUN
        saved = check.send("Finish the check").send("Finish the check", rest="y")
        back = saved.follow("Back to the run")
        assert back.address == RUN
        assert "First the check before use" not in back.text

    def test_nobody_goes_up_before_it_and_made_in_the_desk_nothing_is_ticked(
        self, to_set: Page
    ) -> None:
        page = set_next(to_set)
        assert page.heading.startswith("Check before")
        assert "first comes the check before use of Bars by the window" in page.banners[0]
        assert self.TICK in page.text
        check = page.follow("Make the check before use")
        check.send("Finish the check").send("Finish the check", rest="y")
        page = to_set.reader.get(RUN)
        assert "check before use" not in page.text

        assert set_next(page).heading.endswith("is on")

    @pytest.mark.parametrize("by_name", [True, False])
    def test_made_on_paper_it_is_ticked_once_and_the_record_says_it(
        self, to_set: Page, demo_pages: Reader, by_name: bool
    ) -> None:
        """By whoever confirms the check that lets the first athlete up; nobody is asked again."""
        page = to_set.send("All steps are done")
        button, who = "Checked by a second person", {"checker": "Signe Moe"}
        if not by_name:
            button, who = "Checked alone", {}
        page = page.send(button, on_paper="1", **who)
        assert page.heading.endswith("is on")
        assert "check before use" not in page.text
        page = page.send("The turn is over").send("All steps are done")
        assert page.heading.startswith("Check before")
        assert "check before use" not in page.text
        assert page.send("Checked alone").heading.endswith("is on")

        record = demo_pages.get(f"{RUN}/record").text
        assert re.search(
            r"Check before use: on paper, by Runa Calloway, [^.]+, \d\d:\d\d\.", record
        )
        assert record.count("; check before use: on paper") == 1

    def test_whose_undone_check_said_it_is_asked_again(self, to_set: Page) -> None:
        page = set_next(to_set, on_paper="1").send("Undo the check")
        assert self.TICK in page.text

    def test_no_other_site_is_led_to_after_it(self, to_set: Page) -> None:
        address = to_set.links["Make the check before use"].partition("?")[0]
        check = to_set.reader.get(f"{address}?then=//elsewhere.test")

        assert "Back to the run" not in check.links

    def test_who_was_at_it_before_is_unknown_only_until_it_is_made(
        self, demo_pages: Reader
    ) -> None:
        page = demo_pages.get(TONIGHT).send("Take it to the bars")
        assert (
            "Somebody may have moved it since it was last used. First the check before use"
            in page.text
        )

        check = page.follow("Make the check before use")
        check.send("Finish the check").send("Finish the check", rest="y")
        page = demo_pages.get(RUN)
        assert "The check before use was made today" in page.text
        assert "Somebody may have moved" not in page.text


class TestWhatCameOfIt:
    """Whoever looks at the rotation, the day or the meet is led to the bars, or told what came."""

    def test_under_way_the_rotation_leads_to_the_bars_and_asks_for_no_record(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        """What stands there is no secret: the run has it, and reading it off would stop the run."""
        page = over(begun, 1)
        set_next(page).send("The turn is over")
        middle = demo_pages.get(RUN)
        if "Set for" in middle.heading:
            done(middle)
        rotation = demo_pages.get(TONIGHT)

        assert rotation.links["Under way: to the bars Bars by the window"] == RUN
        assert "Under way: 2 of 12 turns are over" in rotation.text
        assert "This order is out of date" not in rotation.text
        assert not any(said.startswith("Record what stands") for said in rotation.links)
        assert "Under way: 2 of 12 turns" in demo_pages.get("/").text

    def test_ended_early_it_says_whose_turns_were_not_taken_and_is_taken_up_where_it_ended(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        before = set_next(over(begun, 2))
        asked = before.follow("End this run")
        assert "Turns not taken: " in asked.text
        asked.send("End the run")
        rotation = demo_pages.get(TONIGHT)

        assert "Ended: 2 of 12 turns in" in rotation.text
        assert "Turns not taken: " in rotation.text
        page = demo_pages.get(RUN)
        assert page.heading == "This run was ended"
        assert "Next:" not in page.text
        again = rotation.send("Take it up again where it ended on Bars by the window")
        assert again.heading == before.heading.replace(" is on", "").join(
            ("Check before ", " goes up")
        )

    def test_taken_up_after_another_run_was_begun_on_it_the_marks_are_asked_for(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        set_next(over(begun, 2)).follow("End this run").send("End the run")
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            desk_run.end(session, desk_run.begin(session, held.rotation_id, held.apparatus_id))
        page = demo_pages.get(TONIGHT).send("Take it up again where it ended on Bars by the window")

        assert "Nobody has read how Bars by the window stands" in page.text
        assert "Enter present marks" in page.links

    def test_whoever_had_one_turn_of_two_is_named_on_both_pages(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Both pages tell of turns, so nobody who had one turn misses on either of them."""
        with demo_club.work(writes=True) as session:
            now = desk_run.loaded(session, 1)
            first, last = now.run.turns[0].athlete_id, now.run.turns[-1].athlete_id
            desk_run.join(session, now, now.number, [first, last])
        over(demo_pages.get(RUN), 1).follow("End this run").send("End the run")
        page = demo_pages.get(RUN)
        _, _, told = page.text.partition("Turns not taken: ")
        told, _, _ = told.partition(" Back to the rotation")

        with demo_club.work() as session:
            view = desk_run.run(session, 1)
        names = [view.called[number] for number in (first, last)]
        assert told.endswith(f"; {names[0]}")
        assert f"; {names[1]} (2 turns); " in told
        assert f"Turns not taken: {told}" in demo_pages.get(TONIGHT).text

    def test_at_the_end_no_turn_is_left_and_it_is_over_on_every_page(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        page = over(begun, 12)

        assert "Every turn is over" in page.follow("End this run").text
        assert "Next:" not in page.text
        assert "Over: 12 turns in" in demo_pages.get(TONIGHT).text
        assert "Turns not taken" not in demo_pages.get(TONIGHT).text

    def test_a_meets_start_order_under_way_does_not_say_that_it_cannot_be_begun(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            now = desk_run.loaded(session, run_id)
            desk_run.go_on(session, now, now.number, StepDone(now.run.next_steps[0]))
        page = demo_pages.get(f"/start-orders/{held.rotation_id}")

        assert any(said.startswith("Under way: to the bars") for said in page.links)
        assert "cannot be begun" not in page.text
        assert "Under way: 0 of 3 turns" in demo_pages.get(f"/meets/{held.meet_id}").text


def test_after_the_last_turn_it_says_where_the_apparatus_shall_stand(
    demo_pages: Reader, demo_club: DemoClub
) -> None:
    """The next squad finds the marks that the coach asked for."""
    with demo_club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        two = [one.id for one in view.listed[:2]]
        desk_rotation.change_list(session, desk_rotation.rotation(session, 1), two)
        desk_rotation.change_wishes(
            session,
            desk_rotation.rotation(session, 1),
            OrderRequest(finals=((view.piece.id, (0, 1, 2)),)),
        )
        desk_rotation.order_anew(session, 1)
    page = set_next(demo_pages.get(TONIGHT).send("Take it to the bars"), on_paper="1")
    page = over(page, 2)

    assert page.heading == "All turns done"
    assert "Afterwards it has to stand at 1 / 2 / mark 132.0 (by tape" in page.text
    assert "Low rail height, front end: down from" in page.text
