"""Calibrating on the page: typed, worked out, looked at, used, set aside."""

import pytest

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.typed_marks import in_words
from settingsdesk.domain.settings.transfer import setting_of_setup, transfer
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import Hall, furnish
from tests.web.pages import Page, Reader


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


@pytest.fixture
def form(pages: Reader, hall: Hall) -> Page:
    """The empty form for the low rail."""
    return pages.get(f"/apparatus/{hall.bars}").follow("Calibrate the low rail height")


def lines(*readings: tuple[str, str]) -> dict[str, object]:
    """Marks and lengths as the fields of the form."""
    typed: dict[str, object] = {}
    for number, (mark, length) in enumerate(readings, start=1):
        typed |= {f"mark_{number}": mark, f"length_{number}": length}
    return typed


GOOD = lines(("1", "150.4"), ("3", "160,4"), ("5", "170.4 cm"), ("7", "180.4"), ("9", "190.4"))
ONE_WRONG = GOOD | {"length_3": "172.9", "mark_6": "6", "length_6": "175.4"}


class TestWorkingItOut:
    def test_offset_pitch_and_scatter_are_shown_before_anything_is_kept(
        self, form: Page, hall: Hall
    ) -> None:
        """The coach looks first: a scale in use changes every mark on every card."""
        page = form.send("Work it out", **GOOD)

        assert page.status == 200
        assert "150.4 cm; the model says 150.0 cm" in page.text
        assert "+4.0 mm at its first mark" in page.text
        assert "50.00 mm; the model says 50.00 mm" in page.text
        assert "Residuals of 5 taped marks" in page.text
        again = page.reader.get(f"/apparatus/{hall.bars}")
        assert "scale of the model, not measured on this apparatus" in again.text

    def test_a_stop_that_does_not_fit_is_named_and_can_be_left_out(self, form: Page) -> None:
        page = form.send("Work it out", **ONE_WRONG)
        assert "Mark 5 is 25.0 mm off: mis-read, mis-numbered or bent?" in page.text

        page = page.send("Work it out", out_3="y")
        assert "Left out" in page.text
        assert "mis-numbered" not in page.text
        assert "150.4 cm; the model says 150.0 cm" in page.text

    def test_a_misread_one_is_left_out_of_what_is_offered_and_both_fits_stand_there(
        self, form: Page
    ) -> None:
        """One slip of the pen moved the scale of every hole by millimetres."""
        page = form.send("Work it out", **ONE_WRONG)
        assert "150.4 cm; the model says 150.0 cm" in page.text
        assert "Scatter of the marks0.0 mm11.4 mm" in page.text
        assert page.send("Use this scale").heading == "Bars 1"

    def test_whoever_takes_a_misfit_in_again_is_asked_before_it_is_used(self, form: Page) -> None:
        page = form.send("Work it out", **ONE_WRONG)
        page = page.send("Work it out", out_3=[])
        page = page.send("Use this scale")
        assert "Use it all the same?" in page.text
        assert page.heading.startswith("Calibrate")
        assert page.send("Use this scale").heading == "Bars 1"

    def test_a_stop_that_was_taped_again_and_again_leaves_the_form_as_typed(
        self, form: Page
    ) -> None:
        """Three readings at one, one at a second, one misread: nobody can say which is wrong."""
        read = (("1", "150.4"), ("1", "150.5"), ("1", "150.3"), ("5", "170.4"), ("9", "192.9"))
        page = form.send("Work it out", **lines(*read))

        assert page.status == 200
        assert "mis-numbered" not in page.text
        assert page.value("length_5") == "192.9"

    def test_marks_are_filled_in_over_the_whole_scale(self, form: Page, hall: Hall) -> None:
        """In the hall one hand holds the tape: the other types lengths only."""
        marks = [str(form.having("name", f"mark_{line}")[0].get("value")) for line in range(1, 13)]
        assert marks == [*map(str, range(1, 10)), "", "", ""]
        page = form.send("Work it out", length_1="150.4", length_5="170.4", length_9="190.4")
        assert "150.4 cm; the model says 150.0 cm" in page.text
        ruler = form.reader.get(f"/apparatus/{hall.bars}").follow("Calibrate the rail spread")
        marks = [str(ruler.having("name", f"mark_{line}")[0].get("value")) for line in range(1, 8)]
        assert marks == ["130.0", "140.0", "150.0", "160.0", "170.0", "180.0", "190.0"]

    def test_lengths_in_another_datum_are_converted_and_shown_so(self, form: Page) -> None:
        """20 cm of mat and 4 cm of rail: 126.4 to the underside above the mat is 150.4."""
        typed = lines(("1", "126.4"), ("5", "146.4"), ("9", "166.4"))
        page = form.send("Work it out", datum="mat-underside", **typed)

        assert "Upper edge of the rail, above the floor, converted" in page.text
        assert "150.4 cm; the model says 150.0 cm" in page.text

    def test_a_tape_held_to_another_edge_is_asked_about(self, form: Page) -> None:
        """Read to the underside but typed as the upper edge, every stop fits: 4 cm too low."""
        low = lines(("1", "146.0"), ("5", "166.0"), ("9", "186.0"))
        page = form.send("Work it out", **low)
        assert "The first mark is 40.0 mm too low against the model" in page.text

        page = page.send("Work it out", datum="floor-underside")
        assert "against the model. Was the tape" not in page.text

    def test_what_was_typed_stays_through_the_steps(self, form: Page) -> None:
        page = form.send("Work it out", note="after the new pins", **GOOD)

        (second,) = page.having("name", "length_2")
        assert second.get("value") == "160,4"
        (note,) = page.having("name", "note")
        assert note.get("value") == "after the new pins"


