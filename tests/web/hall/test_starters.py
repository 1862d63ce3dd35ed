"""A first evening: a plain model with its apparatus, then a squad with its marks."""

from xml.etree.ElementTree import Element

import pytest

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.base.kinds import KINDS, Quantity
from settingsdesk.store.clubs import Club
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.web.pages import Page, Reader, words

MARKS = {"low_rail": "6", "high_rail": "6", "spread": "160"}


def with_bars(pages: Reader) -> Page:
    """The page after a starter was taken and read off."""
    page = pages.get("/apparatus/models/starters/uneven_bars")
    page = page.send("Take it", piece_name="Bars", low_rail_count="10", mat="20")
    return page.send("Record these marks", **MARKS)


def _heading(fields: Element) -> str:
    legend = fields.find("legend")
    return "" if legend is None else words(legend)


class TestStarters:
    def test_an_empty_desk_leads_there(self, pages: Reader) -> None:
        page = pages.get("/").follow("Begin with a plain model")
        assert "12 holes every 5.0 cm, the first at 145.0 cm" in page.text

    @pytest.mark.parametrize("key", KINDS)
    def test_says_between_which_points_its_lengths_lie(self, pages: Reader, key: str) -> None:
        """Two coaches who tape to other points set rails centimetres apart."""
        overview = pages.get("/apparatus/models/starters/")
        form = overview.follow(KINDS[key].name)
        for axis in KINDS[key].axes:
            assert axis.point in overview.text
            assert axis.point in form.text
        spreads = [axis for axis in KINDS[key].axes if axis.quantity is Quantity.SPREAD]
        assert ("inner faces of the rails, the shortest way" in form.text) == bool(spreads)
        assert ("is read along the slanting line" in form.text) == (key == "uneven_bars")

    @pytest.mark.parametrize("key", KINDS)
    def test_the_fields_of_each_axis_light_its_dimension(self, pages: Reader, key: str) -> None:
        """By the style sheet alone: fields and picture are children of one form."""
        for address in (f"/apparatus/models/starters/{key}", f"/apparatus/models/new/{key}"):
            [form] = pages.get(address).having("class", "with-picture")
            [picture] = [child for child in form if child.get("class") == "pictured"]
            drawn = {part for one in picture.iter() for part in one.get("class", "").split()}
            for number, axis in enumerate(KINDS[key].axes, start=1):
                [fields] = [one for one in form if _heading(one) == axis.name]
                assert fields.get("class") == f"lights axis-{number}"
                assert f"axis-{number}" in drawn

    def test_a_figure_that_may_be_a_slip_is_asked_and_kept_when_it_is_sent_again(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """Millimetres typed for centimetres make ten metres of bars."""
        page = pages.get("/apparatus/models/starters/balance_beam")
        page = page.send("Take it", beam_first="800")
        assert "from 800.0 to 845.0 cm was read" in page.text
        with store.work(account.club_id, writes=False) as session:
            assert models.all_models(session) == []
        assert page.send("Take it").heading.startswith("Record the present marks")

    @pytest.mark.parametrize(
        ("typed", "mark"),
        [
            ({}, "63 1/2"),
            (
                {
                    "spread_from": "130 cm",
                    "spread_to": "190 cm",
                    "spread_step": "1 cm",
                    "spread_printed": "cm",
                },
                "162",
            ),
        ],
    )
    def test_a_hall_that_reads_inches_has_round_ones_and_rulers_of_either_unit(
        self, pages: Reader, store: Store, account: Account, typed: dict[str, str], mark: str
    ) -> None:
        with store.installation(writes=True) as session:
            club = session.get(Club, account.club_id)
            assert club is not None
            club.length_unit = "in"
        page = pages.get("/apparatus/models/starters/uneven_bars")
        assert [page.value(f"low_rail_{what}") for what in ("first", "pitch")] == ["57", "2"]
        page = page.send("Take it", **typed)
        page = page.send("Record these marks", low_rail="6", high_rail="6", spread=mark)
        assert page.heading.startswith("Type a squad")

    @pytest.mark.parametrize("key", KINDS)
    def test_one_of_every_kind_is_taken_as_it_stands(
        self, pages: Reader, store: Store, account: Account, key: str
    ) -> None:
        page = pages.get("/apparatus/models/starters/").follow(KINDS[key].name)
        assert page.send("Take it").heading.startswith("Record the present marks")

        with store.work(account.club_id, writes=False) as session:
            [version] = models.all_models(session)
            [piece] = apparatus.all_pieces(session)
        assert version.model.kind.key == piece.model.kind.key == key
        assert version.reason == "A starter: nothing of it was measured yet"
        assert version.model.procedure.estimated

    def test_what_was_taped_is_corrected_there(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        with_bars(pages)
        with store.work(account.club_id, writes=False) as session:
            [piece] = apparatus.all_pieces(session)
        assert piece.name == "Bars"
        assert piece.mat_mm == 200
        assert piece.model.axis("low_rail").scale.count == 10

    @pytest.mark.parametrize(
        ("typed", "field"),
        [({"low_rail_pitch": "0"}, "low_rail_count"), ({"low_rail_first": "x"}, "low_rail_first")],
    )
    def test_what_cannot_be_is_told_at_its_scale_and_nothing_is_kept(
        self, pages: Reader, store: Store, account: Account, typed: dict[str, str], field: str
    ) -> None:
        page = pages.get("/apparatus/models/starters/uneven_bars").send("Take it", **typed)
        assert page.status == 400
        assert f"#{field}" in page.links_of_mistakes.values()
        with store.work(account.club_id, writes=False) as session:
            assert models.all_models(session) == []

    def test_a_second_press_takes_none_twice(self, pages: Reader) -> None:
        form = pages.get("/apparatus/models/starters/rings")
        form.send("Take it")
        page = form.send("Take it")
        assert page.status == 400
        assert "already" in page.mistakes[0]


class TestASquadOnOnePage:
    def test_names_and_marks_become_athletes_with_settings(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        page = with_bars(pages)
        assert page.heading == "Type a squad with its marks on Bars"

        typed = {"given0": "Ana", "family0": "Neu", "given1": "Bo"}
        page = page.send("Add these athletes", **typed, **{f"{k}0": v for k, v in MARKS.items()})
        assert page.banners[0] == "2 athletes are added."
        with store.work(account.club_id, writes=False) as session:
            bo, ana = athletes.find(session)
            [piece] = apparatus.all_pieces(session)
            kept = settings.latest(session, ana.id, piece.model_id)
            assert settings.latest(session, bo.id, piece.model_id) is None
        wanted = {axis: one.wanted_mm for axis, one in kept.setting.axes.items()}
        assert wanted["low_rail"] == 1700
        assert wanted["high_rail"] == 2500
        assert kept.as_read["low_rail"] == "mark 6 of Bars"

    def test_lines_and_rows_are_taken_together_and_ticked_where_a_rotation_is_ordered(
        self, pages: Reader
    ) -> None:
        page = with_bars(pages)
        assert "For instance: Ana Neu 6 6 160.0 or: Neu, Ana Maria 6 6 160.0." in page.text
        typed = {"given0": "Cleo", **{f"{k}0": v for k, v in MARKS.items()}}
        page = page.send("Add these athletes", lines="Ana Neu 6 6 160\n\nBo 5 5 150", **typed)
        assert page.banners[0] == "3 athletes are added."
        page = page.follow("Plan a rotation of them")
        ticked = [one for one in page.tree.iter("input") if one.get("checked") is not None]
        assert len(ticked) == 3

    def test_numbers_of_nobody_tick_nobody_where_a_rotation_is_ordered(self, pages: Reader) -> None:
        """Addresses and forms are typed by others than the desk, too."""
        with_bars(pages).send("Add these athletes", lines="Ana Neu 6 6 160")
        page = pages.get(f"/rotations/new/1?who={10**30}&who=x&who=-3&who=77")
        assert [one for one in page.tree.iter("input") if one.get("checked") is not None] == []
        page = page.send("Plan the rotation", who=["1", str(10**30)])
        assert (page.status, page.mistakes) == (400, ["Choose at least one athlete"])

    def test_a_line_that_is_not_clear_is_told_by_its_number_and_nobody_is_added(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        page = with_bars(pages).send("Add these athletes", lines="Ana Neu 6 6 160\nBo 5 5")
        assert page.links_of_mistakes.popitem()[1] == "#lines"
        assert "Line 2: 'Bo 5 5' was read; after the names" in page.mistakes[0]
        with store.work(account.club_id, writes=False) as session:
            assert athletes.find(session) == []

    def test_what_is_half_filled_in_is_told_at_its_field_and_nobody_is_added(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        page = with_bars(pages)
        page = page.send("Add these athletes", given0="Ana", low_rail0="6", low_rail1="6")

        assert page.status == 400
        assert set(page.links_of_mistakes.values()) == {"#high_rail0", "#spread0", "#given1"}
        with store.work(account.club_id, writes=False) as session:
            assert athletes.find(session) == []

    def test_rails_in_the_wrong_order_are_told_at_the_line_and_at_the_mark_and_nobody_is_added(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """A ruler for both rails lets every mark be typed, and not every two of them."""
        page = pages.get("/apparatus/models/starters/uneven_bars")
        page = page.send("Take it", piece_name="Bars", low_rail_count="30", mat="20")
        page = page.send("Record these marks", **MARKS)
        typed = {"given0": "Ana", **{f"{k}0": v for k, v in MARKS.items()}, "low_rail0": "25"}
        page = page.send("Add these athletes", lines="Bo 25 6 160", **typed)
        assert set(page.links_of_mistakes.values()) == {"#lines", "#low_rail0"}
        assert all("are the two swapped?" in mistake for mistake in page.mistakes)
        with store.work(account.club_id, writes=False) as session:
            assert athletes.find(session) == []

    def test_a_second_press_adds_nobody_twice(self, pages: Reader) -> None:
        form = with_bars(pages)
        form.send("Add these athletes", given0="Ana", family0="Neu")
        page = form.send("Add these athletes", given0="Ana", family0="Neu")

        assert page.status == 400
        assert "in the squad already" in page.mistakes[0]

    def test_all_that_is_wrong_is_told_at_once_and_nobody_is_added(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """A mark that is none, half a row, a line, two who are there: in one round."""
        form = with_bars(pages)
        form.send("Add these athletes", lines="Ana Neu\nBo Alt")
        page = form.send(
            "Add these athletes",
            lines="Ana Neu 6 6 160\nCleo 5 5",
            given0="Bo",
            family0="Alt",
            given1="Dea",
            low_rail1="99",
        )

        assert [words[:25] for words in page.mistakes] == [
            "Line 1: Neu, Ana is in th",
            "Athlete 1: Alt, Bo is in ",
            "Line 2: 'Cleo 5 5' was re",
            "Athlete 2, mark of the lo",
            "Enter the mark of the hig",
            "Enter the mark of the rai",
        ]
        with store.work(account.club_id, writes=False) as session:
            assert len(athletes.find(session)) == 2

    def test_an_empty_page_adds_nobody(self, pages: Reader) -> None:
        page = with_bars(pages).send("Add these athletes")
        assert page.mistakes == ["Enter the names of one athlete or more"]
