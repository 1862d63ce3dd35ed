"""What a language makes of a sentence, a day and a number."""

import copy
from datetime import date, datetime

import pytest
from babel import Locale

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import (
    compared_length,
    length_in_words,
    length_on_floor,
)
from settingsdesk.domain.base.sentences import Between, Counted, Moment, Sentence, Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import PulledFirst
from settingsdesk.domain.hall.models import Axis, AxisTimes
from settingsdesk.domain.hall.starters import STARTERS
from settingsdesk.domain.settings.card import CardLine
from settingsdesk.words.language import ENGLISH, Language
from settingsdesk.words.languages import spoken
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

    def test_the_first_of_a_month_is_an_ordinal_in_french(self) -> None:
        french = Language(Locale("fr"))
        said = [french.day(date(2026, 11, day)) for day in (1, 11, 21)]
        assert said == ["1er novembre 2026", "11 novembre 2026", "21 novembre 2026"]

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


class TestAnothersStops:
    PARTS = (Sentence("front"), Sentence("back"), "Alma")

    @pytest.mark.parametrize(
        ("tag", "between", "joined"),
        [
            ("de", ", ", "vorn, hinten, Alma"),
            ("fr", "; ", "avant\u00a0; arrière\u00a0; Alma"),
            ("ja", ", ", "前、後ろ、Alma"),
            ("ja", "; ", "前。後ろ。Alma"),
            ("ja", ". ", "前。後ろ。Alma"),
            ("ar", ", ", "الأمام، الخلف، \u2068Alma\u2069"),
            ("ar", "; ", "الأمام؛ الخلف؛ \u2068Alma\u2069"),
            ("ar", " / ", "الأمام / الخلف / \u2068Alma\u2069"),
        ],
    )
    def test_stand_between_the_parts_of_a_series(
        self, tag: str, between: Between, joined: str
    ) -> None:
        assert spoken(tag).said(Series(self.PARTS, between)) == joined

    def test_are_not_there_in_a_series_of_nothing(self) -> None:
        assert spoken("ja").said(Series((), ", ")) == ""

    def test_an_end_that_was_kept_as_text_is_said_in_it(self) -> None:
        """A run keeps it by its English words; what a hall calls its ends by itself stays so."""
        ja = spoken("ja")
        assert ja.said(PulledFirst(0, "front end", 12).why).startswith("前側から")
        assert ja.said(PulledFirst(0, "window end", 12).why).startswith("window側から")


class TestFromRightToLeft:
    @pytest.mark.parametrize(
        ("fact", "is_kept"),
        [
            ("Alma", True),
            ("5", True),
            ("العارضة العليا", False),
            ("العارضة 5", True),
            ("العارضة \u20685\u2069", False),
            ("Alma والعارضة", True),
            ("", False),
        ],
    )
    def test_only_what_would_be_drawn_elsewhere_is_kept_apart(
        self, fact: str, is_kept: bool
    ) -> None:
        """Each pair of signs for it weighs six bytes on a page that has little room."""
        assert spoken("ar").keeps_apart(fact) is is_kept


class TestTheReadersUnit:
    IN_INCHES = ENGLISH.in_unit(Unit.INCH)

    @pytest.mark.parametrize(
        ("told", "said"),
        [
            (length_in_words(1697, Unit.CENTIMETRE), "66\u00a03/4\u00a0in"),
            (length_in_words(1697, Unit.CENTIMETRE).alone, "66\u00a03/4"),
            (length_on_floor(20_000, Unit.CENTIMETRE), "787\u00a03/8\u00a0in"),
            (compared_length(12, Unit.CENTIMETRE), "1/2\u00a0in (1.2 cm)"),
            (
                Sentence("± %(length)s", length=length_in_words(15, Unit.CENTIMETRE)),
                "± 5/8\u00a0in",
            ),
        ],
    )
    def test_is_the_one_in_which_every_length_is_said(self, told: Sentence, said: str) -> None:
        """Of the length itself, wherever in a sentence it stands; the text is the club's."""
        assert self.IN_INCHES.said(told) == said
        assert "in" not in told

    def test_is_the_clubs_where_nobody_chose_one(self) -> None:
        assert ENGLISH.said(length_in_words(1697, Unit.INCH)) == "66\u00a03/4\u00a0in"
        in_cm = ENGLISH.in_unit(Unit.CENTIMETRE)
        assert in_cm.said(length_in_words(1697, Unit.INCH)) == "169.7 cm"

    def test_never_changes_a_mark(self) -> None:
        """Along the floor a mark is said as a length, and looked for as it is printed there."""
        for starter in STARTERS.values():
            for axis in starter.kind.axes:
                built = Axis(axis, starter.scales[axis.key], AxisTimes(1, 1, 1), axis.ends)
                mark = built.mark_in_words(0)
                assert self.IN_INCHES.said(mark) == str(mark)

    def test_is_said_with_what_is_accepted_in_the_same(self) -> None:
        """A figure without its unit goes with the one behind it."""
        line = CardLine(
            "High rail height",
            "4",
            length_in_words(2447, Unit.CENTIMETRE),
            "",
            Sentence("± %(length)s", length=length_in_words(10, Unit.CENTIMETRE)),
            wanted=length_in_words(2450, Unit.CENTIMETRE),
        )
        assert line.accepted == "wanted 245.0 ± 1.0 cm"
        assert self.IN_INCHES.said(line.accepted) == "wanted 96\u00a01/2 ± 3/8\u00a0in"

    def test_is_known_of_a_copy_too(self) -> None:
        """What is kept for a while, or worked out in another process."""
        again = copy.deepcopy(length_in_words(1697, Unit.CENTIMETRE))
        assert (again, self.IN_INCHES.said(again)) == ("169.7 cm", "66\u00a03/4\u00a0in")