class TestUsing:
    def test_the_scale_is_used_and_stays_on_record(self, form: Page) -> None:
        page = form.send("Work it out", **GOOD).send("Use this scale")

        (banner,) = page.banners
        assert banner.startswith("The low rail height of Bars 1 has its own scale now.")
        assert "Calibrate the high rail height too" in page.links
        assert "taped here in part" in page.text
        assert "In use" in page.text
        assert "165.4 cm" in page.text  # mark 4, by the own scale

    def test_changed_readings_are_shown_again_before_they_are_used(self, form: Page) -> None:
        """Nothing is used that nobody has looked at."""
        page = form.send("Work it out", **GOOD)
        page = page.send("Use this scale", length_1="150.9")

        assert "Not used yet" in page.text
        assert page.send("Use this scale").heading == "Bars 1"

    def test_it_can_be_looked_at_and_set_aside(self, form: Page) -> None:
        page = form.send("Work it out", **GOOD).send("Use this scale")
        link = next(words for words in page.links if words.startswith("Open:"))
        page = page.follow(link)
        assert page.heading == "Calibration of the low rail height"
        assert "Residuals of 5 taped marks" in page.text

        page = page.send("Set this calibration aside")
        assert page.banners == ["The calibration of the low rail height is set aside."]
        assert "Set aside" in page.text
        assert "scale of the model, not measured on this apparatus" in page.text


