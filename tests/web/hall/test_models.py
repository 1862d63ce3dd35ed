"""Apparatus models on the page: looked up, added, changed, with every slip said in words."""

from dataclasses import replace

import pytest

from settingsdesk.desk.hall import models
from settingsdesk.domain.hall.scales import RegularScale, TabulatedScale
from settingsdesk.store.clubs import Club
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import Hall, furnish
from tests.web.pages import Page, Reader, words

TIMES = {"handling": "8", "up": "4", "down": "3"}
BEAM = {
    "name": "Beam Z",
    "beam_first": "80",
    "beam_pitch": "5",
    "beam_count": "10",
    "beam_label": "1",
    "beam_may_differ": "2",
}
BARS = {
    "name": "Frame Z",
    "section_height": "4",
    "section_width": "4",
    "low_rail_first": "150",
    "low_rail_pitch": "5",
    "low_rail_count": "9",
    "low_rail_label": "1",
    "low_rail_may_differ": "2",
    "high_rail_first": "230",
    "high_rail_pitch": "5",
    "high_rail_count": "9",
    "high_rail_label": "A",
    "high_rail_may_differ": "2",
    "spread_from": "130",
    "spread_to": "190",
    "spread_step": "1",
    "reference_drop": "80",
    "tensioners": "2",
    "slacken": "10",
    "tension": "18",
}


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


def new(pages: Reader, kind: str) -> Page:
    page = pages.get("/apparatus/models/new").send("Go on", kind=kind)
    assert page.heading.startswith("Add a model: ")
    return page


