"""Times that stand in the form of a new model, so that its first orders are of some use.

Common practice, no source: guesses for one pair of hands, marked as estimates until the hall's own
are entered. With all of them at nothing every order would seem to take no time at all.
"""

from settingsdesk.domain.base.kinds import AxisKind, Kind, Quantity

# Kinds whose uprights are held to the floor by cables: these are slackened and tensioned.
_HELD_BY_CABLES = ("uneven_bars", "horizontal_bar")


def axis_times_s(axis: AxisKind) -> dict[str, int]:
    """Seconds to unlock and lock one end, and for one stop more and one less."""
    if axis.quantity is Quantity.HEIGHT:
        return {"handling": 8, "up": 4, "down": 3}
    return {"handling": 6, "up": 1, "down": 1}


def procedure_times(kind: Kind) -> dict[str, int]:
    """Tensioners on each side, and seconds of what is done at every change-over."""
    times = {"tensioners": 0, "slacken": 0, "square": 8, "tension": 0, "walk_round": 9}
    if kind.key in _HELD_BY_CABLES:
        # Four tensioners: each once to slacken; each twice to tension, with a second look for
        # square between; and the walk from one to the next.
        times |= {"tensioners": 2, "slacken": 20, "tension": 60}
    return times
