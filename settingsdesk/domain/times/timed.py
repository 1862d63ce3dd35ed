"""A change-over that was done and timed: what operation times are learned from."""

from dataclasses import dataclass

from settingsdesk.domain.hall.models import Setup


@dataclass(frozen=True, slots=True)
class TimedChangeOver:
    """From which setup to which, by how many pairs of hands, and the whole seconds it took.

    Any number of seconds is kept, so that a clock that ran on over the break is still on record;
    whether a time tells anything is for the fit to judge.
    """

    start: Setup
    goal: Setup
    hands: int
    seconds: int