class TestBadReadings:
    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({}, "needs at least three measured marks to go by; this one has 0"),
            (lines(("1", "150"), ("9", "190")), "this one has 2. Measure some more"),
            (lines(("1", "150"), ("1", "150"), ("1", "151")), "All 3 readings are at one mark"),
            (GOOD | {"length_2": ""}, "Enter the length taped at the mark of line 2"),
            (GOOD | {"mark_2": ""}, "Enter the mark at which the length of line 2 was taped"),
            (GOOD | {"mark_2": "12"}, "Mark, line 2: mark '12' is not on this scale"),
            (
                GOOD | {"length_2": "1 60"},
                "Taped length, line 2 was read as '1 60': a number has no",
            ),
            (GOOD | {"length_2": "5 ft 4"}, "feet are not read"),
            (
                GOOD | {"length_2": "low"},
                "Taped length, line 2 must be a number, like 250 or 247.5",
            ),
            (GOOD | {"length_2": "-160"}, "must not be below zero"),
            (GOOD | {"length_2": "1604"}, "must be at most 400.0 cm; 1604.0 was read"),
            (GOOD | {"length_2": "250"}, "Line 2: Low rail height: 250.0 cm is not near any mark"),
            (
                lines(("1", "190"), ("5", "170"), ("9", "150")),
                "must rise with the marks: were they taken from the other end?",
            ),
            (GOOD | {"taken_on": "yesterday"}, "Day on which it was taped must be a day"),
            (GOOD | {"datum": "roof"}, "Choose where the heights are taken to"),
        ],
    )
    def test_the_message_says_where_and_what_to_do(
        self, form: Page, typed: dict[str, object], mistake: str
    ) -> None:
        page = form.send("Work it out", **typed)

        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes), page.mistakes

    def test_bars_with_no_known_setup_are_recorded_first(self, pages: Reader, hall: Hall) -> None:
        page = pages.get("/apparatus/new").send(
            "Add the apparatus", name="Bars 2", mat="0", model=hall.models["Leaning frame C"]
        )
        page = page.follow("Calibrate the rail spread")

        assert "Record the present marks of Bars 2 first" in page.text

    def test_an_axis_that_the_apparatus_lacks_is_said_so(self, pages: Reader, hall: Hall) -> None:
        page = pages.get(f"/apparatus/{hall.bars}/calibrations/take/handle")

        assert page.status == 400
        assert "'handle' is no adjustment of uneven bars" in page.text

    def test_a_calibration_of_another_apparatus_is_not_there(
        self, pages: Reader, hall: Hall
    ) -> None:
        assert pages.get(f"/apparatus/{hall.beam}/calibrations/77").status == 404

    def test_one_axis_alone_needs_no_known_setup(self, pages: Reader, hall: Hall) -> None:
        page = pages.get(f"/apparatus/{hall.beam}").follow("Calibrate the beam height")
        page = page.send("Work it out", **lines(("80", "80.2"), ("100", "100.2"), ("125", "125.2")))

        assert "80.2 cm; the model says 80.0 cm" in page.text
        assert "1.0000 times the model's lengths" in page.text


class TestSettingsTypedAsMarks:
    """Read at these bars before they were calibrated: the marks are right, the lengths were not."""

    @pytest.fixture
    def ana(self, store: Store, hall: Hall) -> int:
        with store.work(hall.club_id, by="Edda", writes=True) as session:
            piece = apparatus.piece(session, hall.bars)
            stops = (4, 5, 30)
            ana = athletes.add(session, Person("Neu", "Ana")).id
            marks = piece.model.marks(stops)
            settings.keep_setting(
                session,
                ana,
                piece.model_id,
                setting_of_setup(piece.model, stops),
                as_read={axis: in_words(mark, piece.name) for axis, mark in marks.items()},
            )
        return ana

    def wanted_mm(self, store: Store, hall: Hall, ana: int) -> int:
        with store.work(hall.club_id, by="Edda", writes=True) as session:
            piece = apparatus.piece(session, hall.bars)
            version = settings.latest(session, ana, piece.model_id)
            assert version is not None
            if version.version > 1:
                assert transfer(version.setting, piece.model).best.setup == (4, 5, 30)
            return version.setting.axes["low_rail"].wanted_mm

    def test_keep_them_and_their_lengths_are_worked_out_anew(
        self, form: Page, store: Store, hall: Hall, ana: int
    ) -> None:
        page = form.reader.get(form.address)
        page = page.send("Work it out", **GOOD).send("Use this scale")
        assert "1 setting keeps its marks; the lengths were worked out again." in page.banners
        assert self.wanted_mm(store, hall, ana) == 1704

    def test_keep_them_where_it_is_set_aside_again(
        self, form: Page, store: Store, hall: Hall, ana: int
    ) -> None:
        page = form.reader.get(form.address).send("Work it out", **GOOD).send("Use this scale")
        kept = page.reader.get(f"/apparatus/{hall.bars}/calibrations/1")
        after = kept.send("Set this calibration aside")
        assert "1 setting keeps its marks; the lengths were worked out again." in after.banners
        assert self.wanted_mm(store, hall, ana) == 1700

    def test_unticked_the_lengths_stay(
        self, form: Page, store: Store, hall: Hall, ana: int
    ) -> None:
        """The apparatus itself was changed since: what a tape found then is still wanted."""
        before_mm = self.wanted_mm(store, hall, ana)
        page = form.reader.get(form.address).send("Work it out", **GOOD, keep_marks=[])
        assert "keeps its marks" not in page.send("Use this scale").text
        assert self.wanted_mm(store, hall, ana) == before_mm

    def test_where_nobody_typed_any_nothing_is_asked(self, form: Page) -> None:
        assert "Settings that were typed as marks" not in form.text
