"""Sentences: English wherever text is wanted, and whole for whoever says them otherwise."""

import json
import pickle
from copy import deepcopy
from datetime import date, datetime
from decimal import Decimal

import pytest

from settingsdesk.domain.base.figures import compared_length, length_in_words
from settingsdesk.domain.base.sentences import (
    Counted,
    Day,
    Moment,
    Sentence,
    Series,
    recognised,
)
from settingsdesk.domain.base.units import Unit

ON = date(2026, 11, 24)
WISH = Sentence(
    "%(name)s wants %(length)s", name="Alma R.", length=length_in_words(1700, Unit.CENTIMETRE)
)


class TestASentence:
    def test_it_is_its_english_text(self) -> None:
        """Whoever writes it to a terminal, a file or a database need not know what it is."""
        assert WISH == "Alma R. wants 170.0 cm"
        assert json.dumps([WISH]) == '["Alma R. wants 170.0 cm"]'

    def test_it_keeps_its_form_and_its_facts(self) -> None:
        assert WISH.form == "%(name)s wants %(length)s"
        assert WISH.facts["length"].facts == {"figure": Decimal("170.0")}

    def test_a_percent_sign_is_written_twice(self) -> None:
        """With facts and without: a translator's form is filled in the same way."""
        assert Sentence("print again at 100 %%") == "print again at 100 %"

    @pytest.mark.parametrize(
        "said",
        [
            WISH,
            Counted("%(count)s turn of %(name)s", "%(count)s turns of %(name)s", 3, name="Alma"),
            Series(("left", "right"), "and"),
            Day(ON),
            Moment(datetime(2026, 11, 24, 14, 5)),  # noqa: DTZ001 — as a machine's clock shows it
        ],
        ids=lambda said: type(said).__name__,
    )
    def test_copied_or_sent_to_another_process_it_is_the_same(self, said: Sentence) -> None:
        """Cards are kept as copies of their text, and a search runs in a process of its own."""
        for copy in (deepcopy(said), pickle.loads(pickle.dumps(said))):  # noqa: S301 — our own
            assert type(copy) is type(said)
            assert vars(copy) == vars(said)
            assert copy == said


class TestWhatIsCounted:
    @pytest.mark.parametrize(("count", "text"), [(0, "0 holes"), (1, "1 hole"), (2, "2 holes")])
    def test_english_has_two_forms(self, count: int, text: str) -> None:
        assert Counted("%(count)s hole", "%(count)s holes", count) == text


class TestASeries:
    @pytest.mark.parametrize(
        ("parts", "between", "text"),
        [
            (("front",), "and", "front"),
            (("front", "back"), "and", "front and back"),
            (("Ana", "Ivo", "Jo"), "or", "Ana, Ivo or Jo"),
            (("first", "second"), "; ", "first; second"),
        ],
    )
    def test_it_is_joined_as_it_is_said(self, parts, between, text) -> None:
        assert Series(parts, between) == text


class TestWhatWasKeptAsText:
    """Cards on record are English text; printed again, they are said in the reader's language."""

    @pytest.mark.parametrize(
        "kept",
        [
            length_in_words(1697, Unit.CENTIMETRE),
            length_in_words(1697, Unit.INCH),
            compared_length(1697, Unit.INCH),
            Sentence("± %(length)s", length=length_in_words(15, Unit.CENTIMETRE)),
            Day(ON),
            Sentence("own calibration of %(day)s", day=Day(ON)),
        ],
    )
    def test_it_is_the_sentence_that_it_was(self, kept: Sentence) -> None:
        forms = ["± %(length)s", "own calibration of %(day)s", "%(inches)s (%(in_cm)s)"]
        again = recognised(str(kept), forms)

        assert again == kept
        assert vars(again) == {name: vars(kept)[name] for name in vars(again)}

    def test_inches_that_were_kept_with_usual_blanks_are_those_that_are_never_torn(self) -> None:
        """Cards of before have them; what is said by them is the same."""
        form = "± %(length)s"
        for mm in (10, 1697):
            now = Sentence(form, length=length_in_words(mm, Unit.INCH))
            assert recognised(now.replace("\u00a0", " "), [form]) == now

    def test_what_has_none_of_the_forms_stays_text(self) -> None:
        """A card of before, or a name that somebody typed."""
        assert type(recognised("by the window", ["± %(length)s"])) is str

    def test_nothing_is_nothing(self) -> None:
        assert recognised("", ["%(anything)s"]) == ""
