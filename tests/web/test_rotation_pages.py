"""The room of rotations: choosing, ordering, reading the order, changing the list."""

from datetime import date

import pytest
from flask import Flask

from settingsdesk.desk import apparatus, athletes, rotations, settings
from settingsdesk.desk.clock import today
from settingsdesk.domain.settings import Setting, Wanted
from settingsdesk.store import rotations as kept
from tests.conftest import DemoClub, new_account
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words

TONIGHT = "/rotations/1"
WINDOW = "Bars by the window"
LARGEST = 2**63 - 1


def new_page(reader: Reader, name: str = WINDOW) -> Page:
    """The form for a new rotation, by way of the first page."""
    return reader.get("/").follow("Order a rotation").follow(name)


def ids_of(page: Page, *names: str) -> list[str]:
    """The values of the boxes beside those names."""
    labels = {words(label): label.get("for", "") for label in page.tree.iter("label")}
    boxes = {box.get("id"): box.get("value", "") for box in page.tree.iter("input")}
    return [boxes[labels[name]] for name in names]


def first_ids(page: Page, how_many: int) -> list[str]:
    """The first athletes that are offered."""
    offered = [box.get("value", "") for box in page.tree.iter("input") if box.get("name") == "who"]
    return offered[:how_many]


def rows(page: Page, caption: str) -> list[str]:
    """The rows of a table, as they are heard."""
    for table in page.tree.iter("table"):
        if words(next(table.iter("caption"))) == caption:
            return [words(row) for body in table.iter("tbody") for row in body.iter("tr")]
    raise AssertionError(f"no table {caption!r}")


def listed(page: Page) -> list[str]:
    """The names on the coach's list, in its order."""
    heads = [row.split(" Up ")[0].split(" Down ")[0] for row in rows(page, "The coach's list")]
    return [head.split(". ", 1)[1] for head in heads]


def plans(club: DemoClub) -> int:
    """How many orders are on record."""
    with club.store.installation(writes=False) as session:
        return session.connection().exec_driver_sql("select count(*) from rotation_plan").scalar()


@pytest.fixture
def tonight(demo_pages: Reader) -> Page:
    return demo_pages.get(TONIGHT)


class TestChoosingTheApparatus:
    def test_each_says_what_stands_there(self, demo_pages: Reader) -> None:
        """The coach sees at once whether the record is right."""
        page = demo_pages.get("/rotations/new")

        assert "Uneven bars, Main hall, north side; stands at 5 / 5 / 170.0" in page.text

    def test_a_desk_without_apparatus_leads_to_adding_one(self, pages: Reader) -> None:
        page = pages.get("/rotations/new")

        assert page.links["Add an apparatus"] == "/apparatus/new"

    def test_without_any_rotation_the_room_says_how_to_begin(self, pages: Reader) -> None:
        assert "No rotation has been ordered yet" in pages.get("/rotations/").text


