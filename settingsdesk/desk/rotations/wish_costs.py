"""Why an order is as it is: its wishes one by one, with what keeping each of them costs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.refusals import part_of
from settingsdesk.desk.rotations.wishes_in_words import Part
from settingsdesk.domain.base.figures import minutes, minutes_alone
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.planner.plan import WishCost

AT_ANY_TIME = frozenset({"first", "last", "before", "together", "places", "equal_numbers"})
IN_THIS_ORDER = "groups_in_order"
WITH_SEVERAL_TURNS = frozenset({"longest_rest", "rest_turns", "in_rounds", "one_setup"})
RESTS = frozenset({"longest_rest", "rest_turns"})


@dataclass(frozen=True, slots=True)
class Cost:
    """What an order could take less without one wish, all others kept: between two bounds.

    They are equal where it is proven. ``without_s`` is the least that was found without it.
    """

    at_least_s: int
    at_most_s: int
    without_s: int

    @property
    def is_exact(self) -> bool:
        """Whether it is proven."""
        return self.at_least_s == self.at_most_s

    @property
    def in_words(self) -> Sentence:
        """How much time it costs, and what the order would take without it."""
        if self.at_most_s == 0:
            return Sentence("costs no time")
        if self.is_exact:
            return Sentence(
                "+%(cost)s (without it %(without)s)",
                cost=minutes(self.at_most_s),
                without=minutes(self.without_s),
            )
        if self.at_least_s == 0:
            return Sentence("at most +%(most)s", most=minutes(self.at_most_s))
        return Sentence(
            "between +%(least)s and +%(most)s",
            least=minutes_alone(self.at_least_s),
            most=minutes(self.at_most_s),
        )


@dataclass(frozen=True, slots=True)
class ToldWish:
    """What holds for a rotation, in words; ``cost`` is None where it has none or none is known."""

    words: str
    cost: Cost | None

    @property
    def in_words(self) -> str:
        """The wish with what it costs."""
        if self.cost is None:
            return self.words
        return Sentence("%(wish)s: %(cost)s", wish=self.words, cost=self.cost.in_words)


def told_with_costs(
    told: Mapping[Part, str],
    asked: OrderRequest,
    goal_s: int,
    bound_s: int,
    costs: Sequence[WishCost],
) -> tuple[ToldWish, ...]:
    """The wishes in words, each with what it costs in an order of that goal and proven bound."""
    known = {part_of(cost.where, asked): _cost(cost, goal_s, bound_s) for cost in costs}
    return tuple(ToldWish(words, known.get(part)) for part, words in told.items())


def _cost(cost: WishCost, goal_s: int, bound_s: int) -> Cost:
    return Cost(cost.at_least_s(bound_s), cost.at_most_s(goal_s), cost.goal_s)


def weighable(told: Mapping[Part, str], asked: OrderRequest) -> Iterator[Part]:
    """The parts of what is asked that can cost something: each is what an order keeps to."""
    for part in told:
        name, _ = part
        several = asked.turns > 1 or (name in RESTS and bool(asked.just_had))
        if name == IN_THIS_ORDER and asked.groups_free:
            continue
        if name in {*AT_ANY_TIME, IN_THIS_ORDER} or (name in WITH_SEVERAL_TURNS and several):
            yield part
