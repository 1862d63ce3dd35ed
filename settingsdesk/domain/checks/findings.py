"""The life of a finding: open, reported, repaired, released. Steps are taken once, and forwards."""

from collections.abc import Collection
from enum import Enum

from settingsdesk.domain.base.errors import SettingsDeskError


class Step(Enum):
    """A step in the life of a finding; a later one may be taken without those between."""

    OPEN = "open"
    REPORTED = "reported"
    REPAIRED = "repaired"
    RELEASED = "released"

    @property
    def words(self) -> str:
        """What a finding is after it."""
        return self.value.capitalize()

    @property
    def needs_remark(self) -> bool:
        """Whether the step must say why: a release always does."""
        return self is Step.RELEASED


def next_steps(taken: Collection[Step]) -> tuple[Step, ...]:
    """The steps that may follow; none once it is released."""
    order = list(Step)
    last = max((order.index(step) for step in taken), default=-1)
    return tuple(order[last + 1 :])


def must_be_next(taken: Collection[Step], step: Step, remark: str) -> None:
    """Refuse a step that is taken already, lies behind, or does not say why it must."""
    if step not in next_steps(taken):
        raise StepIsOver(step, next_steps(taken))
    if step.needs_remark and not remark.strip():
        raise ReasonMissing


class StepIsOver(SettingsDeskError):
    """A step was to be taken that lies behind the finding (a page answers 409)."""

    def __init__(self, step: Step, left: tuple[Step, ...]) -> None:
        self.step, self.left = step, left

    def __str__(self) -> str:
        rest = " or ".join(step.value for step in self.left)
        ahead = f"it can still be {rest}" if rest else "its life has ended"
        return (
            f"This finding cannot become {self.step.value} any more: {ahead}. Somebody may have"
            " been here before you; look at its record"
        )


class ReasonMissing(SettingsDeskError):
    """An apparatus was to be released without a reason."""

    sentence = (
        "Enter the reason for the release: what was put right, who looked at it, and how it"
        " was tried"
    )


class NoSuchStep(SettingsDeskError):
    """A step was named that there is not."""

    def __init__(self, key: str) -> None:
        self.key = key

    def __str__(self) -> str:
        known = ", ".join(step.value for step in Step)
        return f"'{self.key[:40]}' is no step in the life of a finding; the steps are {known}"


def step_of(key: str) -> Step:
    """The step of that key, or ``NoSuchStep``."""
    try:
        return Step(key)
    except ValueError:
        raise NoSuchStep(key) from None