class TestANewModel:
    def test_its_times_begin_with_estimates_so_that_orders_differ(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """With no times at all every order took 0:00 min, and was said to be proven best."""
        page = new(pages, "uneven_bars").send("Save the model", **BARS)

        assert "Not all of these times have been measured yet" in page.text
        with store.work(account.club_id, writes=False) as session:
            (version,) = models.all_models(session)
        assert version.model.axis("low_rail").times.handling_s > 0
        assert version.model.procedure.walk_round_s > 0
        assert version.model.procedure.estimated

    def test_the_way_goes_on_to_an_apparatus_of_it(self, pages: Reader) -> None:
        page = new(pages, "uneven_bars").send("Save the model", **BARS)

        form = page.follow("Add an apparatus of this model")

        chosen = [one for one in form.tree.iter("option") if one.get("selected") is not None]
        assert [words(one) for one in chosen] == ["Uneven bars: Frame Z"]


class TestLookingUp:
    def test_the_list_has_every_model_with_its_range(self, pages: Reader, hall: Hall) -> None:
        page = pages.get("/apparatus/models/")

        assert set(hall.models) <= set(page.links)
        assert "A to R143.5 cm to 186.0 cm" in page.text

    def test_every_model_of_the_seed_has_a_page(self, pages: Reader, hall: Hall) -> None:
        for name in hall.models:
            page = pages.get(f"/apparatus/models/{hall.models[name]}")
            assert page.heading == name
            assert "Estimate" in page.text

    def test_marks_read_to_the_underside_are_told_to_the_upper_edge_too(
        self, pages: Reader, hall: Hall
    ) -> None:
        """What is printed and what the desk keeps stand beside each other."""
        page = pages.get("/apparatus/models/").follow("Travel frame B")

        assert "A143.5 cm147.5 cm" in page.text
        assert "underside of the rail, above the floor" in page.text

    def test_a_long_ruler_is_told_by_its_ends(self, pages: Reader, hall: Hall) -> None:
        page = pages.get("/apparatus/models/").follow("Hall frame A")

        assert "61 marks" in page.text
        assert "132.0132.0 cm ……188.0188.0 cm" in page.text

    def test_a_leaning_frame_says_what_its_scales_read(self, pages: Reader, hall: Hall) -> None:
        page = pages.get("/apparatus/models/").follow("Leaning frame C")

        assert "every move shifts the other lengths a little" in page.text
        assert "centre of the rail, along the upright from its pivot" in page.text

    def test_one_that_is_not_there_is_said_so(self, pages: Reader) -> None:
        assert pages.get("/apparatus/models/77").status == 404
        assert pages.get("/apparatus/models/new/trampoline").status == 404

    def test_rails_whose_scales_cross_are_warned_about_and_kept(
        self, pages: Reader, hall: Hall
    ) -> None:
        """A slip in a leaflet's figures, or in typing them, is seen before anybody sets by it."""
        page = pages.get("/apparatus/models/").follow("Hall frame A").follow("Change the model")
        said = "The scale of the low rail lies above that of the high rail"
        assert said not in page.text

        preview = page.send("Show the marks first", low_rail_first="250.0", reason="as printed")
        assert said in preview.text
        kept = preview.send("Save the model")

        assert kept.heading == "Hall frame A"
        assert said in kept.text


class TestAdding:
    def test_the_stops_can_be_seen_before_anything_is_saved(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        page = new(pages, "balance_beam").send("Show the marks first", **BEAM)

        assert "Nothing is saved yet" in page.text
        assert "10125.0 cm" in page.text
        with store.work(account.club_id, writes=False) as session:
            assert models.all_models(session) == []

    def test_bars_are_saved_with_all_that_was_typed(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        page = new(pages, "uneven_bars").send(
            "Save the model",
            **BARS,
            **{f"low_rail_{what}": seconds for what, seconds in TIMES.items()},
            low_rail_edge="underside",
            spread_datum="inner",
        )
        assert "a tape would find 158.1 cm. Is the drop" in page.text
        page = page.send("Save the model")

        assert page.banners == ["Frame Z is added."]
        assert "a drop of 80.0 cm between the rails" in page.text
        with store.work(account.club_id, writes=False) as session:
            (version,) = models.all_models(session)
        low, high, _ = version.model.axes
        assert low.scale == RegularScale(1500, 50, 9)
        assert (low.times.handling_s, low.times.up_s, low.times.down_s) == (8, 4, 3)
        assert high.scale.label(8) == "I"
        assert version.recorded_by == "Edda Quill"
        assert version.model.procedure.slacken_s == 10

    def test_another_shape_of_scale_shows_its_fields_and_keeps_the_rest(
        self, pages: Reader
    ) -> None:
        """Choosing again costs nothing that was typed."""
        page = new(pages, "balance_beam")
        page = page.send("Show the fields for this choice", **BEAM, beam_shape="table")
        assert page.status == 200
        assert page.mistakes == []
        (name,) = page.having("name", "name")
        assert name.get("value") == "Beam Z"

        page = page.send("Show the fields for this choice", beam_shape="regular")
        (first,) = page.having("name", "beam_first")
        assert first.get("value") == "80"

    def test_stops_are_listed_one_a_line(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """Marks of any sort are copied from the apparatus as they are."""
        page = new(pages, "balance_beam")
        page = page.send("Show the fields for this choice", name="Beam Z", beam_shape="table")
        page = page.send(
            "Save the model", beam_may_differ="1", beam_stops="80 80\r\n\r\ntop hole; 125,0 cm"
        )

        assert page.banners == ["Beam Z is added."]
        with store.work(account.club_id, writes=False) as session:
            (version,) = models.all_models(session)
        assert version.model.axes[0].scale == TabulatedScale((("80", 800), ("top hole", 1250)))

    @pytest.mark.parametrize("line", ["top hole; 150.0", "top: 150.0", "top = 150", "top\t150"])
    def test_a_mark_and_its_length_are_parted_as_people_part_them(
        self, pages: Reader, line: str
    ) -> None:
        page = new(pages, "balance_beam")
        page = page.send("Show the fields for this choice", beam_shape="table", name="Beam")
        page = page.send("Show the marks first", beam_stops=line, beam_may_differ="2")
        [stop] = [words(row) for row in page.tree.iter("tr") if words(row).startswith("top")]
        assert stop in {"top 150.0 cm", "top hole 150.0 cm", "top150.0 cm", "top hole150.0 cm"}

    def test_a_leaning_frame_asks_for_its_feet(self, pages: Reader) -> None:
        page = new(pages, "uneven_bars")
        page = page.send("Show the fields for this choice", **BARS, geometry="leaning")
        page = page.send(
            "Save the model",
            foot_distance="120",
            spreader_at="90",
            pivot_height="6",
            spread_from="113",
            spread_to="148",
        )

        assert page.banners == ["Frame Z is added."]
        assert "Spreader fastened at" in page.text

    def test_a_pitch_of_a_quarter_centimetre_and_an_inch_are_kept_exactly(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """Twenty stops would add up what one rounding leaves."""
        new(pages, "balance_beam").send("Save the model", **BEAM | {"beam_pitch": "1,25"})
        with store.installation(writes=True) as session:
            club = session.get(Club, account.club_id)
            assert club is not None
            club.length_unit = "in"
        inches = {"name": "Beam Y", "beam_first": "31 1/2", "beam_pitch": "2,54 cm"}
        new(pages, "balance_beam").send("Save the model", **BEAM | inches)

        with store.work(account.club_id, writes=False) as session:
            scales = {one.model.name: one.model.axes[0].scale for one in models.all_models(session)}
        assert scales["Beam Z"] == RegularScale(800, 12.5, 10)
        assert scales["Beam Y"] == RegularScale(800.1, 25.4, 10)


NO_DROP = {**BARS, "reference_drop": ""}


class TestTheDropBetweenSlantingRails:
    """Read as that of level rails, a spread of 162 cm became the mark 144."""

    def test_a_spread_that_hangs_on_it_is_refused_without_and_the_middle_is_offered(
        self, pages: Reader
    ) -> None:
        page = new(pages, "uneven_bars").send("Save the model", **NO_DROP)

        assert page.status == 400
        assert any(
            "The middle of the height scales would be 80.0 cm" in said for said in page.mistakes
        )

    def test_the_one_offered_is_taken_with_one_press_and_looked_at_before_it_is_saved(
        self, pages: Reader
    ) -> None:
        page = new(pages, "uneven_bars").send("Save the model", **NO_DROP)
        page = page.send("Take 80.0 cm, the middle of the height scales")
        assert "Nothing is saved yet" in page.text

        saved = page.send("Save the model")
        assert saved.banners == ["Frame Z is added."]
        assert "a drop of 80.0 cm between the rails" in saved.text

    @pytest.mark.parametrize("datum", ["inner", "centres_diagonal"])
    def test_whichever_slanting_line_it_is_read_along(self, pages: Reader, datum: str) -> None:
        page = new(pages, "uneven_bars").send("Save the model", **NO_DROP, spread_datum=datum)
        assert page.status == 400

    def test_a_scale_that_is_read_horizontally_needs_none(self, pages: Reader) -> None:
        page = new(pages, "uneven_bars").send(
            "Save the model", **NO_DROP, spread_datum="centres_horizontal"
        )
        assert page.banners == ["Frame Z is added."]

    def test_scales_that_cross_have_no_middle_to_offer(self, pages: Reader) -> None:
        page = new(pages, "uneven_bars").send(
            "Save the model", **{**NO_DROP, "low_rail_first": "240"}
        )
        assert page.status == 400
        assert "The middle of the height scales" not in page.text


class TestWhatIsAskedBeforeItIsKept:
    """A slip in one figure moves every mark of the apparatus; a strange one may still be right."""

    @pytest.mark.parametrize(
        ("typed", "asked"),
        [
            ({"reference_drop": "8"}, "mark 160.0 reads 160.0 cm, but with the rails 80.0 cm"),
            ({"low_rail_first": "15", "low_rail_pitch": "0.5"}, "from 15.0 to 19.0 cm was read"),
            ({"spread_from": "300", "spread_to": "380"}, "80.0 to 250.0 cm is usual"),
        ],
    )
    def test_a_figure_that_may_be_a_slip_is_asked_and_kept_when_it_is_sent_again(
        self, pages: Reader, store: Store, account: Account, typed: dict[str, str], asked: str
    ) -> None:
        page = new(pages, "uneven_bars").send("Save the model", **{**BARS, **typed})
        assert asked in page.text
        with store.work(account.club_id, writes=False) as session:
            assert models.all_models(session) == []

        assert page.send("Save the model").banners == ["Frame Z is added."]

    def test_another_slip_is_asked_anew(self, pages: Reader) -> None:
        page = new(pages, "balance_beam").send("Save the model", **BEAM | {"beam_first": "8"})
        page = page.send("Save the model", beam_first="9")
        assert "from 9.0 to 54.0 cm was read" in page.text
        assert page.banners == []

    def test_what_was_kept_once_is_not_asked_again(self, pages: Reader) -> None:
        page = new(pages, "balance_beam").send("Save the model", **BEAM | {"beam_first": "8"})
        page = page.send("Save the model").follow("Change the model")

        page = page.send("Save the model", walk_round="12", reason="timed")
        assert page.banners == ["The model is changed."]


class TestSlips:
    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"name": ""}, "Enter the name of the model"),
            ({"name": "Frame A" * 20}, "must have 60 letters or fewer"),
            ({"beam_first": ""}, "Enter the beam height, lowest mark"),
            ({"beam_first": "eighty"}, "Beam height, lowest mark must be a number"),
            ({"beam_first": "1 62"}, "a number has no gap, type 162"),
            ({"beam_first": "5 ft 4"}, "feet are not read"),
            ({"beam_pitch": "0"}, "The distance from mark to mark must be more than 0"),
            ({"beam_pitch": "-5"}, "must not be below zero"),
            ({"beam_pitch": "2.545"}, "lengths are stored to the millimetre"),
            ({"beam_count": "0"}, "number of marks must be between 1 and 5000"),
            ({"beam_count": "ten"}, "number of marks must be a whole number"),
            ({"beam_pitch": "5000", "beam_count": "5000"}, "A scale must end within 100 metres"),
            ({"beam_label": "A1"}, "must be a number like 1, or a letter like A; 'A1' was read"),
            ({"beam_handling": "4000"}, "unlock and lock one end must be between 0 and 3600"),
            ({"slacken": "5"}, "An apparatus without tensioners has no time to slacken"),
            ({"tensioners": "9"}, "Tensioners on each side must be between 0 and 4"),
        ],
    )
    def test_the_field_says_what_to_do_and_the_rest_is_kept(
        self, pages: Reader, typed: dict[str, str], mistake: str
    ) -> None:
        page = new(pages, "balance_beam").send("Save the model", **{**BEAM, **typed})

        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes), page.mistakes
        (label,) = page.having("name", "beam_label")
        assert label.get("value") == typed.get("beam_label", "1")

    @pytest.mark.parametrize(
        ("stops", "mistake"),
        [
            ("", "Enter the beam height, marks"),
            ("80", "line 1 must have a mark and a length, like 1 150.0; '80' was read"),
            ("80 80\n90 abc", "Beam height, marks, line 2 must be a number"),
            ("80 80\n80 90", "Two stops are labelled '80'"),
            ("80 80\n90 70", "Stop '90' at 70.0 cm must lie beyond the stop before it"),
            ("; 80", "Each mark must have a name"),
        ],
    )
    def test_a_list_of_stops_names_the_line(self, pages: Reader, stops: str, mistake: str) -> None:
        page = new(pages, "balance_beam")
        page = page.send("Show the fields for this choice", name="Beam Z", beam_shape="table")
        page = page.send("Save the model", beam_may_differ="1", beam_stops=stops)

        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes), page.mistakes

    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"section_height": "0"}, "must be between 0 and 20.0 cm each way"),
            ({"spread_to": "120"}, "A ruler must rise"),
            ({"reference_drop": "170"}, "A spread of 130.0 cm cannot be"),
            ({"low_rail_edge": "sole"}, "Choose to where the low rail height is read"),
            ({"low_rail_shape": "wheel"}, "Choose the scale of the low rail height"),
        ],
    )
    def test_bars_that_cannot_stand_are_refused(
        self, pages: Reader, typed: dict[str, str], mistake: str
    ) -> None:
        page = new(pages, "uneven_bars").send("Save the model", **{**BARS, **typed})

        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes), page.mistakes

    def test_a_kind_must_be_chosen(self, pages: Reader) -> None:
        page = pages.get("/apparatus/models/new").send("Go on")
        assert page.mistakes == ["Choose the apparatus kind"]


