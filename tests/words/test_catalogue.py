"""The file that translations begin with holds what the program says, and can be translated."""

import re

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

from scripts.catalogue import POT, brought_up_to, gathered, lacking, written
from settingsdesk.words.languages import NAMES, catalogue_of, file_of, is_unread, spoken

PLACE = re.compile(r"%\((\w+)\)s")
ARROW = re.compile("[\u2190-\u21ff]")
TAG = re.compile(r"</?(?:\w+)[^<>]*>")
TRANSLATED = [tag for tag in NAMES if tag != "en"]


@pytest.fixture(scope="module")
def messages() -> Catalog:
    """What the program says."""
    return gathered()


@pytest.fixture(scope="module")
def kept() -> list[Message]:
    with POT.open("rb") as file:
        return [message for message in read_po(file) if message.id]


def forms(message: Message) -> tuple[str, ...]:
    return (message.id,) if isinstance(message.id, str) else tuple(message.id)


class TestTheFile:
    def test_it_holds_every_sentence_and_no_other(self, messages: Catalog) -> None:
        """Somebody changed a sentence: run scripts/catalogue.py, so that translators get it."""
        assert POT.read_bytes() == written(messages)

    def test_every_place_has_a_name(self, kept: list[Message]) -> None:
        """A translator puts them in another sequence."""
        for message in kept:
            for form in forms(message):
                left = PLACE.sub("", form).replace("%%", "")
                assert "%" not in left, form

    def test_no_sentence_is_a_half(self, kept: list[Message]) -> None:
        """Words that begin or end in a blank are put together with others somewhere."""
        for message in kept:
            for form in forms(message):
                assert form == form.strip()

    def test_both_forms_of_a_number_of_things_have_the_same_places(
        self, kept: list[Message]
    ) -> None:
        """But for the number, which a language may say as a word."""
        for message in kept:
            places = [set(PLACE.findall(form)) - {"count", "num"} for form in forms(message)]
            assert all(some <= places[-1] for some in places), message.id


def said(message: Message) -> tuple[str, ...]:
    """Its translations, one for each form that the language has."""
    return (message.string,) if isinstance(message.string, str) else tuple(message.string)


@pytest.fixture(scope="module", params=TRANSLATED)
def catalogue(request: pytest.FixtureRequest) -> Catalog:
    """Of each language."""
    return catalogue_of(request.param)


class TestEveryLanguage:
    def test_it_says_every_sentence_and_no_other(
        self, catalogue: Catalog, messages: Catalog
    ) -> None:
        """Run scripts/catalogue.py, and have translated what it tells."""
        tag = str(catalogue.locale)
        assert lacking(catalogue) == []
        assert file_of(tag).read_bytes() == written(brought_up_to(messages, tag), tag)

    def test_the_facts_stand_in_every_translation(self, catalogue: Catalog) -> None:
        """But for the number of things, which a language may say as a word.

        Where it has several forms, one of less than all of them has what English has for one.
        """
        for message in filter(lambda one: one.id, catalogue):
            in_any, in_all = (set(PLACE.findall(forms(message)[place])) for place in (-1, 0))
            number = {"count", "num"} if message.pluralizable else set()
            *fewer, last = said(message)
            assert set(PLACE.findall(last)) | number >= in_any, last
            for form in (*fewer, last):
                assert in_all - number <= set(PLACE.findall(form)) <= in_any, form
                assert "%" not in PLACE.sub("", form).replace("%%", ""), form

    def test_what_is_marked_up_stays_so(self, catalogue: Catalog) -> None:
        """A tag that is lost, or one more, would spoil the page."""
        for message in filter(lambda one: one.id, catalogue):
            wanted = sorted(TAG.findall(forms(message)[-1]))
            for form in said(message):
                assert sorted(TAG.findall(form)) == wanted, form

    def test_no_arrow_is_turned_round(self, catalogue: Catalog) -> None:
        """From mark to mark it points to where the rail goes, however lines run."""
        for message in filter(lambda one: one.id, catalogue):
            wanted = ARROW.findall(forms(message)[-1])
            assert all(ARROW.findall(form) == wanted for form in said(message)), message.id

    def test_every_number_of_things_has_its_form(self, catalogue: Catalog) -> None:
        for message in filter(lambda one: one.pluralizable, catalogue):
            assert len(said(message)) == catalogue.num_plurals, message.id

    def test_no_sentence_begins_or_ends_in_a_blank(self, catalogue: Catalog) -> None:
        for message in filter(lambda one: one.id, catalogue):
            assert all(form == form.strip() for form in said(message)), message.id


class TestTwoInArabic:
    def test_has_no_figure_beside_a_noun_whose_form_says_it(self) -> None:
        """ "2 two holes" reads as a fault; where no noun is bent the figure stands."""
        for message in filter(lambda one: one.pluralizable, catalogue_of("ar")):
            of_two = said(message)[2]
            assert "%(count)s" not in of_two or set(said(message)) == {of_two}, of_two


class TestWhoHasReadIt:
    @pytest.mark.parametrize(
        ("told", "unread"),
        [
            ("Read by a native speaker: not yet", True),
            ("", True),
            ("Read by a native speaker: A. Reader, 2027-03-01", False),
        ],
    )
    def test_stands_at_the_top_of_its_file(self, told: str, unread: bool) -> None:
        """From then on pages and paper stand without the English beneath."""
        assert is_unread(Catalog(header_comment=f"# Deutsch\n# {told}\n#")) is unread

    def test_english_needs_nobody(self) -> None:
        assert not spoken("en").unread
