"""Entering a setting: typed, shown as what it becomes, and kept only then."""

import re

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.store.clubs import club_by_id
from tests.conftest import DemoClub
from tests.web.cards.making import issue
from tests.web.pages import Page, Reader, words

SHOW, KEEP = "Check, then save", "Save this setting"


@pytest.fixture
def address(demo_club: DemoClub) -> str:
    """The form of Jagna's setting for the bars by the window."""
    latest = now(demo_club)
    return f"/athletes/{latest.athlete_id}/settings/{latest.model_id}"


@pytest.fixture
def form(demo_pages: Reader, address: str) -> Page:
    return demo_pages.get(address)


def now(club: DemoClub) -> SettingVersion:
    with club.work() as session:
        jagna = athletes.find(session, "jagna")[0]
        return settings.current(session, jagna.id)[0]


def wanted_mm(club: DemoClub) -> list[int]:
    return [wanted.wanted_mm for wanted in now(club).setting.axes.values()]


def standing_in(page: Page, name: str) -> str:
    return next(box.get("value", "") for box in page.tree.iter("input") if box.get("name") == name)


def error_beside(page: Page, name: str) -> str:
    (found,) = [box for box in page.tree.iter() if box.get("id") == f"{name}-error"]
    return words(found).removeprefix("Error: ")


