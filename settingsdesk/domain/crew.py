"""The time of a change-over for one, two or four pairs of hands.

The sequence stays that of one pair of hands, which is the safe one: nothing is moved beside
tensioning, and one axis is set after the other. What several do at once is one axis's ends, each
at an end of its own, and one side's tensioners together on a count. Those pieces of work are of
equal length, so the shortest schedule is to take them in as few rounds as there are hands for:
``ceil(ends / hands)`` rounds (common practice, no source).
"""

from collections.abc import Sequence

from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.domain.models import ApparatusModel, Axis, Procedure

CREWS = (1, 2, 4)


def crew_time_s(
    model: ApparatusModel, start: Sequence[int], goal: Sequence[int], hands: int
) -> int:
    """Seconds from one setup to another for that many pairs of hands; 0 where they are the same.

    For one pair of hands it is the time of ``change_over``. ``NotACrew`` for other numbers than
    1, 2 and 4.
    """
    if tuple(start) == tuple(goal):
        return 0
    seconds = crew_any_move_s(model.procedure, hands)
    for axis, here, there in zip(model.axes, start, goal, strict=True):
        if here != there:
            per_stop_s = axis.times.up_s if there > here else axis.times.down_s
            one_end_s = axis.times.handling_s + abs(there - here) * per_stop_s
            seconds += rounds_of_ends(axis, hands) * one_end_s
    return seconds


def rounds_of_ends(axis: Axis, hands: int) -> int:
    """In how many rounds all ends of an axis are set."""
    return _rounds(len(axis.ends), hands)


def crew_any_move_s(procedure: Procedure, hands: int) -> int:
    """What any change-over takes before the first stop is moved and after the last one.

    Slackening and tensioning go in rounds, a round's share of the whole time rounded up to a
    whole second; sighting and the walk-round are done once, by whoever answers for it.
    """
    if hands not in CREWS:
        raise NotACrew(hands)
    per_side = procedure.tensioners_per_side
    once_s = procedure.square_s + procedure.walk_round_s
    if not per_side:
        return once_s
    slacken_s = _share_s(procedure.slacken_s, _rounds(2 * per_side, hands), 2 * per_side)
    tension_s = _share_s(procedure.tension_s, _rounds(per_side, hands), per_side)
    return once_s + slacken_s + tension_s


def _rounds(pieces: int, hands: int) -> int:
    return -(-pieces // hands)


def _share_s(whole_s: int, rounds: int, pieces: int) -> int:
    return -(-whole_s * rounds // pieces)


class NotACrew(SettingsDeskError):
    """A number of hands for which no change-over is worked out."""

    def __init__(self, hands: int) -> None:
        self.hands = hands

    def __str__(self) -> str:
        return f"A crew is of 1, 2 or 4 pairs of hands; {self.hands} was given"
