"""The file that translations begin with holds what the program says, and can be translated."""

import re

import pytest
from babel.messages.catalog import Message
from babel.messages.pofile import read_po

from scripts.catalogue import POT, gathered, written

PLACE = re.compile(r"%\((\w+)\)s")


@pytest.fixture(scope="module")
def kept() -> list[Message]:
    with POT.open("rb") as file:
        return [message for message in read_po(file) if message.id]


def forms(message: Message) -> tuple[str, ...]:
    return (message.id,) if isinstance(message.id, str) else tuple(message.id)


class TestTheFile:
    def test_it_holds_every_sentence_and_no_other(self) -> None:
        """Somebody changed a sentence: run scripts/catalogue.py, so that translators get it."""
        assert POT.read_bytes() == written(gathered())

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
