"""Why a rotation cannot be ordered as it was asked, in the coach's words and part by part."""

from collections.abc import Mapping, Sequence

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.wishes_in_words import Part, told_wishes
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.planner.errors import NoOrderKeepsThis, NotARotationProblem, Where


def no_problem_in_the_coachs_words(
    refused: NotARotationProblem, called: Mapping[str, str], asked: OrderRequest
) -> "CannotBePlanned":
    """The planner's refusal of what was asked; ``called`` are names by the planner's keys."""
    part = part_of(refused.where, asked)
    return CannotBePlanned(refused.said(lambda key: called.get(key, key)), [part] if part else [])


def in_the_coachs_words(
    refused: NoOrderKeepsThis, names: Mapping[int, str], asked: OrderRequest
) -> "CannotBePlanned":
    """The planner's refusal, with the wishes as they were asked."""
    if not refused.wishes:
        return CannotBePlanned(str(refused), (("rest_turns", 0),))
    told = told_wishes(names, asked)
    parts = [_part_of_wish(where, asked) for where in refused.places]
    return WishesCannotHold({part: told[part] for part in parts if part is not None})


def part_of(where: Where, asked: OrderRequest) -> Part | None:
    """What was asked that stands there in the planner's problem; None where nothing was."""
    match where:
        case ("wishes",):
            return "apparatus", 0
        case ("athletes", int()):  # in no group
            return "groups", 0
        case ("wishes", *wish):
            return _part_of_wish(tuple(wish), asked)
        case (str(kind), int(number), *_):
            return kind, number
        case (str(kind), *_):
            return kind, 0
    return None


def _part_of_wish(where: Where, asked: OrderRequest) -> Part | None:
    match where:
        case ("place", key):
            places = [str(athlete_id) for athlete_id, _ in asked.places]
            return "places", places.index(str(key))
        case (str(kind), int(number), *_):
            return kind, number
        case (str(kind),):
            return kind, 0
    return None


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
        return Sentence(
            "The scale of %(apparatus)s was changed, and no longer has the marks at which it"
            " shall stand afterwards: enter them again among the wishes",
            apparatus=self.apparatus,
        )
