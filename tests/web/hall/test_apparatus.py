"""The room of the apparatus: what stands where, and what may be recorded."""

import pytest

from settingsdesk.desk.hall import rule_books
from settingsdesk.domain.hall.rule_books import Rule, RuleBook, Standing
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account
from tests.desk.sample_hall import Hall, furnish
from tests.web.pages import Page, Reader


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


class TestList:
    def test_it_says_what_stands_there_in_marks_and_centimetres(
        self, pages: Reader, hall: Hall
    ) -> None:
        """The coach sees at a glance how every apparatus stands, and who says so."""
        page = pages.get("/apparatus/")

        assert page.heading == "Apparatus"
        assert "Bars 1" in page.links
        assert "4165.0 cm" in page.text  # mark 4, and below it the length
        assert "by Edda Quill" in page.text
        assert "scale of the model, not measured on this apparatus" in page.text
        assert "Present marks not recorded" in page.text  # the beam

    def test_an_empty_hall_says_what_to_do_first(self, pages: Reader) -> None:
        page = pages.get("/apparatus/")

        assert "First add its model" in page.text
        assert page.follow("Add a model").heading == "Add a model: which kind?"


class TestAdding:
    def test_a_piece_is_added_and_shown(self, pages: Reader, hall: Hall) -> None:
        page = pages.get("/apparatus/new").send(
            "Add the apparatus",
            name="Bars 2",
            place="Gallery",
            mat="12,5",
            model=hall.models["Travel frame B"],
        )

        assert page.heading == "Bars 2"
        assert page.banners == ["Bars 2 is added. Next, record its present marks."]
        assert "12.5 cm" in page.text
        assert "The present marks are not recorded" in page.text

    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"name": ""}, "Enter the name"),
            ({"name": "Bars 1"}, "There is already an apparatus named 'Bars 1': choose another"),
            ({"mat": "two"}, "Mats under the apparatus must be a number, like 250 or 247.5"),
            ({"mat": "-1"}, "must not be below zero"),
            (
                {"mat": "200"},
                "The mats must be between 0 and 100.0 cm thick in all; 200.0 cm was given",
            ),
            ({"model": ""}, "Choose the apparatus model"),
            ({"model": "999"}, "Choose the apparatus model"),
        ],
    )
    def test_what_cannot_be_read_is_said_and_what_was_typed_is_kept(
        self, pages: Reader, hall: Hall, typed: dict[str, str], mistake: str
    ) -> None:
        """Nobody types a form twice for one slip."""
        good = {"name": "Bars 2", "place": "Gallery", "mat": "0", "model": "1"}
        page = pages.get("/apparatus/new").send("Add the apparatus", **{**good, **typed})

        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes)
        (place,) = page.having("name", "place")
        assert place.get("value") == "Gallery"

    def test_name_place_and_mats_are_changed_later(self, pages: Reader, hall: Hall) -> None:
        page = pages.get(f"/apparatus/{hall.bars}").follow("Change name, place, ends or mats")
        page = page.send("Save the apparatus", name="Bars A", mat="10")

        assert page.heading == "Bars A"
        assert "10.0 cm" in page.text


