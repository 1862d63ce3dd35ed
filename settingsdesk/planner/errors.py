"""What can stand between a file and a plan, in words a coach can act on."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from settingsdesk.domain.base.errors import SettingsDeskError

Where = tuple[str | int, ...]
"""The way to a value of a problem: names of fields and ids, and numbers in a list, from 0."""


def place_of(where: Where) -> str:
    """A place in a problem in writing, as ``athletes[3].setups.U1[2]``."""
    steps = [f"[{step}]" if isinstance(step, int) else f".{step}" for step in where]
    return "".join(steps).removeprefix(".")


class NotARotationProblem(SettingsDeskError):
    """A value that no rotation can have, where it stands, and why it cannot stand there.

    ``why`` has a ``{}`` for each of ``ids``, so that whoever calls athletes and apparatus by other
    words than their ids can say it in those.
    """

    def __init__(self, where: Where, why: str, *ids: str):
        super().__init__(where, why, *ids)
        self.where, self.why, self.ids = where, why, ids

    def __str__(self) -> str:
        return f"{self.place}: {self.reason}" if self.place else self.reason

    @property
    def place(self) -> str:
        """Where it stands, as ``athletes[3].setups.U1[2]``."""
        return place_of(self.where)

    @property
    def reason(self) -> str:
        """Why, in the ids of the problem."""
        return self.said(str)

    def said(self, called: Callable[[str], str]) -> str:
        """Why, each id called as ``called`` has it."""
        return self.why.format(*map(called, self.ids)) if self.ids else self.why

    def within(self, outer: Where) -> "NotARotationProblem":
        """The same refusal, seen from the value that contains this one."""
        return NotARotationProblem((*outer, *self.where), self.why, *self.ids)


@contextmanager
def inside(*where: str | int) -> Iterator[None]:
    """Every refusal raised in this block is named from there onwards."""
    try:
        yield
    except NotARotationProblem as refused:
        raise refused.within(where) from None


def refuse_unless(holds: bool, where: str | Where, why: str, *ids: str) -> None:
    """Raise NotARotationProblem unless ``holds``; ``where`` may be the one name of a field."""
    if not holds:
        raise NotARotationProblem((where,) if isinstance(where, str) else where, why, *ids)


class NoOrderKeepsThis(SettingsDeskError):
    """There is no plan. ``wishes`` is a smallest set of wishes that cannot hold together.

    ``places`` says of each where it stands among the wishes, as ("before", 2) or ("place", id).
    ``wishes`` is empty where the numbers of turns, the rest and the apparatus already leave no
    plan; ``numbers`` then says which.
    """

    def __init__(self, wishes: Sequence[str], numbers: str = "", places: Sequence[Where] = ()):
        super().__init__(wishes, numbers, places)
        self.wishes, self.numbers, self.places = tuple(wishes), numbers, tuple(places)

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
