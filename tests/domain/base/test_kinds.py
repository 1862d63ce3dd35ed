"""The apparatus kinds, and the order in which their adjustables are set."""

import pytest

from settingsdesk.domain.base.kinds import KINDS, NoSuchAxis, NoSuchKind, Quantity, kind_of


class TestTheKinds:
    def test_there_are_seven(self):
        """A club finds every apparatus it owns that can be adjusted."""
        assert [kind.name for kind in KINDS.values()] == [
            "Uneven bars",
            "Parallel bars",
            "Horizontal bar",
            "Rings",
            "Pommel horse",
            "Balance beam",
            "Vault table",
        ]

    def test_uneven_bars_are_set_low_rail_first_then_high_rail_then_spread(self):
        """The crew follows this order; the trade's safe sequence depends on it."""
        assert [axis.key for axis in kind_of("uneven_bars").axes] == [
            "low_rail",
            "high_rail",
            "spread",
        ]

    @pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS.keys())
    def test_every_axis_has_a_place_where_it_is_set(self, kind):
        """A step of a change-over that does not say where is no step."""
        assert all(axis.ends for axis in kind.axes)
        assert all(len(set(axis.ends)) == len(axis.ends) for axis in kind.axes)

    @pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS.keys())
    def test_a_spread_is_always_between_two_rails_of_the_kind(self, kind):
        """The inner distance needs to know how high both rails are."""
        assert (kind.spread_axis is None) == (kind.spread_between is None)
        for key in kind.spread_between or ():
            assert kind.axis(key).quantity is Quantity.HEIGHT
            assert kind.railed

    def test_one_axis_moves_both_parallel_bars(self):
        """They are level, so there is one height to set."""
        assert kind_of("parallel_bars").spread_between == ("rails", "rails")

    def test_an_unknown_kind_is_refused_and_the_known_ones_are_named(self):
        """Whoever writes a model file reads what to write instead."""
        with pytest.raises(NoSuchKind) as refused:
            kind_of("trampoline")

        assert str(refused.value) == (
            "'trampoline' is no apparatus kind; the kinds are uneven bars, parallel bars,"
            " horizontal bar, rings, pommel horse, balance beam, vault table"
        )

    def test_an_unknown_axis_is_refused_and_the_known_ones_are_named(self):
        """The same for an axis."""
        with pytest.raises(NoSuchAxis) as refused:
            kind_of("uneven_bars").axis("middle_rail")

        assert str(refused.value) == (
            "'middle_rail' is no adjustment of uneven bars; its adjustments are low rail height,"
            " high rail height, rail spread"
        )


class TestTheWordsForAMove:
    @pytest.mark.parametrize(
        ("kind", "axis", "more", "less"),
        [
            ("uneven_bars", "low_rail", "up", "down"),
            ("uneven_bars", "spread", "out", "in"),
            ("pommel_horse", "pommels", "out", "in"),
            ("vault_table", "board", "away", "nearer"),
        ],
    )
    def test_a_move_has_the_word_that_is_called_across_the_hall(self, kind, axis, more, less):
        """Never a sign or a colour alone: a word that everybody knows."""
        quantity = kind_of(kind).axis(axis).quantity
        assert (quantity.more, quantity.less) == (more, less)

    @pytest.mark.parametrize("quantity", Quantity)
    def test_every_quantity_has_words_for_both_ways(self, quantity):
        """Nothing is left to be guessed for any axis."""
        words = {quantity.more, quantity.less, quantity.too_much, quantity.too_little}
        assert len(words) == 4
        assert quantity.too_much.startswith("too ")
        assert quantity.too_little.startswith("too ")

    def test_cables_are_tensioned_from_the_high_rail_side_only_where_there_is_a_high_rail(self):
        """A horizontal bar has no high-rail side."""
        assert kind_of("uneven_bars").sides == ("high-rail side", "low-rail side")
        assert kind_of("horizontal_bar").sides == ("one side", "the other side")
