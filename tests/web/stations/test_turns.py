"""A rotation carried out by volunteers' phones, turn after turn, without scripts."""

import re

import pytest
from flask import Flask

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.checks import findings
from settingsdesk.desk.checks.findings import Step
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, mark_photos, mats_of_day
from settingsdesk.desk.hall.photos import read_small_photo
from settingsdesk.desk.meets import entries
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, crew_notes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.web.frame.work import code_key
from settingsdesk.web.runs.happening_words import in_words
from tests.conftest import DemoClub
from tests.desk.checks.pictures import jpeg
from tests.desk.sample_meet import DAY, SmallMeet, grant_raise, set_anew
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words
from tests.web.stations.conftest import Phone, come_in, open_station
from tests.web.stations.pressing import press, set_and_check, turns


class TestTheRotation:
    def test_before_it_begins_the_page_says_where_the_apparatus_stands(self, phone: Phone) -> None:
        page = phone("Ivo")

        assert "3 athletes are on its list. Before it begins, read the marks" in page.text
        assert "High rail height" in page.text

    def test_turn_after_turn_to_the_end_by_one_phone(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        page = begun
        for name in ("Almira O.", "Sunniva B.", "Noor H."):
            page = set_and_check(page)
            assert page.heading == f"{name} is on"
            page = page.send("The turn is over")

        assert page.heading == "All turns done"
        assert "3 turns are over. This station has no further rotation." in page.text
        with demo_club.work() as session:
            view = desk_run.run(session, 1)
        assert {event.by for event in view.events} == {"Ivo (station)"}

    def test_step_by_step_it_says_from_where_to_where(self, begun: Page) -> None:
        page = set_and_check(begun).send("The turn is over")
        done = [words(one) for one in page.tree.iter("button") if words(one).startswith("Done")]
        after = page.send(done[0])

        assert page.heading.startswith("Step 1 of")
        assert after.heading.startswith("Step 2 of")

    def test_who_is_on_and_who_is_next(self, begun: Page) -> None:
        page = set_and_check(begun)

        assert "This is turn 1 of 3. Next: Sunniva B. at" in page.text

    def test_a_note_for_the_crew_and_other_mats_stand_with_the_turn(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Told to the phone that has the page open, too: its state is another one."""
        state = begun.reader.client.get("/station/latest").json["state"]
        with demo_club.work(writes=True) as session:
            [bars] = apparatus.pieces(session, [held.apparatus_id]).values()
            mats_of_day.lie_on(session, bars.id, today(), 100)
            for guest in held.guests:
                crew_notes.write(session, guest.member.id, bars.model_id, "Board on the left")
        assert begun.reader.client.get("/station/latest").json["state"] != state
        page = begun.reader.get("/station/now")
        assert "Board on the left" in page.text
        assert "more mat than usual today" in page.text

    def test_where_a_mark_is_read_is_shown_at_its_step_and_no_other_photo_is(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            for model_id in (1, 3):
                small = read_small_photo(jpeg())
                mark_photos.keep(session, model_id, "spread", "Board on the left", small)
            ours, other = (
                mark_photos.of_model(session, model_id)["spread"].photo_id for model_id in (1, 3)
            )
        page = begun.reader.get("/station/now")
        while not [image for image in page.tree.iter("img") if "mark-photos" in image.get("src")]:
            said = [words(button) for button in page.tree.iter("button")]
            page = page.send(next(one for one in said if one.startswith("Done")))
        client = begun.reader.client
        assert client.get(f"/station/mark-photos/{ours}").mimetype == "image/jpeg"
        assert client.get(f"/station/mark-photos/{other}").status_code == 404

    def test_the_coachs_page_shows_the_same_run(self, begun: Page, demo_pages: Reader) -> None:
        page = set_and_check(begun)

        assert demo_pages.get("/bars/1").heading == page.heading

    def test_somebody_is_not_here_and_comes_after_all(self, begun: Page, held: SmallMeet) -> None:
        page = begun.send("Is not here", who=held.guests[0].member.id)
        assert "Sunniva B." in page.heading
        page = page.send("Almira O. is here after all")

        assert "3" in page.text
        assert [words(one).split(" ")[0] for one in turns(page)] == ["Sunniva", "Noor", "Almira"]

    def test_whoever_is_scratched_after_it_began_is_said_not_to_come(
        self, begun: Page, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """Nobody sets the bars for an athlete whom the desk knows not to come."""
        phone, scratched = begun.reader, "Almira O. was scratched after this rotation began"
        assert "Scratched" not in begun.text
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[1].entry_id)
        of_the_next = phone.get("/station/now")
        assert words(turns(of_the_next)[1]).startswith("Sunniva B. ✕ Scratched")
        assert scratched not in of_the_next.text
        with demo_club.work(writes=True) as session:
            entries.withdraw_entry(session, held.guests[0].entry_id)

        assert scratched in demo_pages.get("/bars/1").text
        page = phone.get("/station/now")
        assert scratched in page.text
        page = page.send("Almira O. is not here").send("Sunniva B. is not here")
        assert "Noor H." in page.heading
        assert "Scratched" not in page.text

    def test_the_jury_says_who_goes_next_and_the_page_says_what_changed(
        self, begun: Page, held: SmallMeet
    ) -> None:
        page = set_and_check(begun)
        page = page.send("Goes next: the jury says so", who=held.guests[2].member.id)

        assert page.heading == "Almira O. is on"
        assert [words(one).split(" ")[0] for one in turns(page)] == ["Noor", "Sunniva"]
        assert "Almira O. is on, and Noor H. after that: the order was changed." in page.text
        assert "(was number 3)" in page.text

    def test_who_is_chosen_by_nobody_is_asked_for_and_a_wrong_choice_is_undone(
        self, begun: Page, held: SmallMeet
    ) -> None:
        page = begun.send("Is not here")
        assert "Choose who it is about first" in page.text
        page = page.send("Goes next: the jury says so", who=held.guests[2].member.id)
        assert "Noor H." in page.heading
        page = page.send("Undo the last change of the order or the marks")
        assert "Almira O." in page.heading
        page = page.send("Is not here", who=held.guests[0].member.id).send("Undo “is not here”")
        assert "Almira O." in page.heading

    def test_the_same_athlete_again_is_said_and_at_other_marks_is_set_first(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        page = set_and_check(begun).send("Same athlete again")
        assert page.heading == "Almira O. is on"
        assert "Almira O. has the turn once more" in page.text
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            higher = setting_of_setup(piece.model, [stop + 1 for stop in piece.setup or ()])
            settings.keep_setting(session, held.guests[0].member.id, piece.model_id, higher)
        page = page.reader.get("/station/now")
        assert "This turn goes on as it is." in page.text
        assert "Take the new marks" not in page.text
        page = page.send("Same athlete again")
        assert page.heading.endswith("Set for Almira O.")
        page = page.send("Undo “same athlete again”")
        page = page.send("Almira O. is down: set the new marks")
        assert page.heading.endswith("Set for Almira O.")

    def test_marks_that_were_changed_are_told_before_they_are_taken(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """A fault can be told of there, too."""
        with demo_club.work(writes=True) as session:
            piece = apparatus.piece(session, held.apparatus_id)
            higher = setting_of_setup(piece.model, [7, 7, 7])
            settings.keep_setting(session, held.guests[0].member.id, piece.model_id, higher)
        page = begun.reader.get("/station/now")
        assert page.heading == "The marks were changed"
        marks = " / ".join(piece.model.marks((7, 7, 7)).values())
        assert f"now {marks} is wanted" in " ".join(page.text.split())
        assert page.follow("Something is wrong with the apparatus").status == 200

    def test_nobody_goes_up_before_the_check_before_use_is_known_to_be_made(
        self, demo_app: Flask, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        """By a coach in the desk, or on paper as a volunteer ticks it, once."""
        page = come_in(Reader(demo_app), open_station(demo_app, demo_club, held), "Ivo")
        page = page.send("Begin rotation 1", of_day=str(DAY))
        assert "Nobody goes up before this check" in page.text
        assert "it is made by somebody with an account" in page.text
        page = page.send("All steps are done").send("Checked alone")
        assert "first comes the check before use of Bars by the window" in page.banners[0]
        assert "A coach makes it under Checks, or you tick" in page.banners[0]
        assert page.heading.startswith("Check before")

        page = page.send("Checked alone", on_paper="1")
        assert page.heading.endswith("is on")
        page = page.send("The turn is over").send("All steps are done")
        assert "check before use" not in page.text
        assert page.send("Checked alone").heading.endswith("is on")

    def test_the_last_confirmation_can_be_taken_back(self, begun: Page) -> None:
        page = set_and_check(begun).send("The turn is over")
        page = page.send("Undo “turn over”")

        assert page.heading == "Almira O. is on"

    def test_marks_that_are_found_otherwise_are_written_down(self, begun: Page) -> None:
        page = begun.follow("The marks are different").send(
            "Save present marks", low_rail="4", high_rail="4", spread="168.0"
        )

        assert page.heading.startswith(("Step 1", "Set for"))
        told = "Set from there for Almira O.; then check, before anybody goes up."
        assert page.banners == [f"The present marks are recorded. {told}"]

    def test_marks_found_otherwise_while_somebody_is_on_are_said_to_be_recorded(
        self, begun: Page
    ) -> None:
        """Saved without a word, they were read off and typed a second time."""
        page = set_and_check(begun)
        assert page.heading == "Almira O. is on"
        marks = page.follow("The marks are different")
        page = marks.send("Save present marks", low_rail="4", high_rail="4", spread="168.0")

        assert page.banners[0].startswith("The present marks are recorded. Set from there for Almi")
        buttons = [words(one) for one in page.tree.iter("button")]
        assert "Go on with one person" in buttons
        assert "One person" not in buttons

    def test_marks_are_read_and_not_suggested(self, begun: Page) -> None:
        """Whoever finds numbers in the boxes presses the button without looking at the bars."""
        page = begun.follow("The marks are different")
        refused = page.send("Save present marks")

        boxes = [one for one in page.tree.iter("input") if one.get("type") == "text"]
        assert [box.get("value", "") for box in boxes] == ["", "", ""]
        assert refused.status == 400
        assert len(refused.mistakes) == 3

    def test_a_rotation_is_ended_without_who_did_not_come(self, begun: Page) -> None:
        page = begun.follow("End this rotation")
        assert "No turn yet: Almira O., Sunniva B., Noor H." in page.text
        page = page.send("End the rotation")

        assert page.heading == "This rotation was ended"
        assert "the coach can take it up again" in page.text


class TestSomethingIsWrong:
    """Whoever stands at the bars sees the fault first, and has no account."""

    SAID = "The lock at the window end does not hold"

    def stopped(self, begun: Page) -> Page:
        page = begun.follow("Something is wrong with the apparatus")
        return page.send("Stop the work and tell the coach", words=self.SAID)

    def test_the_work_stops_until_a_coach_has_looked(
        self, begun: Page, demo_app: Flask, demo_club: DemoClub
    ) -> None:
        page = self.stopped(begun)
        assert page.heading == "Stopped: something is wrong"
        assert f"“{self.SAID}”" in page.text
        assert [words(one) for one in page.tree.iter("button")] == [
            "Check card",
            "Leave the station",
        ]

        coach = signed_in(demo_app, demo_club.account)
        bars = coach.get("/").follow(f"Bars by the window: {self.SAID}")
        assert bars.heading == "Stopped: something is wrong"
        assert bars.follow("Report the fault").value("words") == self.SAID
        bars.send("I have looked: go on")

        again = page.reader.get("/station/now")
        assert again.heading.startswith(("Step 1", "Set for"))
        assert self.SAID not in coach.get("/").text

    def test_marks_that_are_read_meanwhile_are_recorded_and_nothing_is_told_to_be_set(
        self, begun: Page, demo_club: DemoClub, demo_pages: Reader, held: SmallMeet
    ) -> None:
        """Repaired and released, and the coach has not said yet that it goes on."""
        self.stopped(begun)
        with demo_club.work(writes=True) as session:
            fault = findings.add_finding(
                session, held.apparatus_id, self.SAID, withdraws=True, press_key="k"
            )
            findings.take_step(session, fault.id, Step.REPAIRED, "New lock")
        over = demo_pages.get(f"/findings/{fault.id}").send(
            "Record the step", step="released", remark="Tried by two"
        )
        [banner] = over.banners
        assert "The work there is stopped still, until a coach says there" in banner
        marks = {"low_rail": "4", "high_rail": "4", "spread": "168.0"}

        page = begun.reader.get("/station/now").follow("Enter present marks")
        page = page.send("Save present marks", **marks)
        assert page.heading == "Stopped: something is wrong"
        assert page.banners == ["The present marks are recorded."]
        page = demo_pages.get("/bars/1/found").send("Re-plan the rest from these marks", **marks)
        assert page.banners == ["The present marks are recorded."]

        bars = over.follow("To the work that is stopped")
        assert bars.heading == "Stopped: something is wrong"
        bars.send("I have looked: go on")
        assert begun.reader.get("/station/now").heading.startswith(("Step 1", "Set for"))

    def test_it_takes_nothing_out_of_use(self, begun: Page, demo_club: DemoClub) -> None:
        """That is the coach's to decide."""
        self.stopped(begun)

        with demo_club.work() as session:
            assert apparatus.piece(session, 1).withdrawal is None
            assert not [one for one in findings.unreleased(session) if one.words == self.SAID]

    def test_what_a_page_from_before_confirms_does_not_count(self, begun: Page) -> None:
        self.stopped(begun)

        refused = begun.send("All steps are done")
        assert refused.status == 409
        assert refused.heading == "Stopped: something is wrong"

    def test_nor_is_the_rotation_ended_past_it(self, begun: Page) -> None:
        end = begun.follow("End this rotation")
        self.stopped(begun)

        assert end.send("End the rotation").heading == "Stopped: something is wrong"

    def test_it_is_said_in_a_few_words(self, begun: Page) -> None:
        form = begun.follow("Something is wrong with the apparatus")

        nothing = form.send("Stop the work and tell the coach", words=" ")
        assert nothing.mistakes == ["Write what is wrong, and where"]
        long = form.send("Stop the work and tell the coach", words="x" * 201)
        assert long.mistakes == ["Say it in at most 200 characters; 201 were written"]
        assert begun.reader.get("/station/now").heading == begun.heading


class TestTheSecondCheck:
    """Whoever set it sees what was meant; somebody else sees what stands there."""

    def to_check(self, phone: Phone) -> tuple[Page, Page]:
        """The phone of who set it, and another one, when the check is due."""
        ivo, ana = phone("Ivo").send("Begin rotation 1", of_day=str(DAY)), phone("Ana")
        ivo = ivo.send("All steps are done")
        return ivo, ana.reader.get("/station/now")

    def test_it_is_asked_for_on_the_other_phone_and_kept_under_that_name(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        ivo, ana = self.to_check(phone)
        assert "Ana: look at it yourself, and confirm it on your own phone." in ivo.text
        assert "Ivo (station) set it. Your check is kept under your name." in ana.text

        ana.send("Checked by a second person")
        with demo_club.work() as session:
            run = desk_run.run(session, 1).run
        assert (run.set_by, run.checked_by, run.alone) == ("Ivo (station)", "Ana (station)", False)

    def test_alone_it_goes_on_too_and_is_kept_as_such(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        """The other phone lies in a bag; nobody waits for it."""
        ivo, _ana = self.to_check(phone)
        ivo.send("Checked alone")
        with demo_club.work() as session:
            assert desk_run.run(session, 1).run.alone is True

    def test_who_is_known_there_is_a_button(self, phone: Phone, demo_club: DemoClub) -> None:
        """One phone for two people: the second says so with one press."""
        ivo, ana = self.to_check(phone)
        ana.send("Checked by a second person").send("The turn is over").send("Leave the station")
        later = ivo.reader.get("/station/now")
        later = later.send("All steps are done") if "Set for" in later.heading else later
        later.send("Checked by Ana (station)")
        with demo_club.work() as session:
            view = desk_run.run(session, 1)
        assert (view.events[-1].by, view.run.checked_by) == ("Ivo (station)", "Ana (station)")

    def test_who_has_a_phone_here_or_set_it_is_none(self, phone: Phone) -> None:
        """They confirm on their own, and whoever set it is no second person."""
        ivo, ana = self.to_check(phone)
        ana.send("Checked by a second person").send("The turn is over")
        later = ivo.reader.get("/station/now")
        later = later.send("All steps are done") if "Set for" in later.heading else later
        for page in (later, ana.reader.get("/station/now")):
            assert page.heading.startswith("Check before")
            assert "Checked by Ana (station)" not in page.text
            assert "Checked by Ivo (station)" not in page.text

    def test_a_press_without_a_name_claims_no_second_person(
        self, begun: Page, demo_club: DemoClub
    ) -> None:
        """A page from before sends it; who pressed had set the bars, too."""
        begun.send("All steps are done") if "Set for" in begun.heading else begun
        press(begun.reader.get("/station/now"), "second")
        with demo_club.work() as session:
            view = desk_run.run(session, 1)
        assert str(in_words(view, view.events[-1].what)) == "Checked"

    def test_a_name_that_no_button_has_is_typed_once_and_then_remembered(
        self, phone: Phone, demo_club: DemoClub
    ) -> None:
        """Somebody who checks all day and never holds a phone."""
        ivo = phone("Ivo").send("Begin rotation 1", of_day=str(DAY)).send("All steps are done")
        by_a_second = "Checked by a second person"
        assert ivo.send(by_a_second, checker="  ").heading.startswith("Check before")
        page = ivo.reader.get("/station/now").send(by_a_second, checker=" Signe  Moe ")
        with demo_club.work() as session:
            run = desk_run.run(session, 1).run
        assert (run.checked_by, run.alone) == ("Signe Moe", False)
        page = page.send("The turn is over")
        page = page.send("All steps are done") if "Set for" in page.heading else page
        assert page.send("Checked by Signe Moe").heading.endswith("is on")


class TestSomebodyWhoHasNotTriedThem:
    """The host enters somebody new, whose setting is a squad-mate's so far."""

    def test_is_told_before_it_is_set_and_above_the_turn(
        self, phone: Phone, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            new = athletes.add(session, Person("Vantreek", "Isolde"))
            bars = apparatus.piece(session, held.apparatus_id)
            settings.begin_with(session, new.id, bars.model_id, 1)
            entries.enter_own(session, held.meet_id, new.id, "9")
            set_anew(session, held.rotation_id, [new.id, held.guests[0].member.id])
        told = "! Not tried Isolde V. has not tried these marks yet: they are another athlete’s."

        page = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))
        assert told in page.text
        page = set_and_check(page)
        assert told in page.text
        assert "Not tried" not in page.send("The turn is over").text


class TestMarksWithoutARaiseThatWasGranted:
    """Thirteen steps were set and checked before the line below them was read."""

    TOLD = re.compile(
        "✕ Ask the coach first Rails raised by 5.0 cm: granted, 5 December 2026."
        " These marks are without it: do not set them."
    )

    @pytest.mark.parametrize("place", ["/station/now", "/bars/1"])
    def test_are_said_to_be_so_before_the_first_button_at_every_stage(
        self, begun: Page, demo_club: DemoClub, demo_pages: Reader, held: SmallMeet, place: str
    ) -> None:
        grant_raise(demo_club, held)
        reader = begun.reader if place == "/station/now" else demo_pages
        page = reader.get(place)
        for button in ("All steps are done", "Checked by a second person", "The turn is over"):
            [told] = self.TOLD.finditer(page.text)
            before = page.text[: told.start()]
            assert not [one for one in ("Done", button) if one in before]
            page = page.send(button, checker="Signe Moe")
        assert not self.TOLD.search(page.text)

    def test_stand_in_the_list_of_turns_to_come_too(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        grant_raise(demo_club, held, marks_include=None)
        page = begun.reader.get("/station/now").send(
            "Goes next: the jury says so", who=held.guests[1].member.id
        )
        assert page.text.count("✕ Ask the coach first") == 2  # as the next one, and in the list

    def test_are_no_matter_once_they_include_it(
        self, begun: Page, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        grant_raise(demo_club, held, marks_include=True)
        page = begun.reader.get("/station/now")
        assert "These marks include it." in page.text
        assert "Ask the coach first" not in page.text


class TestMarksOutsideWhatIsAccepted:
    """The paper card, its page and the crew sheet say it; so does whatever one sets by."""

    TOLD = "! Look High rail height: Outside what is accepted: 247.0 cm is wanted."
    TO_DO = "does not go up at these marks before the coach has said so."

    def test_are_said_to_be_so_before_they_are_set_and_checked_and_to_their_own_card(
        self, phone: Phone, demo_app: Flask, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_app.test_request_context():
            ink = code_key()
        with demo_club.work(writes=True) as session:
            first, bars = held.guests[0].member.id, apparatus.piece(session, held.apparatus_id)
            lengths_mm = {"low_rail": 1700, "high_rail": 2470, "spread": 1650}
            wanted = {axis: Wanted(mm, 10) for axis, mm in lengths_mm.items()}
            settings.keep_setting(session, first, bars.model_id, Setting(bars.model.kind, wanted))
            [card] = desk_issued.issue(session, ink, held.apparatus_id, [first])

        page = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))
        for button in ("All steps are done", "Checked by a second person"):
            assert page.text.index(self.TOLD) < page.text.index(button)
            assert page.text.index(self.TO_DO) < page.text.index(button)
            assert [("Ask the coach first" in words(turn)) for turn in turns(page)][:2] == [
                True,
                False,
            ]
            answer = page.send("Check card", card=card.short_code)
            assert answer.heading == "The right card"
            assert self.TOLD.removeprefix("! Look ") in answer.text
            assert self.TO_DO in answer.text
            page = answer.follow("Back to the station")
            page = page.send(button, checker="Signe Moe")
        assert self.TO_DO not in page.text
        page = page.send("The turn is over")
        assert "Outside what is accepted" not in page.text


class TestAFaultThatWasNoted:
    """The apparatus is used all the same: whoever checks it has to know, on whichever page."""

    def test_is_told_with_the_check_until_it_is_released(
        self, phone: Phone, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        with demo_club.work(writes=True) as session:
            noted = findings.add_finding(
                session,
                held.apparatus_id,
                "Cable 2 is loose",
                withdraws=False,
                press_key="1",
            )
        page = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))
        assert "Cable 2" not in page.text
        page = page.send("All steps are done")
        for checking in (page, demo_pages.get("/bars/1")):
            text = checking.text
            assert text.index("! Fault noted Cable 2 is loose") < text.index("Checked alone")

        with demo_club.work(writes=True) as session:
            findings.take_step(session, noted.id, Step.RELEASED, "tightened")
        assert "Cable 2" not in page.reader.get("/station/now").text


class TestSomebodyWithoutASetting:
    """A list with one athlete whose setting nobody entered begins all the same."""

    def test_is_passed_over_and_asked_for_again_at_the_end(
        self, phone: Phone, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        _list_first_without_a_setting(demo_club, held)
        page = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))

        assert page.heading == "No setting for Isolde V."
        assert "Call the coach" in page.text
        page = page.send("Pass Isolde V. over for now")
        assert "Almira O." in page.heading
        page = set_and_check(page).send("The turn is over")
        assert page.heading == "No setting for Isolde V."
        assert "Nobody else is left who could go first" in page.text

    def test_goes_up_at_the_marks_that_the_coach_enters_on_the_spot(
        self, phone: Phone, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
    ) -> None:
        _list_first_without_a_setting(demo_club, held)
        volunteer = phone("Ivo").send("Begin rotation 1", of_day=str(DAY))
        coach = demo_pages.get("/bars/1")
        assert coach.heading == "No setting for Isolde V."
        page = coach.follow("Enter the setting")
        page = page.send(
            "Check, then save", low_rail_mark="3", high_rail_mark="3", spread_mark="150"
        )
        page = page.send("Save this setting")

        assert page.address == "/bars/1"
        page = page.send("Take the new marks")
        assert page.heading.endswith("Set for Isolde V.")
        assert volunteer.reader.get("/station/now").heading.endswith("Set for Isolde V.")


def _list_first_without_a_setting(club: DemoClub, held: SmallMeet) -> None:
    with club.work(writes=True) as session:
        person = Person("Vantreek", "Isolde")
        guest = entries.enter_guest(session, held.meet_id, person, "Wexlow Turners", "9")
        ids = [guest.member.id, held.guests[0].member.id]
        set_anew(session, held.rotation_id, ids)
