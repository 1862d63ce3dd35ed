"""At the bars: the demo's rotation carried out page by page."""

import re
from datetime import date

import pytest

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import learned_times, run_list
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.changeover.happenings import StepDone
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.checks.findings import Step
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub
from tests.desk.sample_meet import hold
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words
from tests.web.rotations.making import TONIGHT
from tests.web.walked import walked

RUN, CONFIRM = "/bars/1", "/bars/1/confirm"


@pytest.fixture
def begun(demo_pages: Reader) -> Page:
    """The demo's rotation at the bars, checked; its first athlete needs nothing moved."""

    def walk(pages: Reader) -> Page:
        page = pages.get(TONIGHT).send("Take it to the bars")
        return page.send("Checked by a second person", checker="Signe Moe", on_paper="1")

    return walked(demo_pages, "a checked run", walk)


READ_OFF = {"low_rail": "3", "high_rail": "4", "spread": "150"}
"""The marks at which the apparatus was found."""


def set_next(page: Page, **ticked: str) -> Page:
    """Through the change-over and its check, until the next athlete is on."""
    if "Set for" in page.heading:
        page = page.send("All steps are done")
    return page.send("Checked alone", **ticked) if "Check before" in page.heading else page


def post(page: Page, address: str, **values: object) -> Page:
    """What a page that was open for long, or no page of ours, could send."""
    token = next(box for box in page.tree.iter("input") if box.get("name") == "csrf_token")
    return page.reader.post(address, {"csrf_token": token.get("value"), **values})


def done(page: Page) -> Page:
    """The step that is to be done now, confirmed."""
    buttons = [words(button) for button in page.tree.iter("button")]
    return page.send(next(said for said in buttons if said.startswith("Done")))


def over(page: Page, turns: int) -> Page:
    """So many turns later."""
    for _ in range(turns):
        page = set_next(page).send("The turn is over")
    return page


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


def set_to_check(begun: Page) -> Page:
    """The second athlete's marks are set, and to be checked."""
    return begun.send("The turn is over").send("All steps are done")


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