class TestChanging:
    def test_saving_without_a_change_makes_no_version(self, pages: Reader, hall: Hall) -> None:
        """A model comes through its form unharmed, whatever its scales are."""
        for name in hall.models:
            page = pages.get(f"/apparatus/models/{hall.models[name]}").follow("Change the model")
            page = page.send("Save the model", reason="only looked")
            assert page.banners == ["Nothing differs: the model stays as it was."], name

    def test_a_change_needs_a_reason_and_stands_in_the_history(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = pages.get(f"/apparatus/models/{hall.models['Hall frame A']}")
        page = page.follow("Change the model").send("Save the model", low_rail_first="150.5")
        assert page.mistakes == ["Say in a few words why the model is changed"]

        page = page.send("Save the model", reason="read again at the frame")
        assert page.banners == ["The model is changed."]
        assert "read again at the frame" in page.text
        assert "150.5 cm" in page.text

    def test_how_far_the_ends_may_differ_is_asked_and_shown(
        self, pages: Reader, hall: Hall
    ) -> None:
        """Where the maker limits it, no end is moved far ahead of the other."""
        page = pages.get(f"/apparatus/models/{hall.models['Hall frame A']}/change")
        page = page.send("Save the model", low_rail_may_differ="0", reason="leaflet")
        [mistake] = page.mistakes
        assert mistake.startswith("Low rail height, how far its ends may differ")
        assert mistake.endswith("must be between 1 and 99")

        page = page.send("Save the model", low_rail_may_differ="1")
        assert "they may differ by 1 mark while they are moved" in page.text

    def test_what_somebody_else_changed_meanwhile_is_looked_at_first(
        self, pages: Reader, store: Store, hall: Hall
    ) -> None:
        """Two coaches with the same form open do not undo each other's work unseen."""
        page = pages.get(f"/apparatus/models/{hall.models['Beam A']}/change")
        with store.work(hall.club_id, by="Bo", writes=True) as session:
            present = models.model(session, hall.models["Beam A"]).model
            renamed = replace(present, name="Beam of the stage")
            models.change_model(session, hall.models["Beam A"], renamed, "moved", 1)

        page = page.send("Save the model", name="Beam B", reason="renamed")
        assert page.status == 400
        assert "Bo has changed this model since you opened it (version 2)" in page.mistakes[0]
        assert page.send("Save the model").heading == "Beam B"

    def test_a_name_that_another_model_has_is_refused_at_its_field(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = pages.get(f"/apparatus/models/{hall.models['Hall frame A']}/change")
        page = page.send("Save the model", name="Beam A", reason="renamed")

        assert page.status == 400
        assert "There is already an apparatus model named 'Beam A'" in page.mistakes[0]
