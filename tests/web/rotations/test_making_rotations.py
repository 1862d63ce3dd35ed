"""Making a rotation: which apparatus, who, and from which marks."""

from dataclasses import replace
from datetime import timedelta

import pytest
from flask import Flask
from sqlalchemy import select

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import athletes
from settingsdesk.store.rotations import Rotation
from settingsdesk.web.frame.shown import day
from tests.conftest import DemoClub, new_account
from tests.desk.sample_squad import join
from tests.web.conftest import signed_in
from tests.web.pages import Reader, words
from tests.web.rotations.making import (
    TONIGHT,
    WINDOW,
    first_ids,
    ids_of,
    listed,
    new_page,
    offered,
    plans,
    rows,
    ticked,
)

LARGEST = 2**63 - 1


class TestChoosingTheApparatus:
    def test_each_says_what_stands_there(self, demo_pages: Reader) -> None:
        """The coach sees at once whether the record is right."""
        page = demo_pages.get("/rotations/new")

        bars = "stands at 5 / 5 / mark 170.0 (by tape 170.4 cm / 249.7 cm / 169.7 cm)"
        assert f"Uneven bars, Main hall, north side; {bars}" in page.text
        assert "Vault table, Runway, main hall; stands at 6 / 120 cm / 20 m (by tape" in page.text

    def test_a_desk_without_apparatus_leads_to_adding_one(self, pages: Reader) -> None:
        page = pages.get("/rotations/new")

        assert page.links["Add an apparatus"] == "/apparatus/new"

    def test_without_any_rotation_the_room_says_how_to_begin(self, pages: Reader) -> None:
        assert "No rotation has been planned yet" in pages.get("/rotations/").text


WORKED_OUT = "Worked out from Hall frame A, not measured here"
FROM_THE_MEET = "Worked out from Leaning frame C, not measured here"


class TestOnAnotherModel:
    def test_what_was_worked_out_is_said_where_the_rails_are_set_by_it(
        self, demo_pages: Reader
    ) -> None:
        """On the rotation and at its run: nobody takes it for what was tried there."""
        form = new_page(demo_pages, "Bars by the door")
        rotation = form.send("Plan the rotation", who=first_ids(form, 3), name="By the door")

        assert f"! Not measured {WORKED_OUT}: " in rotation.text
        told = f"! Not measured {FROM_THE_MEET}."
        assert told in rotation.send("Take it to the bars").text

    def test_of_the_athletes_own_marks_nothing_is_said(self, demo_pages: Reader) -> None:
        assert "Not measured" not in demo_pages.get(TONIGHT).text


ELSEWHERE = "On another apparatus for the same athletes"


def _again() -> str:
    """The button that plans last week's rotation once more."""
    before = day(today() - timedelta(days=7))
    return f"Tonight, bars, girls 1 once more today, as on {before}"


