"""The page of a rotation: its order, and why it may be out of date."""

from datetime import date

import pytest
from pypdfium2 import PdfDocument

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import athletes, settings, still_right
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.apparatus import ApparatusSetup
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader, words
from tests.web.rotations.making import TONIGHT, rows


@pytest.fixture
def tonight(demo_pages: Reader) -> Page:
    return demo_pages.get(TONIGHT)


class TestTheOrderOnThePage:
    def test_a_row_says_turn_name_marks_moves_and_minutes(self, tonight: Page) -> None:
        """All that the coach beside the bars needs for the next athlete."""
        third = rows(tonight, "The best order")[2]

        assert third == ("3. Tuva F. Up to 6 Up to 6 Out to 178.0 2:59")

    def test_where_nothing_moves_it_says_so(self, tonight: Page) -> None:
        assert rows(tonight, "The best order")[0] == "1. Jagna B. Nothing to move 5 5 170.0 0:00"

    def test_the_names_are_those_on_the_cards(self, tonight: Page) -> None:
        """The page lies open in the hall: no family name in the order."""
        assert all("Bąkiewicz" not in row for row in rows(tonight, "The best order"))

    def test_the_order_comes_before_the_pictures_and_the_list(self, tonight: Page) -> None:
        text = tonight.text

        assert text.index("1. Jagna B.") < text.index("Turns and change-overs to scale")
        assert text.index("Turns and change-overs") < text.index("1. Bąkiewicz, Jagna")

    def test_who_shares_a_setup_stands_beside_the_order(self, tonight: Page) -> None:
        """By the marks on this apparatus, and by the names of the order."""
        assert "The same marks: Inês G. + Μυρτώ Λ.; " in tonight.text
        assert "Nobody else has theirs: Jagna B.; " in tonight.text
        assert tonight.response.text.count('<circle class="accent') == 12 * 3

    def test_the_strip_says_every_turn_of_every_order_to_those_who_cannot_see_it(
        self, tonight: Page
    ) -> None:
        """As often as it is drawn, once for a phone and once for a wide page."""
        text = tonight.response.text

        assert text.count("Best order 18:52 min of change-over (1 Jagna B. after 0:00, ") == 2
        assert text.count("As listed 33:03 min of change-over (1 Jagna B. after 0:00, ") == 2

    def test_whose_setting_may_be_right_no_longer_is_named(
        self, tonight: Page, demo_club: DemoClub
    ) -> None:
        told = "! Still right? Jagna B.: the setting is old, or the athlete has grown since"
        assert told not in tonight.text
        with demo_club.work(writes=True) as session:
            assert still_right.note_growth(session, 1, 0)

        assert told in tonight.reader.get(TONIGHT).text

    def test_the_other_two_orders_can_be_compared(self, tonight: Page) -> None:
        assert len(rows(tonight, "Sorted by height, then spread")) == 12
        assert len(rows(tonight, "In the order of the list")) == 12

    def test_what_is_not_as_wanted_is_told_in_the_clubs_unit(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            first = view.carried[view.piece.id][view.listed[0].id].version
            axes = {**first.setting.axes, "spread": Wanted(1200)}
            wanted = Setting(first.setting.kind, axes)
            settings.keep_setting(session, first.athlete_id, first.model_id, wanted)
            session.connection().exec_driver_sql("update club set length_unit = 'in'")

        page = demo_pages.get(TONIGHT)
        [told] = [words(one) for one in page.tree.iter("li") if "does not reach" in words(one)]
        assert told.startswith("Jagna B.: low rail height: 2 1/8 in (5.4 cm) over what is wanted")
        assert "its last mark is 1 1/2 in (3.9 cm) too wide" in told

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
                settings.keep_setting(session, athlete_id, vault.model_id, wanted)
            view = desk_rotation.add_rotation(session, "", date(2026, 3, 1), vault.id, ids)
            desk_rotation.order_anew(session, view.id)

        page = demo_pages.get(f"/rotations/{view.id}")

        assert page.status == 200
        told = " ".join(rows(page, "The best order"))
        assert "Away to " in told
        assert "Nearer to " in told


class TestOutOfDate:
    def test_marks_that_are_old_are_marked_row_by_row(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nobody sets an old height because the notice stood further up."""
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            first = view.carried[view.piece.id][view.listed[0].id].version
            wanted = Setting(first.setting.kind, {**first.setting.axes, "spread": Wanted(1550)})
            settings.keep_setting(session, first.athlete_id, first.model_id, wanted)

        page = demo_pages.get(TONIGHT)

        assert "This order is out of date Settings or the apparatus's scale have" in page.text
        old = [row for row in rows(page, "The best order") if "Old marks" in row]
        assert [row.split(" ✕ ")[0] for row in old] == ["1. Jagna B."]

        again = page.send("Re-plan it")
        assert again.banners == ["The rotation was planned from the present marks."]
        assert "Old marks" not in again.text
        assert "This order is out of date" not in again.text

    def test_another_setup_on_the_apparatus_asks_for_a_new_order(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            piece = desk_rotation.rotation(session, 1).piece
            apparatus.record_setup(session, piece.id, (0, 0, 0), "read off the marks")

        page = demo_pages.get(TONIGHT)

        assert "are different now than when this order was planned" in page.text
        assert "Stood at 1 / 1 / mark 130.0 (by tape" in page.send("Re-plan it").text

    def test_what_stood_there_when_planned_is_not_said_of_one_under_way(
        self, demo_pages: Reader
    ) -> None:
        """Marks of an hour ago beside those that are set now would be taken for them."""
        assert "when it was planned" in demo_pages.get(TONIGHT).text
        demo_pages.get(TONIGHT).send("Take it to the bars")
        assert "when it was planned" not in demo_pages.get(TONIGHT).text


class TestWhoHasLeft:
    def leave(self, club: DemoClub, how_many: int) -> None:
        with club.work(writes=True) as session:
            for member in desk_rotation.rotation(session, 1).listed[:how_many]:
                athletes.leave(session, member.id, date(2026, 3, 1))

    def test_the_page_names_them_and_takes_them_off_the_list(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nobody waits at the bars for somebody who is no longer in the club."""
        self.leave(demo_club, 2)

        page = demo_pages.get(TONIGHT)
        said = "On the list, but no longer in the club Bąkiewicz, Jagna; Çelikbaş, Defne."
        assert said in page.text
        assert "Take it to the bars" not in page.text
        assert not [one for one in page.tree.iter("button") if words(one) == "Re-plan it"]

        page = page.send("Take off the list and re-plan")
        assert page.banners == ["Whoever had left is off the list; it was re-planned."]
        assert len(rows(page, "The best order")) == 10
        assert "no longer in the club" not in page.text

    def test_wishes_are_refused_with_their_names(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        self.leave(demo_club, 1)

        page = demo_pages.get(TONIGHT).follow("Turns, rest, crew and wishes")
        page = page.send("Plan with these wishes", turns="2")

        assert page.mistakes == [
            "Bąkiewicz, Jagna has left the club: take whoever has left off the list first"
        ]

    def test_where_all_have_left_another_list_is_asked_for(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        self.leave(demo_club, 12)

        page = demo_pages.get(TONIGHT)

        assert "Take off the list and re-plan" not in page.text
        assert page.follow("Change who is on the list").status == 200


class TestOtherPlans:
    """Plans as the desk could have kept them on another day."""

    def keep(self, club: DemoClub, **other: object) -> None:
        with club.work(writes=True) as session:
            latest = kept_rotations.latest_plan(session, 1)
            assert latest is not None
            result = {**latest.result, **other}
            session.add(kept_rotations.RotationPlan(rotation_id=1, made_by="Runa", result=result))

    def test_one_that_is_not_proven_says_how_far_it_could_be_from_the_best(
        self, demo_pages: Reader, demo_club: DemoClub, tonight: Page
    ) -> None:
        with demo_club.work() as session:
            ordered = desk_rotation.rotation(session, 1).ordered
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
        assert "There is no current order The scale of Bars by the window has" in page.text
        assert "Jagna B." not in page.text

        assert len(rows(page.send("Re-plan it"), "The best order")) == 12


class TestWithoutASetup:
    def test_an_order_for_an_unknown_setup_leads_to_recording_it(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """The scale was changed since, and no longer has the marks on record."""
        with demo_club.work(writes=True) as session:
            piece_id = desk_rotation.rotation(session, 1).piece.id
            beyond = [axis.scale.count for axis in apparatus.piece(session, piece_id).model.axes]
            stands = ApparatusSetup(apparatus_id=piece_id, stops=beyond, recorded_by="", how="")
            session.add(stands)

        page = demo_pages.get(TONIGHT)

        assert "The present marks of Bars by the window are not known." in page.text
        assert page.links["Record the present marks"] == f"/apparatus/{piece_id}/stands"
        assert not [one for one in page.tree.iter("button") if words(one) == "Re-plan it"]


class TestOnPaper:
    def test_the_order_comes_as_a_file_to_hang_up_or_send(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/rotations/1")
        address = page.links["Save as PDF for the apparatus or the team"]
        answer = demo_pages.client.get(address)

        assert answer.content_type == "application/pdf"
        assert answer.headers["Content-Disposition"] == 'attachment; filename="order-1.pdf"'
        with PdfDocument(answer.data) as document:
            text = document[0].get_textpage().get_text_bounded()
        assert "Tonight, bars, girls 1, Bars by the window" in text
        assert "Jagna B." in text
        assert "Bąkiewicz" not in text, "names as on cards"
