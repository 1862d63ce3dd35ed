"""Why a rotation cannot be ordered as it was asked, in the coach's words and part by part."""

import re
from collections.abc import Mapping, Sequence

from settingsdesk.desk.rotations.order_request import Asked
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.planner.conflicts import single_wishes
from settingsdesk.planner.errors import NoOrderKeepsThis
from settingsdesk.planner.problem import Wishes

Part = tuple[str, int]
"""A part of an ``Asked``: the name of a field, and where it holds several, which of them."""


def parts(place: str, names: Mapping[int, str], asked: Asked) -> tuple[Part, ...]:
    """What was asked at a place of the planner's problem, such as ``wishes.before[1][0]``."""
    found = re.fullmatch(r"(?:wishes\.)?(\w+)(?:\[(\d+)\].*|\.(.+))?", place)
    if found is None:
        return ()
    kind, number, name = found.groups()
    if kind == "place":
        return tuple(
            ("places", here) for here, (one, _) in enumerate(asked.places) if names[one] == name
        )
    return (("apparatus" if kind == "wishes" else kind, int(number or 0)),)


def in_the_coachs_words(
    refused: NoOrderKeepsThis, wishes: Wishes, names: Mapping[int, str], asked: Asked
) -> "CannotBePlanned":
    """The planner's refusal, with the wishes as they were asked."""
    if not refused.wishes:
        return CannotBePlanned(str(refused), (("rest_turns", 0),))
    told = _told(names, asked)
    asked_as = dict(zip((wish.said for wish in single_wishes(wishes)), told, strict=True))
    return WishesCannotHold({asked_as[said]: told[asked_as[said]] for said in refused.wishes})


def _told(names: Mapping[int, str], asked: Asked) -> dict[Part, str]:
    """Every single wish in words, in the order in which the planner takes them."""
    told: dict[Part, str] = {}
    for end in ("first", "last"):
        athlete_id = getattr(asked, end)
        if athlete_id is not None:
            told[end, 0] = f"{names[athlete_id]} {end}"
    for number, (one, other) in enumerate(asked.before):
        told["before", number] = f"{names[one]} before {names[other]}"
    for number, group in enumerate(asked.together):
        *others, last = [names[one] for one in group]
        told["together", number] = f"{', '.join(others)} and {last} together"
    for number, (athlete_id, turn) in enumerate(asked.places):
        told["places", number] = f"{names[athlete_id]} at turn {turn}"
    return told


class CannotBePlanned(SettingsDeskError):
    """Numbers and wishes that no rotation can have.

    ``beside`` is what to say beside each part of what was asked, as far as the parts are known.
    """

    def __init__(self, reason: str, concerned: Sequence[Part] = ()) -> None:
        self.reason = reason[:1].upper() + reason[1:]
        self.beside = dict.fromkeys(concerned, self.reason)

    def __str__(self) -> str:
        return self.reason


class WishesCannotHold(CannotBePlanned):
    """Wishes that no order keeps, the fewest of them; ``wishes`` says each in words."""

    def __init__(self, told: Mapping[Part, str]) -> None:
        self.wishes = tuple(told.values())
        listed = "; ".join(f"'{wish}'" for wish in self.wishes)
        if len(told) == 1:
            super().__init__(f"This wish cannot be kept: {listed}. Change it", tuple(told))
            return
        super().__init__(f"These wishes cannot hold together: {listed}. Change one of them")
        self.beside = {
            part: f"'{wish}' cannot hold together with the others" for part, wish in told.items()
        }


class FinalNotOnScale(SettingsDeskError):
    """An apparatus shall stand afterwards where its scale has no marks any more."""

    def __init__(self, apparatus: str) -> None:
        self.apparatus = apparatus

    def __str__(self) -> str:
        return (
            f"The scale of {self.apparatus} was changed, and no longer has the marks at which it"
            " shall stand afterwards: enter them anew among the wishes"
        )
