"""Limits with their source: a warning, never a correction, and never called official."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.rule_books import (
    LimitsSwapped,
    Rule,
    RuleBook,
    Standing,
    WarmUp,
    outside,
)

BARS = KINDS["uneven_bars"]


def rule(axis="low_rail", least_mm=1690, most_mm=1710, level="", **more) -> Rule:
    facts = {"source": "Club rules", "edition": "2024", "standing": Standing.READ, **more}
    return Rule("uneven_bars", axis, level, least_mm, most_mm, **facts)


def found(*rules: Rule, level="", low=1700.0, high=2500.0, spread=1600.0):
    book = RuleBook("Rules of the club", rules)
    return outside([book], BARS, level, {"low_rail": low, "high_rail": high, "spread": spread})


class TestALimit:
    @pytest.mark.parametrize(
        ("length_mm", "within"),
        [(1690, True), (1710, True), (1689.6, True), (1710.4, True), (1689, False), (1711, False)],
    )
    def test_both_ends_of_the_tolerance_are_still_allowed_to_the_printed_millimetre(
        self, length_mm, within
    ):
        """170 ±1 cm allows 169.0 and 171.0."""
        assert rule().allows(length_mm) is within

    @pytest.mark.parametrize(
        ("least_mm", "most_mm", "words"),
        [
            (1690, 1710, "169.0 to 171.0 cm"),
            (1300, None, "at least 130.0 cm"),
            (None, 1900, "at most 190.0 cm"),
            (None, None, "no limit"),
        ],
    )
    def test_it_is_told_in_centimetres_as_far_as_it_goes(self, least_mm, most_mm, words):
        """Some rule books have a least spread and no most."""
        assert rule(least_mm=least_mm, most_mm=most_mm).told(Unit.CENTIMETRE) == words

    @pytest.mark.parametrize(
        ("least_mm", "most_mm", "words"),
        [
            (1690, 1710, "66\u00a05/8 to 67\u00a01/4\u00a0in (169.0 to 171.0 cm)"),
            (1300, None, "at least 51\u00a01/4\u00a0in (at least 130.0 cm)"),
            (None, 1900, "at most 74\u00a03/4\u00a0in (at most 190.0 cm)"),
            (1250, 1250, "49\u00a01/4\u00a0in exactly (125.0 cm exactly)"),
            (None, None, "no limit"),
        ],
    )
    def test_in_inches_it_allows_no_more_and_its_sources_centimetres_stand_beside(
        self, least_mm, most_mm, words
    ):
        """Whoever tapes in inches keeps to it, too."""
        assert rule(least_mm=least_mm, most_mm=most_mm).told(Unit.INCH) == words

    @given(st.integers(0, 4000))
    def test_without_limits_everything_is_allowed(self, length_mm):
        """A rule may stand for its remark alone."""
        assert rule(least_mm=None, most_mm=None).allows(length_mm)

    def test_a_least_above_the_most_is_refused(self):
        """Two fields filled the wrong way round."""
        with pytest.raises(LimitsSwapped) as refused:
            rule(least_mm=1710, most_mm=1690)

        assert str(refused.value) == (
            "The least of a rule (171.0 cm) must not be more than its most (169.0 cm):"
            " are the two swapped?"
        )


class TestASettingOutside:
    def test_it_is_told_with_length_limits_source_edition_and_standing(self):
        """The coach can look it up, and knows whether anybody ever did."""
        (warning,) = found(rule(standing=Standing.MEMORY), low=1720)
        assert str(warning) == (
            "Low rail height 172.0 cm is outside 169.0 to 171.0 cm (Club rules, 2024; from memory)"
        )

    @pytest.mark.parametrize(
        ("standing", "words"),
        [
            (Standing.READ, "read in the source"),
            (Standing.SECONDARY, "read in a page that quotes the source"),
            (Standing.MEMORY, "from memory"),
        ],
    )
    def test_every_standing_is_said(self, standing, words):
        """Read, quoted or remembered are three different things."""
        (warning,) = found(rule(standing=standing), low=1720)
        assert words in str(warning)

    def test_a_source_without_edition_leaves_no_gap(self):
        """House rules have none."""
        (warning,) = found(rule(edition=""), low=1720)
        assert str(warning).endswith("(Club rules; read in the source)")

    def test_the_length_is_told_to_the_millimetre_by_which_it_was_judged(self):
        """171.15 cm is judged as 171.2, so it must not be printed as 171.1."""
        (warning,) = found(rule(), low=1711.5)
        assert "171.2 cm is outside" in str(warning)

    def test_within_all_rules_there_is_nothing_to_tell(self):
        """The usual case."""
        assert found(rule(), rule("high_rail", 2490, 2510)) == ()

    def test_every_rule_that_is_broken_is_told(self):
        """Not only the first, and axis by axis."""
        warnings = found(
            rule("high_rail", 2490, 2510),
            rule(),
            rule(least_mm=None, most_mm=1700),
            low=1720,
            high=2,
        )
        assert [warning.axis.key for warning in warnings] == ["low_rail", "low_rail", "high_rail"]

    def test_a_rule_for_another_kind_says_nothing(self):
        """Both kinds have an axis called spread."""
        gap = Rule("parallel_bars", "spread", "", 420, 520, "Club", "", Standing.READ)
        assert found(gap) == ()

    def test_a_rule_for_a_level_holds_for_that_level_only(self):
        """Juniors have other limits than seniors."""
        junior = rule(level="junior")
        assert found(junior, low=1720) == ()
        assert found(junior, low=1720, level="senior") == ()
        assert len(found(junior, low=1720, level="junior")) == 1

    def test_a_rule_without_a_level_holds_for_all(self):
        """Whatever level is asked for."""
        assert len(found(rule(), low=1720, level="junior")) == 1


class TestARuleBook:
    def test_its_levels_are_those_its_rules_name(self):
        """For the list from which a coach chooses."""
        other = Rule("balance_beam", "beam", "youth", 1000, 1000, "Club", "", Standing.READ)
        book = RuleBook("Club", (rule(level="senior"), rule(level="junior"), rule(), other))
        assert book.levels(BARS) == ("junior", "senior")

    def test_at_meets_warm_up_times_have_levels_too(self):
        """A host who chooses one that only the warm-up knows must not be refused."""
        timed = WarmUp("uneven_bars", "youth", 50, False, True, "Club", "", Standing.READ)
        book = RuleBook("Club", (rule(level="senior"),), (timed,))
        assert book.levels_at_meets(BARS) == ("senior", "youth")
        assert book.levels(BARS) == ("senior",)
