"""What a language makes of a sentence, a day and a number."""

from datetime import date, datetime

import pytest
from babel import Locale

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.sentences import Counted, Moment, Sentence, Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.words.language import ENGLISH, Language
from tests.words.pseudo import marked_language, plain

POLISH = Language(Locale("pl"))
DAYS = [date(2026, month, 6) for month in range(1, 13)]
LENGTH = length_in_words(1697, Unit.CENTIMETRE)


class TestEnglish:
    @pytest.mark.parametrize("on", DAYS)
    def test_days_are_what_the_domain_says_of_them(self, on: date) -> None:
        """Pages, paper and terminal name one day in one way."""
        assert ENGLISH.day(on) == day_in_words(on) == ENGLISH.said(day_in_words(on))

    def test_clocks_count_to_24_on_every_page(self) -> None:
        at = datetime(2026, 11, 24, 4, 3, 7).astimezone()
        assert (ENGLISH.clock(at), ENGLISH.seconds_of(at)) == ("04:03", "04:03:07")
        assert ENGLISH.said(Moment(at)) == Moment(at) == "24 November 2026, 04:03"

    @pytest.mark.parametrize(
        "said",
        [
            LENGTH,
            length_in_words(1697, Unit.INCH),
            Counted("%(count)s hole", "%(count)s holes", 1),
            Series(("left", "right", "both"), "and"),
            Sentence("tape %(length)s, up to %(day)s", length=LENGTH, day=day_in_words(DAYS[0])),
            Sentence("print again at 100 %%"),
            "Alma R.",
            "",
        ],
    )
    def test_every_sentence_is_its_own_text(self, said: str) -> None:
        """``str(error)`` on a terminal and the page's sentence are the same."""
        assert ENGLISH.said(said) == said


class TestAnother:
    def test_lengths_have_its_decimal_sign(self) -> None:
        assert POLISH.said(LENGTH) == "169,7 cm"

    def test_facts_are_said_in_it_wherever_they_stand(self) -> None:
        on = Sentence("until %(day)s", day=day_in_words(date(2026, 11, 24)))
        assert POLISH.said(on) == "until 24 listopada 2026"

    def test_lists_are_joined_as_it_joins_them(self) -> None:
        assert POLISH.said(Series(("A", "B", "C"), "and")) == "A, B i C"

    def test_names_and_marks_are_left_alone(self) -> None:
        told = marked_language().said(Sentence("mark %(mark)s of %(name)s", mark="5", name="Alma"))
        assert told == "‹mark ›5‹ of ›Alma"

    def test_numbers_take_the_form_that_it_has_for_them(self) -> None:
        """1, 2 to 4 and 5 are said in three ways."""
        said = [
            marked_language().said(Counted("%(count)s hole", "%(count)s holes", count))
            for count in (1, 2, 5)
        ]
        assert [text[:8] for text in said] == ["‹form 0:", "‹form 1:", "‹form 2:"]
        assert list(map(plain, said)) == ["1 hole", "2 holes", "5 holes"]
