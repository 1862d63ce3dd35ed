"""What can stand between a file and a plan, in words a coach can act on."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from settingsdesk.domain.base.errors import SettingsDeskError


class NotARotationProblem(SettingsDeskError):
    """A value that no rotation can have. ``place`` says where, as ``athletes[3].setups.U1[2]``."""

    def __init__(self, place: str, reason: str):
        super().__init__(place, reason)
        self.place, self.reason = place, reason

    def __str__(self) -> str:
        return f"{self.place}: {self.reason}" if self.place else self.reason

    def within(self, outer: str) -> "NotARotationProblem":
        """The same refusal, seen from the value that contains this one."""
        joint = "" if not self.place or self.place.startswith("[") else "."
        return NotARotationProblem(f"{outer}{joint}{self.place}", self.reason)


@contextmanager
def inside(place: str) -> Iterator[None]:
    """Every refusal raised in this block is named from ``place`` onwards."""
    try:
        yield
    except NotARotationProblem as refused:
        raise refused.within(place) from None


def refuse_unless(holds: bool, place: str, reason: str) -> None:
    """Raise NotARotationProblem(place, reason) unless ``holds``."""
    if not holds:
        raise NotARotationProblem(place, reason)


class NoOrderKeepsThis(SettingsDeskError):
    """There is no plan. ``wishes`` is a smallest set of wishes that cannot hold together.

    ``wishes`` is empty where the numbers of turns, the rest and the apparatus already leave no
    plan; ``numbers`` then says which.
    """

    def __init__(self, wishes: Sequence[str], numbers: str = ""):
        super().__init__(wishes, numbers)
        self.wishes, self.numbers = tuple(wishes), numbers

    def __str__(self) -> str:
        if not self.wishes:
            return f"No order is possible: {self.numbers}. Change one of these numbers"
        if len(self.wishes) == 1:
            return f"This wish cannot be kept: {self.wishes[0]}. Take it back or change it"
        return f"These wishes cannot hold together: {', '.join(self.wishes)}. Take one of them back"


class NoPlanInTime(SettingsDeskError):
    """The time ended before any plan was found that keeps every wish."""

    def __init__(self, time_limit_s: float):
        super().__init__(time_limit_s)
        self.time_limit_s = time_limit_s

    def __str__(self) -> str:
        return (
            f"No order that keeps every wish was found in {self.time_limit_s:g} s."
            " Give it more time, or take back a wish"
        )


class PlanDoesNotAddUp(SettingsDeskError):
    """The second count of a plan contradicts the search. Such a plan is never shown."""

    def __init__(self, faults: Sequence[str]):
        super().__init__(faults)
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return (
            f"The plan that was found did not pass its second count: {'; '.join(self.faults)}."
            " It is not shown. Report this together with the rotation it was for"
        )
