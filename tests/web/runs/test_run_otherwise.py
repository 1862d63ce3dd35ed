"""At the bars: what goes otherwise than the rotation was ordered, and what cannot go on."""

from datetime import date

import pytest

from settingsdesk.desk.checks import findings
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import late as desk_late
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.base.figures import minutes_alone
from settingsdesk.domain.changeover.run import Stage
from settingsdesk.domain.checks.findings import Step
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub
from tests.desk.sample_meet import hold
from tests.web.pages import Page, Reader, words
from tests.web.runs.at_the_bars import (
    CONFIRM,
    READ_OFF,
    RUN,
    done,
    over,
    post,
    set_next,
    set_to_check,
)


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
    def test_who_is_not_here_waits_and_the_rest_is_ordered_anew_where_that_is_chosen(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        page = over(begun, 1)
        with demo_club.work() as session:
            view = desk_run.run(session, 1)
            absent = view.name_of(view.run.turns[3])
        numbers = {view.name_of(turn): place for place, turn in enumerate(view.run.turns, start=2)}
        page = page.follow(f"Not here {absent}").send(f"Re-plan the rest without {absent}")
        [listed] = [one for one in page.having("class", "turns") if one.tag == "ol"]
        moved = [words(one) for one in listed.iter("li") if "(was number" in words(one)]
        was = {name: f"(was number {number})" for name, number in numbers.items()}
        assert moved
        for line in moved:
            assert any(line.startswith(name) and was[name] in line for name in was), (line, was)

        assert page.banners == ["The rest was re-planned from the present marks."]
        assert "of 11" in page.text
        page = page.follow(f"Is here now {absent}").send(f"Re-plan the rest with {absent}")
        assert "of 12" in page.text
        page = page.send("Undo “is here after all”").send("Undo “is not here”")
        with demo_club.work() as session:
            assert desk_run.run(session, 1).run.turns == view.run.turns

    def test_who_is_late_goes_later_and_the_order_stays(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        """The coach sees what each way costs; whoever has just gone up stays on."""
        page = over(begun, 1)
        with demo_club.work() as session:
            run = desk_run.run(session, 1).run
            late, following, third, fourth, *_ = run.turns
            ways = desk_late.late(desk_run.run(session, 1), late.athlete_id)
        more_s = ways.places[len(run.turns) - 1].seconds - ways.as_it_is.seconds
        name = ways.name
        asked = page.follow(f"{name} is not here")
        assert f"{minutes_alone(more_s)} more. Nothing else changes." in asked.text
        button = next(
            words(one) for one in asked.tree.iter("button") if words(one).endswith(f"{name} last")
        )
        page = asked.send(button)
        with demo_club.work() as session:
            assert desk_run.run(session, 1).run.turns == (*run.turns[1:], late)
        twice = asked.send(f"Put {name} there", after="2")
        assert "confirmed something after you last saw this page" in twice.banners[0]
        page = page.reader.get(RUN).send("Undo the last change of the order or the marks")
        page = page.follow(f"{name} is not here").send(f"Put {name} there", after="2")
        with demo_club.work() as session:
            there = desk_run.run(session, 1).run.turns
        assert there[:4] == (following, third, late, fourth)
        gone = page.reader.get(f"{RUN}/late/9999")
        assert "no turn to come" in gone.banners[0]

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
        page = page.send("Undo “add an athlete”")
        assert "of 12" in page.text
        with demo_club.work() as session:
            assert desk_run.run(session, 1).run.turns == view.run.turns

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
        [to_come] = [one for one in page.having("class", "turns") if one.tag == "ol"]
        assert ["Old marks" in words(turn) for turn in to_come].count(True) == 1
        assert "Old marks" in words(to_come[-1])
        page = page.send("Re-plan the rest with the new settings")
        assert "other marks are wanted now" not in page.text
        assert "Old marks" not in page.text

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
