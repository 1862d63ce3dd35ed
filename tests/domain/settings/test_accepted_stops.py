"""How many stops either way an athlete still accepts."""

from itertools import product

import pytest

from settingsdesk.domain.settings.accepted_stops import MOST_STOPS_EITHER_WAY, accepted_stops
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import fit_at, transfer


def setting_at(model, setup, **accepts_mm):
    measures = model.measures_mm(setup)
    axes = {
        key: Wanted(round(length_mm), accepts_mm.get(key, 0)) for key, length_mm in measures.items()
    }
    return Setting(model.kind, axes)


class TestAcceptedStops:
    def test_who_accepts_nothing_has_no_leeway(self, bars):
        setting = setting_at(bars, (4, 4, 20))

        assert accepted_stops(setting, bars, transfer(setting, bars).best.setup) == (0, 0, 0)

    def test_nobody_is_set_outside_what_they_accept_in_any_combination(self, bars):
        setting = setting_at(bars, (4, 4, 20), low_rail=60, high_rail=60, spread=45)
        best = transfer(setting, bars).best.setup
        leeway = accepted_stops(setting, bars, best)

        assert any(leeway)
        ranges = [range(stop - way, stop + way + 1) for stop, way in zip(best, leeway, strict=True)]
        for setup in product(*ranges):
            assert all(one.within_accepted for one in fit_at(setting, bars, setup).axes)

    @pytest.mark.parametrize("stop", [0, 1, 7, 8])
    @pytest.mark.parametrize("off_mm", [-20, 0, 20])
    def test_nor_at_the_ends_of_a_scale(self, bars, stop, off_mm):
        """The last stop counts as any other: 2 cm nearer to one neighbour, 7 cm off the other."""
        measures = bars.measures_mm((stop, 4, 20))
        axes = {key: Wanted(round(mm), 0) for key, mm in measures.items()}
        axes["low_rail"] = Wanted(axes["low_rail"].wanted_mm + off_mm, 35)
        axes["spread"] = Wanted(axes["spread"].wanted_mm, 90)
        setting = Setting(bars.kind, axes)
        leeway = accepted_stops(setting, bars, (stop, 4, 20))

        reached = range(max(0, stop - leeway[0]), min(8, stop + leeway[0]) + 1)
        for at in reached:
            assert all(one.within_accepted for one in fit_at(setting, bars, (at, 4, 20)).axes)

    def test_it_is_never_more_than_three_stops(self, bars):
        setting = setting_at(bars, (4, 4, 20), low_rail=500, high_rail=500, spread=500)
        leeway = accepted_stops(setting, bars, transfer(setting, bars).best.setup)

        assert max(leeway) <= MOST_STOPS_EITHER_WAY == 3

    def test_where_the_best_stops_are_outside_already_there_is_none(self, bars):
        """A wish that no stop meets within what is accepted gets no further away from it."""
        measures = bars.measures_mm((4, 4, 20))
        axes = {key: Wanted(round(mm) + 20, 1) for key, mm in measures.items()}
        setting = Setting(bars.kind, {**axes, "spread": Wanted(round(measures["spread"]), 30)})

        assert accepted_stops(setting, bars, transfer(setting, bars).best.setup) == (0, 0, 0)
