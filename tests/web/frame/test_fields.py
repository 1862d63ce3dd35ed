"""Every macro and every field, in a room that exists only in tests."""

from io import BytesIO

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markupsafe import Markup
from wtforms.widgets import html_params

from settingsdesk.web.frame.fields import attributes
from tests.web.pages import Page, Reader


class TestTheSampleRoom:
    @pytest.fixture
    def form(self, sampled_pages: Reader) -> Page:
        """A form with one field of every kind."""
        return sampled_pages.get("/sample/form")

    def filled_in(self, form: Page, **other: object) -> Page:
        """The form sent with everything in order but what is named."""
        everything = {
            "name": "  Alma   R. ",
            "high": "251,0 cm",
            "turns": "3",
            "held_on": "2026-05-30",
            "apparatus": "2",
            "crew": "4",
            "squad": ["7", "8"],
        }
        return form.send("Save the setting", **{**everything, **other})

    @pytest.mark.parametrize("address", ["/sample/", "/sample/step", "/sample/form"])
    def test_every_macro_makes_a_good_page(self, sampled_pages: Reader, address: str) -> None:
        """The reader checks it; this test only asks for it."""
        assert sampled_pages.get(address).status == 200

    def test_what_was_done_is_said_on_the_next_page(self, form: Page) -> None:
        """After the redirect, once."""
        page = self.filled_in(form)

        assert page.address == "/sample/"
        assert page.banners == ["Alma R. is saved with 2510 mm."]
        assert page.reader.get("/sample/").banners == []

    def test_everything_that_is_empty_is_named_in_order(self, form: Page) -> None:
        """Each with a link to its field."""
        page = form.send("Save the setting", high="")

        assert page.status == 400
        assert page.mistakes == [
            "Enter the name",
            "Enter the high rail height",
            "Enter the turns",
            "Enter the day",
            "Choose the apparatus",
            "Choose the crew",
            "Choose the athletes",
        ]
        assert page.links["Choose the crew"] == "#crew-0"

    @pytest.mark.parametrize(
        ("field", "typed", "sentence"),
        [
            ("name", "x" * 21, "Name must have 20 letters or fewer; it has 21"),
            ("high", "abc", "High rail height must be a number, like 250 or 247.5; 'abc' was read"),
            ("turns", "ten", "Turns must be a whole number, like 3"),
            ("turns", "10", "Turns must be between 1 and 9"),
            ("turns", "0", "Turns must be between 1 and 9"),
            ("turns", "-1", "Turns must be a whole number, like 3"),
            ("held_on", "30.5.2026", "Day must be a day, like 2026-05-30"),
            ("apparatus", "3", "Choose the apparatus"),
            ("apparatus", "x", "Choose the apparatus"),
            ("crew", "3", "Choose the crew"),
            ("squad", ["7", "9"], "Choose the athletes"),
            ("squad", ["x"], "Choose the athletes"),
        ],
    )
    def test_what_cannot_be_read_is_said_and_kept(
        self, form: Page, field: str, typed: object, sentence: str
    ) -> None:
        """Nobody types a form twice because of one slip."""
        page = self.filled_in(form, **{field: typed})

        assert page.mistakes == [sentence]
        if isinstance(typed, str) and field in ("name", "high", "turns", "held_on"):
            assert f'value="{typed}"' in page.response.text
        kept = {"name": "  Alma   R. ", "turns": "3"}
        for other, value in kept.items():
            if other != field:
                assert f'value="{value}"' in page.response.text

    def test_a_refusal_of_the_desk_stands_beside_its_field(self, form: Page) -> None:
        """Like a slip of the pen."""
        page = self.filled_in(form, name="Refuse")

        assert page.links[page.mistakes[0]] == "#high"
        assert page.title.startswith("Error: Write a setting down")

    def test_a_stored_length_is_shown_as_the_club_reads_it(self, form: Page) -> None:
        """2475 mm."""
        high = form.tree.find(".//input[@id='high']")

        assert high is not None
        assert (high.get("value"), high.get("inputmode")) == ("247.5", "decimal")

    def test_a_file_that_was_not_kept_is_asked_for_again(self, form: Page) -> None:
        """No browser lets a page fill it in; whoever does not notice sends the form without it."""
        page = self.filled_in(form, turns="ten", sheet=(BytesIO(b"a;b"), "squad.csv"))

        assert "squad.csv was not saved: choose it again." in page.text
        assert "was not kept" not in self.filled_in(form, turns="ten").text

    def test_a_file_in_the_place_of_words_is_no_words(self, form: Page) -> None:
        """No browser sends one there; who does is asked for the words."""
        page = self.filled_in(form, name=(BytesIO(b"Alma"), "name.txt"))

        assert page.status == 400
        assert "Enter the name" in page.mistakes

    def test_what_no_page_can_carry_is_refused_and_marked(self, form: Page) -> None:
        """Each plane of signs has two at its end that are none, and a browser stops at them."""
        page = self.filled_in(form, name="Alma\U0010ffff")

        assert "Name holds a character that cannot be seen; retype it" in page.mistakes
        assert page.value("name") == "Alma\ufffd"

    def test_an_empty_day_says_so(self, form: Page) -> None:
        """iPhones show the present day in it, which looks as if it were chosen."""
        looks_filled = "Some phones show today’s date here while nothing is chosen."

        assert looks_filled in form.text
        assert looks_filled not in self.filled_in(form, name="").text

    @pytest.mark.parametrize("typed", ["<script>", "\"'><b>", "{{ 7 * 7 }}", "a\u0000b"])
    def test_what_is_typed_is_never_markup(self, form: Page, typed: str) -> None:
        """It is shown as it was typed, in the box and in the sentences."""
        page = self.filled_in(form, name=typed, high=typed)

        # HTML cannot carry a nought character; its tokenizer reads the replacement sign instead.
        name = page.tree.find(".//input[@id='name']")
        assert name is not None
        assert name.get("value", "").replace("\ufffd", "\u0000") == typed
        assert not list(page.tree.iter("b"))


