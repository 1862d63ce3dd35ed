"""How far the stops may differ from the best ones so that an athlete still accepts every length."""

from functools import lru_cache
from itertools import product

from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.domain.settings.transfer import KEPT, fit_at

MOST_STOPS_EITHER_WAY = 3


def accepted_stops(setting: Setting, model: ApparatusModel, best: Setup) -> Setup:
    """The number of stops either way of ``best``, axis by axis, that the athlete accepts.

    Whatever is chosen within these numbers on all axes together, every length a tape finds is
    within the accepted deviation: heights and spread shift one another, so all combinations are
    tried. All 0 where the best stops themselves are outside it. At most three on an axis.
    """
    return _accepted(tuple(setting.axes[axis.key] for axis in model.axes), model, best)


@lru_cache(maxsize=KEPT)
def _accepted(wishes: tuple[Wanted, ...], model: ApparatusModel, best: Setup) -> Setup:
    """The same of the wishes on each axis; kept, as page after page asks for the same ones."""
    setting = Setting(model.kind, dict(zip((axis.key for axis in model.axes), wishes, strict=True)))
    leeway = (0,) * len(best)
    if not _all_accepted(setting, model, best, leeway):
        return leeway
    grown = True
    while grown:
        grown = False
        for axis in range(len(best)):
            wider = (*leeway[:axis], leeway[axis] + 1, *leeway[axis + 1 :])
            if leeway[axis] < MOST_STOPS_EITHER_WAY and _all_accepted(setting, model, best, wider):
                leeway, grown = wider, True
    return leeway


def _all_accepted(setting: Setting, model: ApparatusModel, best: Setup, leeway: Setup) -> bool:
    ranges = [
        range(max(0, stop - either_way), min(axis.scale.count - 1, stop + either_way) + 1)
        for axis, stop, either_way in zip(model.axes, best, leeway, strict=True)
    ]
    return all(
        fit.within_accepted
        for setup in product(*ranges)
        for fit in fit_at(setting, model, setup).axes
    )