class TestItsEnds:
    def test_they_are_called_as_the_hall_calls_them_wherever_it_is_spoken_of(
        self, pages: Reader, hall: Hall
    ) -> None:
        """Front and back depend on where one stands; the window does not."""
        page = pages.get(f"/apparatus/{hall.bars}/edit")
        page = page.send("Save the apparatus", first_end="window", second_end="wall")

        assert "Its endswindow and wall" in page.text
        assert "seen from the window end" in page.text
        square = page.follow("Is it square?").text
        assert "Stand at the window end" in square
        assert "look along the rails to the wall end" in square
        assert "From the window of the HIGH-rail side to the wall of the LOW-rail side" in square
        fault = pages.get(f"/apparatus/{hall.bars}").follow("Report a fault").text
        assert "LOW or HIGH rail, window or wall end" in fault

    def test_names_that_do_not_tell_them_apart_are_asked_for_again(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = pages.get(f"/apparatus/{hall.bars}/edit")
        page = page.send("Save the apparatus", first_end="window", second_end="")

        assert page.status == 400
        assert any("a name for each of the two ends" in one for one in page.mistakes)

    def test_a_beam_has_a_left_and_a_right_one(self, pages: Reader, hall: Hall) -> None:
        page = pages.get(f"/apparatus/{hall.beam}/edit")

        assert "What the hall calls its left end" in page.text


class TestRecording:
    def test_marks_are_typed_as_they_are_printed(self, pages: Reader, hall: Hall) -> None:
        """Beside the bars one types what one reads, in whatever way a comma is written."""
        page = pages.get(f"/apparatus/{hall.bars}").follow("Record the present marks")
        page = page.send("Record these marks", low_rail="6", high_rail=" 7", spread="155,0")

        assert page.banners == ["The present marks of Bars 1 are recorded."]
        assert (
            "End view of uneven bars, seen from the front end: low rail height 175.0 cm at mark 6"
            in page.text
        )
        assert "read off the marks" in page.text

    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            (
                {"low_rail": "12"},
                "Low rail height: mark '12' is not on this scale: its 9 marks run",
            ),
            ({"low_rail": ""}, "Enter the mark of the low rail height"),
            ({"high_rail": "E"}, "mark 'E' is not on this scale: its 9 marks run from 1 to 9"),
            ({"spread": "152.5"}, "the marks beside it are 152.0 and 153.0"),
            ({"spread": "9" * 200}, "Rail spread must be one printed mark; '999"),
        ],
    )
    def test_a_wrong_label_is_told_the_range(
        self, pages: Reader, hall: Hall, typed: dict[str, str], mistake: str
    ) -> None:
        page = pages.get(f"/apparatus/{hall.bars}/stands").send("Record these marks", **typed)

        assert page.status == 400
        assert mistake in page.mistakes[0]

    def test_letters_are_read_in_lower_case_too(self, pages: Reader, hall: Hall) -> None:
        page = pages.get("/apparatus/new").send(
            "Add the apparatus", name="Bars 2", mat="0", model=hall.models["Travel frame B"]
        )
        assert "The present marks are not recorded." in page.text
        page = page.follow("Record the present marks")
        page = page.send("Record these marks", low_rail="c", high_rail="D", spread="10")

        assert "at mark C" in page.text

    def test_another_clubs_apparatus_is_not_there(
        self, pages: Reader, store: Store, hall: Hall
    ) -> None:
        theirs = new_account(store, "Hillside", "bo", "Bo Lark")
        other = furnish(store, theirs.club_id)
        for path in ("", "/edit", "/stands", "/calibrations/take/low_rail"):
            assert pages.get(f"/apparatus/{other.bars}{path}").status == 404