class TestOnceMore:
    @pytest.fixture
    def last_week(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            for row in session.scalars(select(Rotation)):
                row.held_on = today() - timedelta(days=7)

    @pytest.mark.usefixtures("last_week")
    def test_from_today_it_is_two_presses_to_last_weeks_order(self, demo_pages: Reader) -> None:
        choose = demo_pages.get("/").follow("Plan a rotation")
        page = choose.send(_again())

        assert (page.heading, page.banners) == (
            "Tonight, bars, girls 1",
            ["The rotation was planned from the present marks."],
        )
        assert page.address != TONIGHT
        assert len(listed(page)) == 12
        assert _again() not in [
            words(one) for one in page.reader.get("/rotations/new").tree.iter("button")
        ], "it is planned for today"

    @pytest.mark.usefixtures("last_week")
    def test_where_it_cannot_be_the_form_says_why_with_the_same_athletes_ticked(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = desk_rotation.rotation(session, 1).piece
            apparatus.record_at(session, piece, None, "touched by somebody")
        page = demo_pages.get("/rotations/new").send(_again())

        assert page.heading == f"Plan a rotation on {WINDOW}"
        assert "not known what stands" in page.banners[0]
        assert len(ticked(page)) == 12

    def test_for_the_same_athletes_on_another_apparatus_with_the_same_wishes(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            asked = replace(view.asked, turns=2, rest_turns=1, first=view.listed[4].id)
            desk_rotation.change_wishes(session, view, asked)
        form = demo_pages.get(TONIGHT).follow(ELSEWHERE).follow("Bars by the door")
        assert len(ticked(form)) == 12
        page = form.send("Plan the rotation")

        number = int(page.address.rpartition("/")[2].partition("?")[0])
        with demo_club.work() as session:
            made = desk_rotation.rotation(session, number)
        assert (made.piece.name, made.asked) == ("Bars by the door", asked)
        assert [one.id for one in made.listed] == [one.id for one in view.listed]

    def test_a_group_is_three_presses(self, demo_pages: Reader) -> None:
        choose = demo_pages.get("/").follow("Plan a rotation")
        form = choose.follow("Girls 2").follow(WINDOW)
        page = form.send("Plan the rotation")

        assert sorted(listed(page)) == ["Lindbäck, Ebba", "Okwuosa, Adaeze"]


class TestMakingARotation:
    def test_who_has_no_setting_for_the_kind_is_named_and_not_offered(
        self, demo_pages: Reader
    ) -> None:
        """Nobody is left out without the coach knowing."""
        page = new_page(demo_pages)

        assert "No setting for uneven bars is recorded for these." in page.text
        assert "Benhaddou, Ilyas" in [words(one) for one in page.tree.iter("button")]
        assert "Benhaddou, Ilyas (Boys 1)" not in [words(one) for one in page.tree.iter("label")]

    def test_each_name_leads_to_entering_the_setting_and_back_to_all_that_was_chosen(
        self, demo_pages: Reader
    ) -> None:
        """A new child on a training evening: the way is named where it is needed, and nothing that
        was ticked, typed or ordered before is to be done again."""
        page = demo_pages.get("/rotations/new/1?group=Girls+1&group=Girls+2")
        listed = first_ids(page, 14)
        typed = {"name": "Late ones", "place0": "2", "place1": "1", "low_rail": "2"}
        typed |= {"high_rail": "no mark"}
        new = demo_pages.get("/athletes/new").send(
            "Add the athlete", given_name="Lina", family_name="Vogt", group_name="Girls 1"
        )
        number = new.address.rpartition("/")[2]

        page = demo_pages.get(page.address)
        form = page.send("Vogt, Lina", who=listed[1:], any_order="y", **typed)

        assert form.heading.startswith("Setting of Lina V.")
        back = form.follow("Back without a setting")
        assert back.heading == page.heading
        assert ticked(back) == listed[1:]
        assert {name: back.value(name) for name in typed} == typed
        assert [box for box in back.having("name", "any_order") if "checked" in box.attrib]
        saved = form.follow("Take the present marks of Bars by the window")
        saved = saved.send("Check, then save").send("Save this setting")
        assert sorted(ticked(saved)) == sorted([*listed[1:], number])
        assert {name: saved.value(name) for name in typed} == typed

    def test_it_is_ordered_at_once_and_says_what_that_saves(self, demo_pages: Reader) -> None:
        form = new_page(demo_pages)

        page = form.send("Plan the rotation", who=first_ids(form, 6), name="Girls, first six")

        assert (page.status, page.heading) == (200, "Girls, first six")
        assert len(rows(page, "The best order")) == 6
        assert " min of change-over in all: " in page.text
        assert " min less than in the order of the list" in page.text
        assert "It is proven that no order needs less." in page.text

    def test_without_a_name_it_is_named_after_apparatus_and_day(self, demo_pages: Reader) -> None:
        form = new_page(demo_pages)

        page = form.send("Plan the rotation", who=first_ids(form, 1), held_on="2026-03-01")

        assert page.heading == "Bars by the window, 1 March 2026"
        assert "Bars by the window, 1 March 2026." in page.text

    def test_the_form_is_answered_by_a_redirect(self, demo_pages: Reader) -> None:
        """Loading the page again must not send the form again."""
        form = new_page(demo_pages)

        page = form.send("Plan the rotation", who=first_ids(form, 1))

        assert [answer.status_code for answer in page.response.history] == [303]
        assert page.response.request.method == "GET"

    def test_a_second_press_makes_no_second_rotation(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Chalky fingers press twice, also where no script is there to stop them."""
        form = new_page(demo_pages)
        ids = first_ids(form, 3)

        first = form.send("Plan the rotation", who=ids)
        before = plans(demo_club)
        second = form.send("Plan the rotation", who=ids)

        assert second.address == first.address
        assert plans(demo_club) == before

    def test_with_other_athletes_it_is_another_rotation(self, demo_pages: Reader) -> None:
        """Only the very same is a second press."""
        form = new_page(demo_pages)

        first = form.send("Plan the rotation", who=first_ids(form, 3))
        second = form.send("Plan the rotation", who=first_ids(form, 2))

        assert second.address != first.address

    def test_who_has_left_is_not_offered(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            jagna = next(one for one in athletes.find(session) if one.person.given_name == "Jagna")
            athletes.leave(session, jagna.id, today())

        assert "Jagna" not in new_page(demo_pages).text


class TestChoosingOutOfALargeSquad:
    def test_a_usual_squad_stands_there_at_once(self, demo_pages: Reader) -> None:
        """A small club has nothing to look for."""
        page = new_page(demo_pages)

        assert "Find" not in [words(button) for button in page.tree.iter("button")]
        assert len(offered(page)) == 14

    def test_names_stand_there_some_at_a_time(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A page of thousands of names is of no use, and slow on a phone."""
        join(demo_club, 70)

        page = new_page(demo_pages)

        assert len(offered(page)) == 60
        assert "There are more names than these 60." in page.text
        assert "Zorn 069, Ada (Crowd 6)" not in page.text
        page = page.send("Show the next names")
        assert "Zorn 069, Ada (Crowd 6)" in page.text
        assert "There are more names" not in page.text

    def test_whoever_is_ticked_stays_while_others_are_looked_for(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A rotation has athletes of several groups; nothing chosen or typed is lost."""
        join(demo_club, 70)
        form = new_page(demo_pages)
        two = ids_of(form, "Bąkiewicz, Jagna (Girls 1)", "Çelikbaş, Defne (Girls 1)")
        before = plans(demo_club)

        found = form.send("Find", who=two, q="zorn 06", name="Mixed", low_rail="3")

        assert (found.status, found.mistakes) == (200, [])
        assert plans(demo_club) == before
        assert ticked(found) == two
        assert offered(found)[:2] == two
        assert len(offered(found)) == 2 + 11
        assert (found.value("name"), found.value("low_rail")) == ("Mixed", "3")
        one = ids_of(found, "Zorn 068, Ada (Crowd 6)")
        again = found.send("Find", who=[*two, *one], q="", group="Girls 2")
        assert ticked(again) == [*two, *one]
        page = again.send("Plan the rotation")
        assert page.heading == "Mixed"
        assert listed(page) == ["Bąkiewicz, Jagna", "Çelikbaş, Defne", "Zorn 068, Ada"]

    def test_who_is_unticked_is_not_brought_back(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        join(demo_club, 70)
        form = new_page(demo_pages)
        one, two = first_ids(form, 2)

        page = form.send("Find", who=[one, two], q="zorn").send("Find", who=[two], q="zorn")

        assert ticked(page) == [two]

    def test_a_whole_group_is_ticked_at_one_press(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        group = join(demo_club, 70)[30:40]
        form = new_page(demo_pages)
        first = first_ids(form, 1)

        page = form.send("Tick all who are found", who=first, group="Crowd 3")

        assert ticked(page) == [*first, *map(str, group)]

    def test_of_a_very_large_group_it_is_said_who_was_ticked(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        join(demo_club, 310)

        page = new_page(demo_pages).send("Tick all who are found", q="zorn")

        assert len(ticked(page)) == 300
        assert "The first 300 who are found are ticked." in page.text

    def test_nobody_found_is_said_and_the_ticked_stay(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        join(demo_club, 70)
        form = new_page(demo_pages)
        first = first_ids(form, 1)

        page = form.send("Find", who=first, q="nobody of this name")

        assert "None of the athletes found has a setting for uneven bars." in page.text
        assert ticked(page) == first

    def test_who_of_those_found_has_no_setting_is_named(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nobody is left out without the coach knowing."""
        join(demo_club, 70)
        join(demo_club, 1, with_settings=False)

        page = new_page(demo_pages).send("Find", q="zorn 000")

        assert "Zorn 000, Ada" in [words(one) for one in page.tree.iter("button")]
        assert len(offered(page)) == 1

    @pytest.mark.parametrize("before", ["-1", "many", "9" * 30, "60.5"])
    def test_a_tampered_place_in_the_list_is_its_beginning(
        self, demo_pages: Reader, demo_club: DemoClub, before: str
    ) -> None:
        join(demo_club, 70)
        form = new_page(demo_pages)

        page = form.send("Show the next names", after=before)

        assert page.status == 200
        assert "Zorn 069, Ada" in page.text


class TestWhatStandsThereNow:
    def test_it_is_shown_to_be_compared_with_the_apparatus(self, demo_pages: Reader) -> None:
        """An order from a setup that is no longer there saves nothing."""
        page = new_page(demo_pages)
        values = {box.get("name"): box.get("value") for box in page.tree.iter("input")}

        assert [values[axis] for axis in ("low_rail", "high_rail", "spread")] == ["5", "5", "170.0"]

    def test_a_correction_is_put_on_record_and_the_order_begins_from_it(
        self, demo_pages: Reader
    ) -> None:
        form = new_page(demo_pages)

        page = form.send("Plan the rotation", who=first_ids(form, 2), low_rail="3", spread="150")

        assert "Stood at 3 / 5 / mark 150.0 (by tape 160.4 cm / 249.7 cm / 155.0 cm)" in page.text
        assert (
            "Low rail height 3" in rows(demo_pages.get("/"), "Present marks of each apparatus")[2]
        )

    def test_a_plan_for_another_day_leaves_what_stands_there_and_a_run_as_they_are(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Next week's squad is planned in the middle of an evening."""
        demo_pages.get("/rotations/1").send("Take it to the bars")
        before = demo_pages.get("/bars/1").text
        form = new_page(demo_pages)
        assert "is in use now" in form.text
        later = today() + timedelta(days=7)
        page = form.send(
            "Plan the rotation",
            who=first_ids(form, 2),
            held_on=later.isoformat(),
            low_rail="3",
            spread="150",
        )

        assert "Planned from 3 / 5 / mark 150.0 (by tape" in page.text
        assert "present marks of the apparatus are as they were" in page.text
        assert "out of date" not in page.text
        assert "Turns that are over" not in page.text
        shown = rows(demo_pages.get("/"), "Present marks of each apparatus")[2]
        assert "Low rail height 5" in shown
        assert demo_pages.get("/bars/1").heading in before

    def test_for_today_while_a_run_is_under_way_nothing_is_recorded_either(
        self, demo_pages: Reader
    ) -> None:
        demo_pages.get("/rotations/1").send("Take it to the bars")
        form = new_page(demo_pages)
        form.send("Plan the rotation", who=first_ids(form, 2), low_rail="3")

        assert demo_pages.get("/bars/1").heading != "Read the present marks"

    def test_where_nobody_knows_it_is_asked_for_on_the_way(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """One page, and no way to order from a guess."""
        with demo_club.work(writes=True) as session:
            window = next(one for one in apparatus.all_pieces(session) if one.name == WINDOW)
            apparatus.add_piece(session, "New bars", "", window.model_id, 200)
        choose = demo_pages.get("/rotations/new")
        assert "Uneven bars; present marks not recorded: you are asked" in choose.text

        form = choose.follow("New bars")
        assert "Nobody has recorded it yet: read the marks at the apparatus" in form.text
        refused = form.send("Plan the rotation", who=first_ids(form, 2))
        assert refused.mistakes == [
            "Enter the mark of the low rail height",
            "Enter the mark of the high rail height",
            "Enter the mark of the rail spread",
        ]
        page = refused.send("Plan the rotation", low_rail="4", high_rail="4", spread="160.0")

        assert page.status == 200
        assert "Stood at 4 / 4 / mark 160.0 (by tape 165.0 cm / 245.0 cm / 160.0 cm)" in page.text

    def test_a_mark_that_is_not_there_is_refused_and_all_else_is_kept(
        self, demo_pages: Reader
    ) -> None:
        form = new_page(demo_pages)

        page = form.send("Plan the rotation", who=first_ids(form, 2), name="Girls", high_rail="12")

        assert page.status == 400
        [mistake] = page.mistakes
        assert mistake.startswith("High rail height: ")
        assert "12" in mistake
        boxes = [box for box in page.tree.iter("input") if box.get("name") in ("who", "name")]
        assert [box.get("value") for box in boxes if box.get("name") == "name"] == ["Girls"]
        assert len([box for box in boxes if "checked" in box.attrib]) == 2


class TestRefusals:
    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"who": []}, "Choose at least one athlete"),
            ({"who": ["999"]}, None),
            ({"who": ["Jagna"]}, None),
            ({"name": "A" * 81}, None),
            ({"held_on": "31.02.2026"}, None),
            ({"held_on": "2026-02-31"}, None),
            ({"held_on": ""}, "Enter the day"),
        ],
    )
    def test_what_cannot_be_read_is_said_and_the_form_is_shown_again(
        self, demo_pages: Reader, demo_club: DemoClub, typed: dict[str, object], mistake: str | None
    ) -> None:
        form = new_page(demo_pages)
        before = plans(demo_club)

        page = form.send("Plan the rotation", **{"who": first_ids(form, 2), **typed})

        assert page.status == 400
        assert page.heading == form.heading
        [said] = page.mistakes
        assert mistake in (None, said)
        assert not {"invalid", "please", "oops"} & set(said.casefold().split())
        assert plans(demo_club) == before

    def test_what_is_not_there_is_a_page_that_says_so(self, demo_pages: Reader) -> None:
        for where in ("/rotations/{}", "/rotations/{}/list", "/rotations/new/{}"):
            for number in (0, 999, LARGEST):
                page = demo_pages.get(where.format(number))

                assert (page.status, page.heading) == (404, "There is no such page")

    def test_another_clubs_rotation_is_not_there(
        self, demo_app: Flask, demo_club: DemoClub
    ) -> None:
        other = new_account(demo_club.store, "Far Shore Gymnastics", "odo", "Odo Fenn")
        reader = signed_in(demo_app, other)

        for address in (TONIGHT, f"{TONIGHT}/list", "/rotations/new/1"):
            page = reader.get(address)

            assert page.status == 404
            assert "Tonight" not in page.response.text

    def test_a_kind_nobody_has_a_setting_for_leads_elsewhere(self, demo_pages: Reader) -> None:
        page = new_page(demo_pages, "Vault table")

        assert "No athlete has a setting for vault table yet." in page.text
        assert page.links["Choose another apparatus"] == "/rotations/new"