class TestMakingARotation:
    def test_who_has_no_setting_for_the_kind_is_named_and_not_offered(
        self, demo_pages: Reader
    ) -> None:
        """Nobody is left out without the coach knowing."""
        page = new_page(demo_pages)

        assert "No setting for uneven bars is recorded for Benhaddou, Ilyas;" in page.text
        assert "Benhaddou, Ilyas (Boys 1)" not in [words(one) for one in page.tree.iter("label")]

    def test_it_is_ordered_at_once_and_says_what_that_saves(self, demo_pages: Reader) -> None:
        form = new_page(demo_pages)

        page = form.send("Order the rotation", who=first_ids(form, 6), name="Girls, first six")

        assert (page.status, page.heading) == (200, "Girls, first six")
        assert len(rows(page, "The best order")) == 6
        assert " min of change-over in all: " in page.text
        assert " min less than in the order of the list" in page.text
        assert "It is proven that no order needs less." in page.text

    def test_without_a_name_it_is_named_after_apparatus_and_day(self, demo_pages: Reader) -> None:
        form = new_page(demo_pages)

        page = form.send("Order the rotation", who=first_ids(form, 1), held_on="2026-03-01")

        assert page.heading == "Bars by the window, 2026-03-01"
        assert "Bars by the window, 1 March 2026." in page.text

    def test_the_form_is_answered_by_a_redirect(self, demo_pages: Reader) -> None:
        """Loading the page again must not send the form again."""
        form = new_page(demo_pages)

        page = form.send("Order the rotation", who=first_ids(form, 1))

        assert [answer.status_code for answer in page.response.history] == [303]
        assert page.response.request.method == "GET"

    def test_a_second_press_makes_no_second_rotation(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Chalky fingers press twice, also where no script is there to stop them."""
        form = new_page(demo_pages)
        ids = first_ids(form, 3)

        first = form.send("Order the rotation", who=ids)
        before = plans(demo_club)
        second = form.send("Order the rotation", who=ids)

        assert second.address == first.address
        assert plans(demo_club) == before

    def test_with_other_athletes_it_is_another_rotation(self, demo_pages: Reader) -> None:
        """Only the very same is a second press."""
        form = new_page(demo_pages)

        first = form.send("Order the rotation", who=first_ids(form, 3))
        second = form.send("Order the rotation", who=first_ids(form, 2))

        assert second.address != first.address

    def test_who_has_left_is_not_offered(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            jagna = next(one for one in athletes.find(session) if one.person.given_name == "Jagna")
            athletes.leave(session, jagna.id, today())

        assert "Jagna" not in new_page(demo_pages).text


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

        page = form.send("Order the rotation", who=first_ids(form, 2), low_rail="3", spread="150")

        assert "Stood at 3 / 5 / 150.0 when it was ordered" in page.text
        assert (
            "Low rail height 3" in rows(demo_pages.get("/"), "Apparatus and what stands on them")[2]
        )

    def test_where_nobody_knows_it_is_asked_for_on_the_way(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """One page, and no way to order from a guess."""
        with demo_club.work(writes=True) as session:
            window = next(one for one in apparatus.all_pieces(session) if one.name == WINDOW)
            apparatus.add_piece(session, "New bars", "", window.model_id, 200)
        choose = demo_pages.get("/rotations/new")
        assert "Uneven bars; nobody has recorded what stands there: you are asked" in choose.text

        form = choose.follow("New bars")
        assert "Nobody has recorded it yet: read the marks at the apparatus" in form.text
        refused = form.send("Order the rotation", who=first_ids(form, 2))
        assert refused.mistakes == [
            "Enter the mark of the low rail height",
            "Enter the mark of the high rail height",
            "Enter the mark of the rail spread",
        ]
        page = refused.send("Order the rotation", low_rail="4", high_rail="4", spread="160.0")

        assert page.status == 200
        assert "Stood at 4 / 4 / 160.0 when it was ordered" in page.text

    def test_a_mark_that_is_not_there_is_refused_and_all_else_is_kept(
        self, demo_pages: Reader
    ) -> None:
        form = new_page(demo_pages)

        page = form.send("Order the rotation", who=first_ids(form, 2), name="Girls", high_rail="12")

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

        page = form.send("Order the rotation", **{"who": first_ids(form, 2), **typed})

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


class TestTheOrderOnThePage:
    def test_a_row_says_turn_name_marks_moves_and_minutes(self, tonight: Page) -> None:
        """All that the coach beside the bars needs for the next athlete."""
        third = rows(tonight, "The best order")[2]

        assert third == (
            "3. Tuva F. 6 / 6 / 178.0 Low rail height Up to 6 High rail height Up to 6"
            " Rail spread Out to 178.0 2:07"
        )

    def test_where_nothing_moves_it_says_so(self, tonight: Page) -> None:
        assert "Nothing to move 0:00" in rows(tonight, "The best order")[0]

    def test_the_names_are_those_on_the_cards(self, tonight: Page) -> None:
        """The page lies open in the hall: no family name in the order."""
        assert all("Bąkiewicz" not in row for row in rows(tonight, "The best order"))

    def test_the_order_comes_before_the_pictures_and_the_list(self, tonight: Page) -> None:
        text = tonight.text

        assert text.index("1. Jagna B.") < text.index("Turns and change-overs to scale")
        assert text.index("Turns and change-overs") < text.index("1. Bąkiewicz, Jagna")

    def test_the_other_two_orders_can_be_compared(self, tonight: Page) -> None:
        assert len(rows(tonight, "Sorted by height, then spread")) == 12
        assert len(rows(tonight, "In the order of the list")) == 12

    def test_the_check_before_a_turn_stands_there(self, tonight: Page) -> None:
        assert "check before anybody goes up" in tonight.text

    def test_that_times_are_estimates_is_said(self, tonight: Page) -> None:
        assert "by the times of the model, which are estimates" in tonight.text

    def test_a_kind_with_distances_has_its_own_words(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """A board is set nearer or farther away, never up or in."""
        with demo_club.work(writes=True) as session:
            vault = next(one for one in apparatus.all_pieces(session) if one.name == "Vault table")
            ids = [member.id for member in athletes.find(session)[:2]]
            here_mm = {axis.key: 0 for axis in vault.model.axes}
            measures = vault.model.measures_mm(vault.must_stand_somewhere())
            for step_mm, athlete_id in zip((100, -100), ids, strict=True):
                axes = {key: Wanted(round(measures[key])) for key in here_mm}
                axes["board"] = Wanted(round(measures["board"]) + step_mm)
                wanted = Setting(vault.model.kind, axes)
                settings.keep_setting(session, "Runa", athlete_id, vault.model_id, wanted)
            view = rotations.add_rotation(session, "Runa", "", date(2026, 3, 1), vault.id, ids)
            rotations.order_anew(session, "Runa", view.id)

        page = demo_pages.get(f"/rotations/{view.id}")

        assert page.status == 200
        assert "Board distance Away to " in page.text
        assert "Board distance Nearer to " in page.text


class TestOutOfDate:
    def test_marks_that_are_old_are_marked_row_by_row(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nobody sets an old height because the notice stood further up."""
        with demo_club.work(writes=True) as session:
            view = rotations.rotation(session, 1)
            first = view.carried[view.piece.id][view.listed[0].id].version
            wanted = Setting(first.setting.kind, {**first.setting.axes, "spread": Wanted(1550)})
            settings.keep_setting(session, "Runa", first.athlete_id, first.model_id, wanted)

        page = demo_pages.get(TONIGHT)

        assert "This order is not up to date Settings or the apparatus's scale have" in page.text
        old = [row for row in rows(page, "The best order") if "Old marks" in row]
        assert [row.split(" 5 / 5")[0] for row in old] == ["1. Jagna B."]

        again = page.send("Order it anew")
        assert again.banners == ["The rotation was ordered from what stands there now."]
        assert "Old marks" not in again.text
        assert "not up to date" not in again.text

    def test_another_setup_on_the_apparatus_asks_for_a_new_order(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = rotations.rotation(session, 1).piece
            apparatus.record_setup(session, "Runa", piece.id, (0, 0, 0), "read off the marks")

        page = demo_pages.get(TONIGHT)

        assert "stands at another setup now than when this order was made" in page.text
        assert "Stood at 1 / 1 / 130.0" in page.send("Order it anew").text


class TestOtherPlans:
    """Plans as the desk could have kept them on another day."""

    def keep(self, club: DemoClub, **other: object) -> None:
        with club.work(writes=True) as session:
            latest = kept.latest_plan(session, 1)
            assert latest is not None
            result = {**latest.result, **other}
            session.add(kept.RotationPlan(rotation_id=1, made_by="Runa", result=result))

    def test_one_that_is_not_proven_says_how_far_it_could_be_from_the_best(
        self, demo_pages: Reader, demo_club: DemoClub, tonight: Page
    ) -> None:
        with demo_club.work() as session:
            ordered = rotations.rotation(session, 1).ordered
        assert ordered is not None
        self.keep(demo_club, proven=False, bound_s=ordered.best.seconds - 65)

        text = demo_pages.get(TONIGHT).text

        assert "not proven best: an order could need 1:05 min less at the very most" in text
        assert "It is proven" not in text

    def test_one_with_marks_that_the_scale_no_longer_has_is_not_shown(
        self, demo_pages: Reader, demo_club: DemoClub, tonight: Page
    ) -> None:
        self.keep(demo_club, starts={"1": [900, 900, 900]})

        page = demo_pages.get(TONIGHT)
        assert "There is no order that counts The scale of Bars by the window has" in page.text
        assert "Jagna B." not in page.text

        assert len(rows(page.send("Order it anew"), "The best order")) == 12


class TestTheCoachsList:
    def test_one_is_moved_up_a_place(self, tonight: Page) -> None:
        assert listed(tonight)[:3] == ["Bąkiewicz, Jagna", "Çelikbaş, Defne", "Fjeldheim, Tuva"]

        page = tonight.send("Up for Fjeldheim, Tuva")

        assert listed(page)[:3] == ["Bąkiewicz, Jagna", "Fjeldheim, Tuva", "Çelikbaş, Defne"]
        assert [answer.status_code for answer in page.response.history] == [303]
        assert page.response.history[0].location.endswith("/rotations/1#the-coach-s-list")
        assert page.having("id", "the-coach-s-list")

    def test_a_second_press_on_the_same_page_moves_nobody_further(self, tonight: Page) -> None:
        tonight.send("Up for Fjeldheim, Tuva")

        page = tonight.send("Up for Fjeldheim, Tuva")

        assert listed(page)[1] == "Fjeldheim, Tuva"

    def test_the_first_cannot_go_up_nor_the_last_down(self, tonight: Page) -> None:
        buttons = [words(button) for button in tonight.tree.iter("button")]

        assert f"Up for {listed(tonight)[0]}" not in buttons
        assert f"Down for {listed(tonight)[-1]}" not in buttons
        assert sum(button.startswith(("Up for", "Down for")) for button in buttons) == 22

    def test_a_tampered_move_changes_nothing(
        self, demo_pages: Reader, tonight: Page, demo_club: DemoClub
    ) -> None:
        """Nor does it break anything."""
        token = tonight.tree.find(".//input[@name='csrf_token']")
        assert token is not None
        before = plans(demo_club)
        good = {"csrf_token": token.get("value"), "athlete": "1", "place": "2"}
        for tampered in (
            {"place": ""},
            {"place": "0"},
            {"place": "13"},
            {"place": "-1"},
            {"place": "up"},
            {"place": str(10**30)},
            {"athlete": "999"},
            {"athlete": str(10**30)},
            {"athlete": "Tuva"},
            {"athlete": ""},
        ):
            page = demo_pages.post(f"{TONIGHT}/move", {**good, **tampered})

            assert (page.status, page.heading) == (400, "This could not be done"), tampered
        assert plans(demo_club) == before
        assert listed(demo_pages.get(TONIGHT)) == listed(tonight)

    def test_who_stays_keeps_the_place_and_newcomers_come_last(self, tonight: Page) -> None:
        form = tonight.send("Up for Fjeldheim, Tuva").follow("Change who is on the list")
        chosen = ids_of(
            form,
            "Lindbäck, Ebba (Girls 2)",
            "Çelikbaş, Defne (Girls 1)",
            "Fjeldheim, Tuva (Girls 1)",
        )

        page = form.send("Change the list and order anew", who=chosen)

        assert listed(page) == ["Fjeldheim, Tuva", "Çelikbaş, Defne", "Lindbäck, Ebba"]
        assert page.banners == ["The list was changed and ordered anew."]

    def test_nobody_at_all_is_refused(self, tonight: Page) -> None:
        form = tonight.follow("Change who is on the list")

        page = form.send("Change the list and order anew", who=[])

        assert (page.status, page.mistakes) == (400, ["Choose at least one athlete"])

    def test_with_one_athlete_there_is_nothing_to_move(self, demo_pages: Reader) -> None:
        form = new_page(demo_pages)

        page = form.send("Order the rotation", who=first_ids(form, 1))

        assert not [one for one in page.tree.iter("button") if words(one).startswith("Up")]
        assert "no less than in the order of the list" in page.text


class TestWithoutASetup:
    def test_an_order_for_an_unknown_setup_leads_to_recording_it(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """The scale was changed since, and no longer has the marks on record."""
        with demo_club.work(writes=True) as session:
            row = session.connection().exec_driver_sql(
                "select apparatus_id from rotation where id = 1"
            )
            piece_id = row.scalar()
            model = apparatus.piece(session, piece_id).model
            beyond = [axis.scale.count for axis in model.axes]
            session.connection().exec_driver_sql(
                "insert into apparatus_setup (club_id, apparatus_id, stops, recorded_by, how,"
                " stood_at) select club_id, apparatus_id, ?, recorded_by, how, stood_at"
                " from apparatus_setup where apparatus_id = ?",
                (str(beyond), piece_id),
            )

        page = demo_pages.get(TONIGHT)

        assert "It is not known what stands on Bars by the window now." in page.text
        assert page.links["Record what stands there now"] == f"/apparatus/{piece_id}/stands"
        assert not [one for one in page.tree.iter("button") if words(one) == "Order it anew"]