class TestTakingBack:
    def test_a_slip_is_taken_back_and_stays_on_record(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        page = begun.send("The turn is over").send("Undo “turn over”")

        assert page.heading == "Jagna B. is on"
        assert "Undone: number 3" in demo_pages.get(f"{RUN}/record").text

    def test_what_was_taken_back_meanwhile_is_not_taken_back_again(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        page = over(begun, 1)
        page.send("Undo “turn over”")
        again = post(page, CONFIRM, seen=4, do="back.3")

        assert "Only the last confirmation can be undone" in again.banners[0]


class TestSomethingIsDifferent:
    def test_who_is_not_here_waits_and_the_rest_is_ordered_anew(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        page = over(begun, 1)
        with demo_club.work() as session:
            view = desk_run.run(session, 1)
            absent = view.name_of(view.run.turns[3])
        numbers = {view.name_of(turn): place for place, turn in enumerate(view.run.turns, start=2)}
        page = page.send(f"Not here {absent}")
        [listed] = [one for one in page.having("class", "turns") if one.tag == "ol"]
        moved = [words(one) for one in listed.iter("li") if "(was number" in words(one)]
        was = {name: f"(was number {number})" for name, number in numbers.items()}
        assert moved
        for line in moved:
            assert any(line.startswith(name) and was[name] in line for name in was), (line, was)

        assert page.banners == ["The rest was re-planned from the present marks."]
        assert "of 11" in page.text
        page = page.send(f"Is here now {absent}")
        assert "of 12" in page.text

    def test_the_rest_takes_no_longer_than_the_order_it_replaces(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        over(begun, 4).send("Re-plan the rest from what stands there now")

        with demo_club.work() as session:
            before = desk_run.run(session, 1).run
        assert sorted(turn.athlete_id for turn in before.order_before) == sorted(
            turn.athlete_id for turn in before.turns
        )

    def test_found_at_other_marks_the_rest_begins_there(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        page = over(begun, 1).follow("The marks are different")
        assert [page.value(axis) for axis in READ_OFF] == ["", "", ""], "nothing suggests itself"
        page = page.send("Re-plan the rest from these marks", **READ_OFF)

        with demo_club.work() as session:
            view = desk_run.run(session, 1)
        assert view.run.stands is not None
        assert view.piece.setup == view.run.stands
        assert view.run.model.marks(view.run.stands)["low_rail"] == "3"
        assert page.heading.startswith("Step 1 of")
        assert "The present marks are recorded. Go on from there; check before" in page.text

    def test_a_mark_that_is_not_printed_is_refused_beside_its_field(self, begun: Page) -> None:
        page = begun.follow("The marks are different")
        page = page.send("Re-plan the rest from these marks", low_rail="99")

        assert page.status == 400
        assert "Low rail height" in page.mistakes[0]

    def test_marks_read_off_while_somebody_was_faster_are_sent_once_more(
        self, begun: Page, demo_pages: Reader
    ) -> None:
        """What was typed is not lost, and the second press knows of what came between."""
        page = begun.follow("The marks are different")
        demo_pages.get(RUN).send("The turn is over")
        told = page.send("Re-plan the rest from these marks", **READ_OFF)

        assert "confirmed something after" in told.mistakes[0]
        assert told.value("low_rail") == "3"
        assert told.send("Re-plan the rest from these marks").heading.startswith("Step 1 of")

    def test_an_athlete_is_added(self, begun: Page, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            listed = {turn.athlete_id for turn in view.run.turns}
            new = next(one for one in athletes.find(session) if one.id not in listed)
            kind, model_id = view.piece.model.kind, view.piece.model_id
            wanted = {
                axis: Wanted(round(mm))
                for axis, mm in view.piece.model.measures_mm(view.run.turns[0].setup).items()
            }
            settings.keep_setting(session, new.id, model_id, Setting(kind, wanted))
        page = begun.follow("Add an athlete")
        page = page.send("Add them and re-plan the rest", who=[str(new.id)])

        assert "of 13" in page.text
        assert new.printed_name in page.text

    def test_a_turn_is_repeated(self, begun: Page) -> None:
        page = begun.send("Same athlete again")

        assert page.heading == "Jagna B. is on"
        assert "turn 2 of 13" in page.text

    def test_another_crew_shares_the_steps(self, begun: Page) -> None:
        page = over(begun, 2).send("Go on with two people")

        assert "Person 1" in page.text
        assert "Person 2" in page.text

    def test_a_changed_setting_is_said_and_taken_over(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            last = view.run.turns[-1]
            kind, model_id = view.piece.model.kind, view.piece.model_id
            other = tuple(stop - 1 for stop in last.setup)
            wanted = {a: Wanted(round(mm)) for a, mm in view.piece.model.measures_mm(other).items()}
            settings.keep_setting(session, last.athlete_id, model_id, Setting(kind, wanted))
        page = demo_pages.get(RUN)
        assert "other marks are wanted now" in page.text
        page = page.send("Re-plan the rest with the new settings")
        assert "other marks are wanted now" not in page.text

    def test_whoever_is_being_set_for_gets_the_new_marks_too(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Another order leaves the turn first that something was done for, at its old marks."""
        done(over(begun, 2))
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            first, model = view.run.turns[0], view.piece.model
            higher = setting_of_setup(model, [stop + 1 for stop in first.setup])
            settings.keep_setting(session, first.athlete_id, view.piece.model_id, higher)
        page = demo_pages.get(RUN)
        page = page.send("Re-plan the rest with the new settings")
        assert "other marks are wanted now" in page.text
        page = page.send("Take the new marks")

        assert "other marks are wanted now" not in page.text
        with demo_club.work() as session:
            after = desk_run.run(session, 1).run.turns[0]
        assert after.athlete_id == first.athlete_id
        assert after.setup == tuple(stop + 1 for stop in first.setup)

    def test_before_the_steps_it_says_once_who_is_set_for_by_old_marks(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Whoever reads from the top would else go on setting the marks that count no more."""
        over(begun, 2)
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            first, model = view.run.turns[0], view.piece.model
            desk_run.join(session, desk_run.loaded(session, 1), view.number, [first.athlete_id])
            higher = setting_of_setup(model, [stop + 1 for stop in first.setup])
            settings.keep_setting(session, first.athlete_id, view.piece.model_id, higher)
        page = demo_pages.get(RUN)
        name = view.name_of(first)

        assert page.heading.startswith("Step 1 of")
        assert page.text.index(f"{name}: other marks are wanted now") < page.text.index("Done")
        assert f"{name}, {name}" not in page.text
        assert f"Set nothing more for {name}" in page.text

    def test_at_the_check_they_are_what_to_press_and_no_check_is_offered(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nobody goes up at the marks of before, though they were set."""
        set_to_check(begun)
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            first, model = view.run.turns[0], view.piece.model
            higher = setting_of_setup(model, [stop + 1 for stop in first.setup or ()])
            settings.keep_setting(session, first.athlete_id, view.piece.model_id, higher)
        page = demo_pages.get(RUN)
        buttons = [words(button) for button in page.tree.iter("button")]
        assert not [said for said in buttons if "heck" in said.replace("Undo the check", "")]
        main = [words(one) for one in page.having("class", "main") if one.tag == "button"]
        assert main == ["Take the new marks"]

        refused = post(page, CONFIRM, seen=view.number, do="alone", told="1")
        assert "take the new marks first, then set them and check again" in refused.banners[0]
        page = refused.send("Take the new marks")
        assert page.heading.startswith("Step 1 of")
        assert set_next(page).heading == f"{view.name_of(first)} is on"

    def test_one_hole_up_for_who_is_on_is_entered_from_there_and_set_before_the_next_try(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Box and button go by what the press does: the turn that is on is as it was set."""
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            on, model = view.run.turns[0], view.piece.model
            assert view.run.stage is Stage.ON
            higher = setting_of_setup(model, [stop + 1 for stop in on.setup or ()])
            settings.keep_setting(session, on.athlete_id, view.piece.model_id, higher)
        name = view.name_of(on)
        page = demo_pages.get(RUN)
        assert page.follow(f"{name} wants other marks").heading.startswith("Setting")
        assert "This turn goes on as it is." in page.text
        assert "Take the new marks" not in page.text
        page = page.send("Same athlete again")

        assert page.heading.startswith("Step 1 of")
        assert f"Set for {name}" in page.heading
        assert "Other marks for" not in page.text
        assert page.send("Undo “same athlete again”").heading == f"{name} is on"

    def test_in_a_meets_order_the_new_marks_are_taken_and_nobody_is_moved(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            run_id = desk_run.begin(session, held.rotation_id, held.apparatus_id)
            turns = desk_run.run(session, run_id).run.turns
            piece = apparatus.piece(session, held.apparatus_id)
            wanted = {
                axis.key: Wanted(mm, 10)
                for axis, mm in zip(piece.model.kind.axes, (1600, 2400, 1600), strict=True)
            }
            setting = Setting(piece.model.kind, wanted)
            settings.keep_setting(session, turns[2].athlete_id, piece.model_id, setting)
        page = demo_pages.get(f"/bars/{run_id}")
        assert "Noor H.: other marks are wanted now" in page.text

        page = page.send("Take the new marks")
        assert "other marks are wanted now" not in page.text
        with demo_club.work() as session:
            after = desk_run.run(session, run_id).run.turns
        assert [turn.athlete_id for turn in after] == [turn.athlete_id for turn in turns]
        assert after[:2] == turns[:2]
        assert after[2].setup != turns[2].setup

    def test_another_record_of_what_stands_there_holds_everything_until_it_is_read_off(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_run.run(session, 1)
            apparatus.record_setup(session, view.piece.id, (0, 0, 0), "read off")

        page = demo_pages.get(RUN)
        assert page.heading == "Read the present marks"
        assert "The turn is over" not in page.text
        held = post(begun, CONFIRM, seen=2, do="over")
        assert "first: its present marks" in held.banners[0]
        page = page.follow("Enter present marks").send(
            "Re-plan the rest from these marks", low_rail="1", high_rail="1", spread="130"
        )
        assert page.heading.startswith("Step 1 of")
        assert "Set for Jagna B." in page.heading


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


class TestWhatCannotGoOn:
    def test_another_rotation_does_not_begin_on_an_apparatus_in_use(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece_id = desk_run.run(session, 1).piece.id
            ids = [one.id for one in desk_rotation.rotation(session, 1).listed[:3]]
            view = desk_rotation.add_rotation(session, "Second", date(2026, 3, 3), piece_id, ids)
            desk_rotation.order_anew(session, view.id)
        page = post(begun, "/bars/begin", rotation=view.id, apparatus=piece_id)

        assert page.status == 409
        assert "is under way on" in page.text
        assert page.follow("Open the run of Tonight, bars, girls 1").address == "/bars/1"

    @pytest.mark.parametrize(
        "sent",
        [
            {"seen": "2", "do": "step.5"},
            {"seen": "2", "do": "step.abc"},
            {"seen": "2", "do": "steps"},
            {"seen": "2", "do": "second"},
            {"seen": "2", "do": "not_here.9999"},
            {"seen": "2", "do": "here.1"},
            {"seen": "2", "do": "back.1"},
            {"seen": "2", "do": "ended"},
            {"seen": "2"},
            {"seen": "77", "do": "over"},
            {"do": "over"},
        ],
    )
    def test_what_is_not_to_be_done_now_is_said_and_not_kept(
        self, begun: Page, demo_pages: Reader, sent: dict[str, str]
    ) -> None:
        before = demo_pages.client.get(f"{RUN}/latest").json["state"]
        page = post(begun, CONFIRM, **sent)

        assert page.status == 200
        assert len(page.banners) == 1
        assert demo_pages.client.get(f"{RUN}/latest").json["state"] == before

    def test_hands_that_are_no_crew_are_refused(self, begun: Page, demo_pages: Reader) -> None:
        assert "A crew is of 1, 2 or 4" in post(begun, CONFIRM, seen=2, do="hands.3").text

    def test_an_ended_run_is_not_gone_on_with(self, begun: Page, demo_pages: Reader) -> None:
        begun.follow("End this run").send("End the run")
        page = post(begun, CONFIRM, seen=3, do="over")

        assert "This run has ended" in page.banners[0]

    def test_withdrawn_a_second_ago_it_is_halted_and_says_why(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        """Somebody else reported a fault while this page was open."""
        with demo_club.work(writes=True) as session:
            piece_id = desk_run.run(session, 1).piece.id
            findings.add_finding(session, piece_id, "A cable frays", withdraws=True, press_key="p")
        page = begun.send("The turn is over")

        assert page.heading == "Bars by the window is out of use"
        assert "A cable frays" in page.text
        assert [words(one) for one in page.tree.iter("button")] == []

    def test_released_again_the_marks_are_read_off_and_all_is_set_and_checked_anew(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Whoever repaired it may have moved and tensioned what they liked."""
        with demo_club.work(writes=True) as session:
            piece_id = desk_run.run(session, 1).piece.id
            found = findings.add_finding(
                session, piece_id, "A cable frays", withdraws=True, press_key="p"
            )
            findings.take_step(session, found.id, Step.RELEASED, "new cable, tried")
        page = demo_pages.get(RUN)
        assert page.heading == "Read the present marks"
        page = page.follow("Enter present marks")
        page = page.send("Re-plan the rest from these marks", **READ_OFF)

        assert page.heading.startswith("Step 1 of")
        assert "Slacken the tensioners" in page.text

    def test_a_number_that_no_row_can_have_is_no_page(self, begun: Page) -> None:
        assert post(begun, "/bars/begin", rotation=10**25, apparatus=10**25).status == 404

    def test_a_run_of_another_club_is_not_there(self, begun: Page, demo_pages: Reader) -> None:
        assert demo_pages.get("/bars/999").status == 404


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