class TestRuleBooks:
    def test_every_limit_is_shown_with_source_and_standing(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """A number from memory is never mistaken for a rule."""
        rule = Rule(
            kind="uneven_bars",
            axis="low_rail",
            level="senior",
            least_mm=1690,
            most_mm=1710,
            source="a page on apparatus",
            edition="2020",
            standing=Standing.MEMORY,
            remark="ask before the meet",
        )
        with store.work(account.club_id, by="Edda", writes=True) as session:
            rule_books.keep_book(session, RuleBook("As quoted", (rule,)))
        page = pages.get("/apparatus/").reader.get("/apparatus/rule-books")

        assert "No value here is official" in page.text
        assert "169.0 to 171.0 cm" in page.text
        assert "a page on apparatus, 2020" in page.text
        assert "From memory" in page.text

    def test_a_club_without_one_is_told_so(self, pages: Reader) -> None:
        assert "keeps no rule book yet" in pages.get("/apparatus/rule-books").text


class TestGoingBack:
    def test_recording_leads_back_to_where_the_coach_came_from(
        self, pages: Reader, hall: Hall
    ) -> None:
        form = pages.get(f"/apparatus/{hall.bars}/stands?then=/rotations/")
        assert form.send("Record these marks").heading == "Rotations"

    @pytest.mark.parametrize("elsewhere", ["https://evil.example", "//evil.example", "/%5Cevil"])
    def test_nobody_is_led_off_the_site(self, pages: Reader, hall: Hall, elsewhere: str) -> None:
        form = pages.get(f"/apparatus/{hall.bars}/stands?then={elsewhere}")
        assert elsewhere not in form.links.values()
        assert form.send("Record these marks").heading == "Bars 1"


class TestMatsOfADay:
    """A landing mat more for a day, said on the apparatus page and told wherever heights stand."""

    MORE = "with 10.0 cm more mat than usual today"

    def said(self, pages: Reader, **typed: object) -> Page:
        return pages.get("/apparatus/1/mats").send("Save the mats of the day", **typed)

    def test_is_told_on_every_page_with_heights_that_day(self, demo_pages: Reader) -> None:
        """Above the floor and in marks all is as it was; above the mat it is 10 cm less."""
        plain = demo_pages.get("/athletes/1").text
        shown = self.said(demo_pages, by="10")
        assert shown.heading == "Bars by the window"
        assert f"30.0 cm, {self.MORE}" in shown.text
        assert f"Above the mat, {self.MORE}: 140.4 cm / 219.7 cm" in shown.text

        athlete = demo_pages.get("/athletes/1").text
        told = f"! Other mats Above the mat, {self.MORE}: 140.4 cm / 219.7 cm."
        assert told in athlete
        assert "".join(athlete.split(told)).split() == plain.split()
        assert "above the mat every height is 30.0 cm less" in demo_pages.get("/rotations/1").text
        assert self.MORE in demo_pages.get("/convert/?from=apparatus-1&by=lengths").text
        assert self.MORE in demo_pages.get("/apparatus/1/calibrations/take/low_rail").text
        bars = demo_pages.get("/rotations/1").send("Take it to the bars")
        assert f"Above the mat, {self.MORE}: 140.4 cm / 219.7 cm" in bars.text
        bars.send("Checked alone", do="alone", on_paper="1")
        record = demo_pages.get("/bars/1/record").text
        assert "Checked alone, with 10.0 cm more mat than usual on " in record

    def test_is_less_where_that_is_chosen_and_taken_back_by_an_empty_box(
        self, demo_pages: Reader
    ) -> None:
        less = self.said(demo_pages, by="5", which_way="less")
        assert "15.0 cm, with 5.0 cm less mat than usual today" in less.text
        again = demo_pages.get("/apparatus/1/mats")
        assert again.value("by") == "5.0"
        assert "less mat than usual today" not in again.send("Save the mats of the day", by="").text

    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"by": "ten"}, "By how much must be a number, like 250 or 247.5; 'ten' was read"),
            ({"by": "90"}, "with 90.0 cm more they would be over 100.0 cm thick in all"),
            ({"by": "21", "which_way": "less"}, "21.0 cm less cannot lie there"),
            ({"by": "10", "day": "2020-01-01"}, "The day must be between today"),
            ({"by": "10", "day": ""}, "Enter the day"),
        ],
    )
    def test_what_cannot_be_is_said_and_what_was_typed_is_kept(
        self, demo_pages: Reader, typed: dict[str, str], mistake: str
    ) -> None:
        page = self.said(demo_pages, **typed)
        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes)
        assert page.value("by") == typed["by"]

    def test_a_spoilt_day_in_the_address_is_today(self, demo_pages: Reader) -> None:
        asked = demo_pages.get("/apparatus/1/mats?day=30.11.")
        assert asked.value("day") == demo_pages.get("/apparatus/1/mats").value("day")
