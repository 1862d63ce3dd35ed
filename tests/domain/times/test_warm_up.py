"""Change-overs beside the warm-up time of a rule book: what is left, and where it is too short."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.hall.rule_books import NotAWarmUp, RuleBook, Standing, WarmUp
from settingsdesk.domain.times.warm_up import TooShort, warm_up_sum

ALONE = WarmUp("uneven_bars", "", 50, False, True, "letter of invitation", "2026", Standing.READ)
SHARED = replace(ALONE, shared=True)
BARS = kind_of("uneven_bars")

changes = st.lists(st.integers(0, 300), max_size=12)


class TestEachAthleteAlone:
    def test_every_change_over_must_fit_into_its_own_time(self) -> None:
        found = warm_up_sum([0, 50, 51, 20], ALONE)
        assert found.too_short == (TooShort(3, 51, 50),)
        assert (found.has_s, found.needs_s, found.left_s) == (200, 121, 79)

    @given(changes)
    def test_places_are_those_that_take_longer_than_one_time(self, seconds: list[int]) -> None:
        found = warm_up_sum(seconds, ALONE)
        assert [one.place for one in found.too_short] == [
            place for place, needs_s in enumerate(seconds, start=1) if needs_s > 50
        ]
        assert all(one.needs_s > one.has_s for one in found.too_short)


class TestATeam:
    def test_what_one_saves_another_may_use(self) -> None:
        assert warm_up_sum([0, 90], SHARED).too_short == ()
        assert warm_up_sum([0, 101], SHARED).too_short == (TooShort(2, 101, 100),)

    @given(changes)
    def test_the_last_place_is_too_short_exactly_when_nothing_is_left(
        self, seconds: list[int]
    ) -> None:
        found = warm_up_sum(seconds, SHARED)
        is_last_short = any(one.place == len(seconds) for one in found.too_short)
        assert is_last_short == (found.left_s < 0)


class TestPreparingThatIsNotPartOfIt:
    @given(changes)
    def test_takes_nothing_away(self, seconds: list[int]) -> None:
        found = warm_up_sum(seconds, replace(ALONE, with_preparing=False))
        assert (found.needs_s, found.too_short) == (0, ())


class TestTheRule:
    def test_the_level_comes_before_all_levels_and_a_team_before_nothing_else(self) -> None:
        junior = replace(ALONE, level="junior", seconds=60)
        book = RuleBook("Cup", (), (ALONE, junior))
        assert book.warm_up(BARS, "junior", team=False) == junior
        assert book.warm_up(BARS, "senior", team=False) == ALONE
        assert book.warm_up(BARS, "junior", team=True) is None
        assert book.warm_up(kind_of("rings"), "", team=False) is None

    @pytest.mark.parametrize("seconds", [0, -5, 3601])
    def test_a_time_that_is_none_is_refused(self, seconds: int) -> None:
        with pytest.raises(NotAWarmUp):
            replace(ALONE, seconds=seconds)

    def test_it_is_said_in_words(self) -> None:
        assert ALONE.in_words == "0:50 min for each athlete, preparing the apparatus included"
        assert SHARED.in_words.startswith("0:50 min for each athlete of a team, shared as it likes")