class TestACodeAsItIsPrinted:
    @pytest.mark.parametrize(
        ("address", "box"), [("/cards/", "code"), ("/apparatus/1/stands", "low_rail")]
    )
    def test_no_phone_makes_a_word_of_it(self, demo_pages: Reader, address: str, box: str) -> None:
        """An iPhone corrects what it takes for a slip, at the moment in which it is sent."""
        found = demo_pages.get(address).tree.find(f".//input[@id='{box}']")

        assert found is not None
        assert (found.get("autocorrect"), found.get("spellcheck")) == ("off", "false")
        assert found.get("autocapitalize") in ("none", "characters")


def numbered(page: Page) -> dict[str, str]:
    """Which number stands at which field."""
    notes = page.having("class", "error")
    return {note.get("id", "").removesuffix("-error"): note.get("data-note", "") for note in notes}


class TestMarginNotes:
    def test_a_mistake_has_one_number_in_the_list_and_at_its_field(
        self, sampled_pages: Reader
    ) -> None:
        """Whoever has read the third sentence finds the third circle."""
        page = sampled_pages.get("/sample/form").send("Save the setting", high="abc")
        [box] = page.having("class", "error-summary")
        listed = {
            link.get("href", "").removeprefix("#").removesuffix("-0"): item.get("data-note", "")
            for item in box.iter("li")
            for link in item.iter("a")
        }

        assert list(listed.values()) == [str(number + 1) for number in range(len(listed))]
        assert numbered(page) == listed
        assert listed["high"] == "2"


NAMES = st.text("abcdef_-") | st.sampled_from(["class_", "data_of_row", "aria_describedby", "x<y"])
VALUES = st.booleans() | st.none() | st.integers() | st.text() | st.text().map(Markup)


class TestAttributes:
    @given(told=st.dictionaries(NAMES, VALUES, max_size=6))
    @example(told={"value": Markup('<i title="a">'), "data_a_": "'\"<>&{}%s", "checked": True})
    def test_they_are_to_the_letter_what_the_forms_library_writes(
        self, told: dict[str, object]
    ) -> None:
        """What an athlete is called must not get out of the quotation marks."""
        assert str(attributes(**told)) == str(html_params(**told))
