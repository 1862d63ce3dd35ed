"""Which timed change-overs tell nothing of the times of operations, and why.

A button pressed at once, a clock that ran on over a break: such times are left out of the fit and
shown with the reason. None is dropped silently.
"""

from collections.abc import Sequence
from statistics import median

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.crew import CREWS, NotACrew, crew_change_over, crew_time_s
from settingsdesk.domain.hall.models import LONGEST_OPERATION_S, ApparatusModel
from settingsdesk.domain.times.timed import TimedChangeOver

FAR_OFF = 3
"""A time so many times longer or shorter than is usual was not all work, or not all the work."""


def why_left_out(model: ApparatusModel, timed: Sequence[TimedChangeOver]) -> list[str]:
    """For each change-over the reason for which it is left out of a fit; "" where it is not.

    What is usual is the median of the times taken as multiples of those planned. That does not
    depend on the present times being right, only on most of the change-overs being work.
    """
    reasons = [_by_itself(model, change_over) for change_over in timed]
    planned_s = [
        0 if reason else crew_time_s(model, change_over.start, change_over.goal, change_over.hands)
        for change_over, reason in zip(timed, reasons, strict=True)
    ]
    multiples = [
        change_over.seconds / plan
        for change_over, plan in zip(timed, planned_s, strict=True)
        if plan
    ]
    if not multiples:
        return reasons
    usual = median(multiples)
    return [
        reason or (_far_off(change_over.seconds, usual * plan) if plan else "")
        for change_over, plan, reason in zip(timed, planned_s, reasons, strict=True)
    ]


def _by_itself(model: ApparatusModel, change_over: TimedChangeOver) -> str:
    """The reason that needs no comparison with others."""
    if change_over.hands not in CREWS:
        return str(NotACrew(change_over.hands))
    try:
        model.must_have(change_over.start)
        model.must_have(change_over.goal)
    except SettingsDeskError as refused:
        return str(refused)
    if change_over.start == change_over.goal:
        return "Nothing was moved"
    if change_over.seconds <= 0:
        return "It took no time: confirmed at once, or the clock was put back"
    steps = len(
        crew_change_over(model, change_over.start, change_over.goal, change_over.hands).steps
    )
    if change_over.seconds * change_over.hands < steps:
        return (
            f"It took {change_over.seconds} s for {steps} steps: confirmed all at once, not step"
            " by step"
        )
    if change_over.seconds > LONGEST_OPERATION_S:
        return "It took over an hour: the clock ran on"
    return ""


def _far_off(seconds: int, usual_s: float) -> str:
    if seconds > FAR_OFF * usual_s:
        how = "more than 3 times as long"
    elif FAR_OFF * seconds < usual_s:
        how = "less than a third of it"
    else:
        return ""
    return f"It took {seconds} s where about {usual_s:.0f} s is usual: {how}"