class TestTheForm:
    def test_what_is_kept_is_filled_in_with_its_datum_beside_it(self, form: Page) -> None:
        assert form.heading == "Setting of Jagna B. for Hall frame A"
        assert standing_in(form, "low_rail_length") == "170.0"
        assert standing_in(form, "spread_accepts") == "1.5"
        assert standing_in(form, "spread_weight") == "1"
        assert "Upper edge of the rail, above the floor." in form.text
        assert "Shortest distance between the rails' inner faces." in form.text
        assert "Marks 1 to 9." in form.text

    def test_it_becomes_what_is_shown_and_nothing_is_kept_before_the_coach_says_so(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        shown = form.send(SHOW, low_rail_length="162,5", reason="Tried <today> & fine")

        assert shown.heading == "Check the setting of Jagna B."
        assert "162.5 cm ± 1.0 cm (upper edge of the rail, above the floor)" in shown.text
        assert "Before: 170.0 cm ± 1.0 cm" in shown.text
        assert "On Bars by the window: low rail height at mark 3" in shown.text
        assert now(demo_club).version == 1

        kept = shown.send(KEEP)

        (banner,) = kept.banners
        assert banner == (
            "Version 2 of the setting of Jagna B. for Hall frame A is kept. Cards printed before"
            " it are out of date."
        )
        assert wanted_mm(demo_club) == [1625, 2500, 1700]
        latest = now(demo_club)
        assert (latest.recorded_by, latest.reason) == ("Runa Calloway", "Tried <today> & fine")
        assert latest.as_read["low_rail"] == "162,5 (cm, upper edge of the rail, above the floor)"

    def test_what_was_typed_comes_back_where_the_coach_wants_to_change_it_first(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        again = form.send(SHOW, low_rail_length="162,5", reason="Why").send(
            "Back, keeping what you typed"
        )

        assert standing_in(again, "low_rail_length") == "162,5"
        assert standing_in(again, "reason") == "Why"
        assert again.mistakes == []
        assert now(demo_club).version == 1

    def test_a_mark_stands_for_its_length_on_the_apparatus_it_is_read_at(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        """Hole 6 of these bars was taped at 175.4 cm: 175.0 is what the leaflet says."""
        shown = form.send(SHOW, low_rail_length="", low_rail_mark="6", spread_length="172.5")
        assert "Typed: mark 6 of Bars by the window" in shown.text

        shown.send(KEEP)

        assert wanted_mm(demo_club) == [1754, 2500, 1725]
        assert now(demo_club).as_read["low_rail"] == "mark 6 of Bars by the window"

    def test_a_mark_stays_a_mark_where_only_another_adjustment_is_changed(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        """“One hole up” at the high rail: nobody has typed the low rail's length."""
        form.send(SHOW, low_rail_length="", low_rail_mark="6", spread_length="172.5").send(KEEP)
        again = form.reader.get(form.address)
        again.send(SHOW, high_rail_length="", high_rail_mark="6").send(KEEP)

        told = now(demo_club).as_read
        assert told["low_rail"] == "mark 6 of Bars by the window"
        assert told["high_rail"] == "mark 6 of Bars by the window"
        assert told["spread"].startswith("172.5 ")

    def test_a_mark_of_the_leaflet_can_be_meant_too(self, form: Page, demo_club: DemoClub) -> None:
        form.send(
            SHOW, low_rail_length="", low_rail_mark="6", spread_length="172.5", marks_of="0"
        ).send(KEEP)

        assert wanted_mm(demo_club) == [1750, 2500, 1725]

    def test_of_which_apparatus_marks_are_is_not_drawn_as_what_may_stay_empty(
        self, form: Page
    ) -> None:
        """Whoever types a mark must choose it."""
        drawn = next(one for one in form.having("class", "field") if "Marks are" in words(one))
        assert "may" not in drawn.get("class", "").split()
        assert "Needed as soon as a mark is typed" in form.text

    def test_marks_of_this_apparatus_fit_it_exactly(self, form: Page) -> None:
        """Whoever types what stands before them reads no alarm about it."""
        nothing = dict.fromkeys(("low_rail_length", "high_rail_length", "spread_length"), "")
        nothing |= dict.fromkeys(("low_rail_accepts", "high_rail_accepts", "spread_accepts"), "")
        shown = form.send(SHOW, **nothing, low_rail_mark="7", high_rail_mark="3", spread_mark="160")
        assert "at mark 7 (exact)" in shown.text
        assert "Fits On Bars by the window" in shown.text

    def test_where_two_are_measured_the_form_asks_of_which_one(
        self, demo_pages: Reader, demo_club: DemoClub, address: str
    ) -> None:
        with demo_club.work(writes=True) as session:
            apparatus.add_piece(session, "Bars in the annexe", "", now(demo_club).model_id, 0)
        form = demo_pages.get(address)
        typed = {"low_rail_length": "", "low_rail_mark": "6"}
        refused = form.send(SHOW, **typed)
        assert refused.status == 400
        assert "Choose the apparatus at which the marks are read" in refused.mistakes[0]
        assert form.send(SHOW, low_rail_length="165").status == 200

    def test_where_nothing_would_change_there_is_nothing_to_keep(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        shown = form.send(SHOW)

        assert "nothing would change" in shown.text
        assert KEEP not in [words(button) for button in shown.tree.iter("button")]

    def test_how_much_an_axis_matters_and_what_is_accepted_are_kept(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        form.send(SHOW, spread_weight="9", spread_accepts="± 0,5", low_rail_accepts="").send(KEEP)

        axes = now(demo_club).setting.axes
        assert (axes["spread"].weight, axes["spread"].accepts_mm) == (9, 5)
        assert axes["low_rail"].accepts_mm == 0

    def test_a_first_setting_for_a_model_starts_empty(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session:
            horse = next(one for one in apparatus.all_pieces(session) if one.name == "Pommel horse")
        athlete = now(demo_club).athlete_id
        form = demo_pages.get(f"/athletes/{athlete}/settings/{horse.model_id}")
        assert standing_in(form, "body_length") == ""

        shown = form.send(SHOW, body_mark="c", pommels_length="43")
        assert "Before: nothing" in shown.text
        assert "Pommel horse" in shown.send(KEEP).text

    def test_rule_books_warn_before_it_is_kept(self, form: Page, demo_club: DemoClub) -> None:
        shown = form.send(SHOW, spread_length="200")

        assert "Rail spread 200.0 cm is outside 130.0 to 190.0 cm" in shown.text
        assert "Does not reach" in shown.text or "does not reach" in shown.text


NUMBERS = [
    ("low_rail_length", "", "Enter the low rail height as a length or as a mark"),
    ("low_rail_length", "tall", "Low rail height must be a number, like 250 or 247.5"),
    ("low_rail_length", "1 62", "Low rail height was read as '1 62': a number has no gap"),
    ("low_rail_length", "5 ft 4", "feet are not read, type the whole length in centimetres"),
    ("low_rail_length", "-170", "Low rail height must not be below zero"),
    ("low_rail_length", "1700", "Low rail height must be at most 400.0 cm; 1700.0 was read"),
    ("low_rail_length", "0", "Low rail height must be more than 0"),
    ("low_rail_length", "170.25", "lengths are stored to the millimetre"),
    ("low_rail_length", "1" * 200, "Low rail height must be one number"),
    ("low_rail_mark", "99", "Low rail height: mark '99' is not on this scale"),
    ("low_rail_mark", "x" * 50, "Low rail height must be one printed mark"),
    ("low_rail_accepts", "a lot", "Accepted deviation of the low rail height must be a number"),
    ("low_rail_accepts", "-1", "Accepted deviation of the low rail height must not be below zero"),
    ("low_rail_accepts", "51", "Accepted deviation of the low rail height must be at most 50.0 cm"),
    ("low_rail_weight", "0", "How much the low rail height matters must be between 1 and 9"),
    ("low_rail_weight", "ten", "How much the low rail height matters must be a whole number"),
    ("low_rail_weight", "", "How much the low rail height matters must be between 1 and 9"),
    ("spread_length", "60", "A spread of 60.0 cm cannot be"),
    ("high_rail_length", "160", "are the two swapped?"),
    ("low_rail_length", "17", "Low rail height: 17.0 cm was read, and the scale of"),
    ("low_rail_length", "260", "Low rail height: 260.0 cm was read, and the scale of"),
    ("reason", "x" * 201, "Reason must have 200 letters or fewer"),
]


class TestALengthInMetres:
    @pytest.mark.parametrize(
        ("typed", "said"),
        [
            (
                "1.65",
                "was read as '1.65': 100.0 to 300.0 cm is usual; in metres it would be 165.0 cm",
            ),
            ("1,65 m", "that is 165 cm, type 165 if it is meant"),
            ("1650", "1650.0 was read: in millimetres it would be 165.0 cm, type that if it is"),
            ("1.7", "In metres it would be 170.0 cm."),
        ],
    )
    def test_what_is_likely_meant_is_named_and_nothing_is_changed(
        self, form: Page, typed: str, said: str
    ) -> None:
        page = form.send(SHOW, low_rail_length=typed)

        assert said in page.text
        assert standing_in(page, "low_rail_length") == typed

    def test_what_is_not_read_is_told_without_a_unit(self, form: Page) -> None:
        page = form.send(SHOW, low_rail_length="1,65 m", spread_length="171")

        assert "You typed: low rail height “1,65 m”; rail spread 171 cm." in page.text


class TestALengthThatMayBeASlip:
    """Inches, metres, a digit lost: hardly a setting, and still the coach's to say."""

    @pytest.mark.parametrize(
        ("typed", "asked"),
        [
            (
                {"low_rail_length": "95", "high_rail_length": "175"},
                "Low rail height: 95.0 cm was read, 100.0 to 300.0 cm is usual",
            ),
            ({"spread_length": "260"}, "Rail spread: 260.0 cm was read, 80.0 to 250.0 cm is usual"),
            (
                {"low_rail_length": "230", "high_rail_length": "390"},
                "High rail height: 390.0 cm was read",
            ),
        ],
    )
    def test_it_is_asked_about_and_kept_as_it_was_typed(
        self, form: Page, demo_club: DemoClub, typed: dict[str, str], asked: str
    ) -> None:
        shown = form.send(SHOW, **typed)
        assert asked in shown.text
        assert now(demo_club).version == 1

        shown.send(KEEP)
        kept = now(demo_club).setting.axes
        for name, length in typed.items():
            assert kept[name.removesuffix("_length")].wanted_mm == 10 * int(length)

    def test_kept_without_a_look_it_is_asked_about_first(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        shown = form.send(SHOW, low_rail_length="165")
        page = shown.send(KEEP, low_rail_length="98", high_rail_length="180")
        assert "Is this right?" in page.text
        assert now(demo_club).version == 1

    def test_a_usual_one_is_not(self, form: Page) -> None:
        assert "Is this right?" not in form.send(SHOW, low_rail_length="165").text


class TestWhatCannotBeRead:
    @pytest.mark.parametrize(("name", "typed", "sentence"), NUMBERS)
    def test_it_is_said_beside_its_field_and_all_that_was_typed_stays(
        self, name: str, typed: str, sentence: str, form: Page, demo_club: DemoClub
    ) -> None:
        page = form.send(SHOW, **{"high_rail_length": "251", name: typed})

        assert page.status == 400
        assert sentence in error_beside(page, name)
        assert sentence in page.mistakes[0]
        assert standing_in(page, name) == typed
        assert standing_in(page, "high_rail_length") == (
            typed if name == "high_rail_length" else "251"
        )
        assert now(demo_club).version == 1

    def test_a_length_and_a_mark_are_one_too_many(self, form: Page) -> None:
        page = form.send(SHOW, low_rail_mark="5")

        assert error_beside(page, "low_rail_length") == (
            "Low rail height has a length and a mark: leave the one that counts and clear the other"
        )

    def test_keeping_without_looking_is_checked_just_the_same(
        self, form: Page, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        values = {
            "csrf_token": standing_in(form, "csrf_token"),
            "low_rail_length": "300",
            "do": "keep",
        }

        assert demo_pages.post(address, values).status == 400
        assert now(demo_club).version == 1


class TestTwoCoachesAtOnce:
    """What one has not touched is as the other has saved it; what one typed is kept, and said."""

    def other_saves(self, reader: Reader, address: str, **typed: str) -> None:
        reader.get(address).send(SHOW, **typed).send(KEEP)

    @pytest.mark.parametrize("press", [SHOW, KEEP])
    def test_the_second_is_told_and_the_next_press_undoes_nothing(
        self, form: Page, demo_pages: Reader, address: str, demo_club: DemoClub, press: str
    ) -> None:
        late = form if press == SHOW else form.send(SHOW, low_rail_length="160")
        self.other_saves(demo_pages, address, spread_length="171", spread_weight="3")

        refused = late.send(press, low_rail_length="160")

        assert refused.status == 400
        assert "changed meanwhile by Runa Calloway" in refused.mistakes[0]
        assert error_beside(refused, "spread_length") == (
            "Rail spread: 171.0 cm is stored now, and was 170.0 cm when you opened the form. You"
            " left it alone, so it is taken over here"
        )
        assert "is filled in, except where you typed" in refused.text
        assert "You typed: low rail height 160" in refused.text
        assert standing_in(refused, "spread_length") == "171.0"
        assert standing_in(refused, "spread_weight") == "3"
        assert standing_in(refused, "low_rail_length") == "160"
        assert wanted_mm(demo_club) == [1700, 2500, 1710]

        refused.send(SHOW).send(KEEP)
        assert wanted_mm(demo_club) == [1600, 2500, 1710]

    def test_what_both_changed_is_told_and_stays_as_it_was_typed(
        self, form: Page, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        self.other_saves(demo_pages, address, low_rail_length="175")

        refused = form.send(SHOW, low_rail_length="", low_rail_mark="6")

        assert "175.0 cm is stored now" in error_beside(refused, "low_rail_length")
        assert standing_in(refused, "low_rail_length") == ""
        assert standing_in(refused, "low_rail_mark") == "6"
        assert "You typed: low rail height nothing; mark of the low rail height “6”" in refused.text
        refused.send(SHOW).send(KEEP)
        assert wanted_mm(demo_club) == [1754, 2500, 1700]

    def test_a_mark_that_the_other_has_typed_stays_one(
        self, form: Page, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        self.other_saves(demo_pages, address, low_rail_length="", low_rail_mark="6")
        form.send(SHOW, spread_length="171").send(SHOW).send(KEEP)
        assert wanted_mm(demo_club) == [1754, 2500, 1710]
        assert now(demo_club).as_read["low_rail"] == "mark 6 of Bars by the window"

    def test_where_lengths_were_not_filled_in_it_is_told_how_they_are_kept(
        self, form: Page, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        there = form.send("Use these points", heights="mat-upper", mats="20")
        self.other_saves(demo_pages, address, spread_length="171")
        typed = {"low_rail_length": "151", "high_rail_length": "230", "spread_length": "170"}

        refused = there.send(SHOW, **typed)

        assert "171.0 cm" in error_beside(refused, "spread_length")
        assert standing_in(refused, "spread_length") == "170"
        refused.send(SHOW).send(KEEP)
        assert wanted_mm(demo_club) == [1710, 2500, 1700]

    def test_for_another_purpose_too(
        self, form: Page, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        training = f"{address}?purpose=training"
        self.other_saves(demo_pages, training, spread_length="165")
        late = demo_pages.get(training)
        self.other_saves(demo_pages, training, spread_length="166")
        refused = late.send(SHOW, low_rail_length="160")
        assert standing_in(refused, "spread_length") == "166.0"
        assert standing_in(refused, "low_rail_length") == "160"
        assert wanted_mm(demo_club) == [1700, 2500, 1700]

    def test_a_second_press_keeps_it_once(self, form: Page, demo_club: DemoClub) -> None:
        shown = form.send(SHOW, low_rail_length="175")
        shown.send(KEEP)

        assert "Version 2" in shown.send(KEEP).banners[0]
        assert now(demo_club).version == 2


class TestLengthsTakenBetweenOtherPoints:
    def test_the_datum_chosen_once_stands_at_every_length_and_is_converted(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        """By hand: 150 cm to the upper edge over 20 cm of mat is 170 cm from the floor."""
        there = form.send("Use these points", heights="mat-upper", mats="20")
        assert there.text.count("Upper edge of the rail, above the mat.") == 2
        assert standing_in(there, "low_rail_length") == ""
        assert standing_in(there, "low_rail_accepts") == "1.0"

        shown = there.send(SHOW, low_rail_length="151", high_rail_length="230", spread_length="170")
        assert "171.0 cm ± 1.0 cm (upper edge of the rail, above the floor)" in shown.text
        assert "Typed: 151 (cm, upper edge of the rail, above the mat of 20.0 cm)" in shown.text

        shown.send(KEEP)
        assert wanted_mm(demo_club) == [1710, 2500, 1700]

    def test_a_horizontal_spread_is_converted_with_the_heights(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        """By hand: 150 across and 80 up is 170 along, less a rail of 4 cm."""
        there = form.send("Use these points", spread="centres_horizontal")

        there.send(SHOW, low_rail_length="170", high_rail_length="250", spread_length="150").send(
            KEEP
        )

        assert wanted_mm(demo_club) == [1700, 2500, 1660]

    def test_mats_that_are_not_those_on_record_are_asked_about(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        """Mats of 20 cm, typed where 10 lie: every height would be 10 cm too high."""
        with demo_club.work(writes=True) as session:
            [piece] = [
                one for one in apparatus.all_pieces(session) if one.name == "Bars by the window"
            ]
            apparatus.change_piece(session, piece.id, piece.name, piece.place, 100)
        lengths = {"low_rail_length": "151", "high_rail_length": "230", "spread_length": "170"}
        said = "Bars by the window has 10.0 cm"
        there = form.send("Use these points", heights="mat-upper", mats="20")
        assert said in there.send(SHOW, **lengths).text
        there = form.send("Use these points", heights="mat-upper", mats="10")
        assert said not in there.send(SHOW, **lengths).text

    def test_heights_above_the_mat_need_its_thickness(self, form: Page) -> None:
        there = form.send("Use these points", heights="mat-upper", mats="")

        assert there.status == 400
        assert there.mistakes == ["Enter how thick the mats are that heights are taken above"]
        assert SHOW not in [words(button) for button in there.tree.iter("button")]

    @pytest.mark.parametrize("typed", ["thick", "-20", "2 0"])
    def test_a_thickness_that_is_none_is_said(self, typed: str, form: Page) -> None:
        there = form.send("Use these points", heights="mat-upper", mats=typed)

        assert there.mistakes[0].startswith("Mats ")

    @pytest.mark.parametrize(
        "question", ["heights=moon", "heights=mat-x", "heights=&spread=", "spread=wide"]
    )
    def test_a_datum_that_is_none_is_asked_for_again(
        self, question: str, demo_pages: Reader, address: str
    ) -> None:
        page = demo_pages.get(f"{address}?{question}")

        assert page.status == 400
        assert page.mistakes[0].startswith("Choose ")

    def test_a_surface_has_no_underside_to_choose(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work() as session:
            beam = next(one for one in apparatus.all_pieces(session) if "Beam" in one.name)
        athlete = now(demo_club).athlete_id

        page = demo_pages.get(f"/athletes/{athlete}/settings/{beam.model_id}")

        assert "underside" not in page.response.text
        assert "The spread is taken as" not in page.text


class TestTakingWhatStandsThere:
    def test_the_form_is_filled_in_with_what_a_tape_finds_there(
        self, form: Page, demo_club: DemoClub
    ) -> None:
        """The bars by the window stand at marks 5, 5 and 170.0 of their own scales."""
        there = form.follow("Take the present marks of Bars by the window")

        assert standing_in(there, "low_rail_length") == "170.4"
        assert standing_in(there, "spread_accepts") == "1.5"
        assert standing_in(there, "reason").startswith("As it stood on Bars by the window on ")

        there.send(SHOW).send(KEEP)
        assert wanted_mm(demo_club) == [1704, 2497, 1697]
        assert list(now(demo_club).as_read.values()) == [
            f"mark {label} of Bars by the window" for label in ("5", "5", "170.0")
        ]

    @pytest.mark.parametrize("piece", ["x", "9999", "4"])
    def test_an_apparatus_of_another_model_or_none_is_left_aside(
        self, piece: str, demo_pages: Reader, address: str
    ) -> None:
        assert standing_in(demo_pages.get(f"{address}?from={piece}"), "low_rail_length") == "170.0"


class TestInches:
    def test_an_untouched_length_is_kept_to_the_millimetre(
        self, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        """66 7/8 inches would be 169.9 cm: what nobody typed must not move."""
        with demo_club.work(writes=True) as session:
            club_by_id(session, demo_club.account.club_id).length_unit = "in"
        form = demo_pages.get(address)
        assert standing_in(form, "low_rail_length") == "66 7/8"

        form.send(SHOW, high_rail_length="8' 2 1/2\"", spread_length="66-7/8").send(KEEP)

        assert wanted_mm(demo_club) == [1700, 2502, 1699]

    def test_refusals_and_warnings_are_in_inches_too(
        self, demo_pages: Reader, address: str, demo_club: DemoClub
    ) -> None:
        """A figure in centimetres would not be the one that was typed."""
        with demo_club.work(writes=True) as session:
            club_by_id(session, demo_club.account.club_id).length_unit = "in"
        form = demo_pages.get(address)

        swapped = form.send(SHOW, low_rail_length="98 1/2", high_rail_length="67")
        assert "Low rail height (98 1/2 in) must be less than high rail height (67 in)" in (
            swapped.text
        )
        near = form.send(SHOW, spread_length="1")
        assert "A spread of 1 in cannot be: the rails are 31 1/2 in apart" in near.text
        wide = form.send(SHOW, spread_length="98")
        assert "98 in (248.9 cm) is outside 51 1/4 to 74 3/4 in (130.0 to 190.0 cm)" in wide.text
        assert "is wanted; 3/8 in (1.0 cm) is accepted" in wide.text


class TestWhatElseMoves:
    """One hole up for one rail, and the nearest marks of the others may be others too."""

    @pytest.fixture
    def shown(self, form: Page) -> Page:
        return form.send(SHOW, high_rail_length="", high_rail_mark="6")

    def test_a_mark_that_moves_is_said_also_where_its_length_stays(self, shown: Page) -> None:
        assert "Bars by the window: mark 5 before, 6 now: the crew will move it" in shown.text
        assert "Typed: 170.0 (cm, shortest distance" in shown.text
        moved = re.search(
            r"Length unchanged ! Moves Bars by the window: mark 170\.0 before, (\S+) now",
            shown.text,
        )
        assert moved is not None
        assert "rail spread goes from 170.0 to " + moved[1] in shown.text

    def test_unchanged_is_said_where_the_mark_stays_too(self, shown: Page) -> None:
        low = next(words(one) for one in shown.having("class", "facts") if "Low rail" in words(one))
        assert "Unchanged High rail height" in low

    def test_the_other_marks_can_be_left_and_their_lengths_follow(
        self, shown: Page, demo_club: DemoClub
    ) -> None:
        left = shown.send("Leave this mark as before on Bars by the window")
        assert "Typed: mark 170.0 of Bars by the window" in left.text
        assert "Bars by the window: mark 170.0 before" not in left.text
        assert "More moves than was changed" not in left.text
        assert wanted_mm(demo_club) == [1700, 2500, 1700]

        left.send(KEEP)
        with demo_club.work() as session:
            window = apparatus.piece(session, 1)
            marks = settings.on_piece(session, [now(demo_club).athlete_id], window)
            (own,) = marks.values()
        assert list(window.model.marks(own.transfer.best.setup).values()) == ["5", "6", "170.0"]
        assert now(demo_club).as_read["spread"] == "mark 170.0 of Bars by the window"

    def test_nothing_is_offered_where_nothing_else_moves(self, form: Page) -> None:
        shown = form.send(SHOW, spread_length="172.0")
        assert "Leave th" not in shown.text


class TestNoteForTheCrew:
    """What whoever sets the bars should know besides the marks, in the coach's words."""

    ADDRESS = "/athletes/1/settings/1/crew-note"

    def written(self, pages: Reader, words: str) -> Page:
        return pages.get(self.ADDRESS).send("Save the note", words=words)

    def test_is_shown_to_the_coach_at_the_bars_and_on_the_cards_page(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        athlete = self.written(demo_pages, "Board on the left; block <2>")
        assert athlete.heading == "Bąkiewicz, Jagna"
        assert "For the crew: Board on the left; block <2>" in athlete.text
        assert "Board on the left" in demo_pages.get("/athletes/1/settings/1").text
        bars = demo_pages.get("/rotations/1").send("Take it to the bars")
        assert "For the crew: Board on the left; block <2>" in bars.text
        card = Reader(demo_pages.app).get(issue(demo_club))
        assert "For the crew: Board on the left; block <2>" in card.text

    def test_is_changed_and_taken_away(self, demo_pages: Reader) -> None:
        self.written(demo_pages, "Board on the left")
        again = demo_pages.get("/athletes/1").follow("Change the note for the crew on Hall frame A")
        assert again.value("words") == "Board on the left"
        gone = again.send("Save the note", words="")
        assert "For the crew" not in gone.text
        assert "Write a note for the crew on Hall frame A" in gone.links

    @pytest.mark.parametrize(
        ("words", "mistake"),
        [
            ("x" * 121, "must have 120 letters or fewer; it has 121"),
            ("Board left 🙂", "cannot be printed on a card"),
            ("Board\x00left", "holds a character that cannot be seen"),
        ],
    )
    def test_what_no_card_can_carry_is_said_and_kept_in_its_box(
        self, demo_pages: Reader, words: str, mistake: str
    ) -> None:
        page = self.written(demo_pages, words)
        assert page.status == 400
        assert mistake in page.mistakes[0]
        assert page.value("words") == words.replace("\x00", "\ufffd")

    def test_warns_of_what_does_not_belong_into_it(self, demo_pages: Reader) -> None:
        assert "no name and nothing about health" in demo_pages.get(self.ADDRESS).text
