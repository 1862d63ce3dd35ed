"""What a coach asks of a rotation besides who is on it: turns, rest, hands, wishes, apparatus."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.crew import CREWS, NotACrew
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.settings.purposes import USUAL, Purpose

MOST_TURNS_EACH = 9
MOST_REST_TURNS = 20
LONGEST_TURN_S = 600
MOST_GROUPS = 6
"""One after the other on one evening; the planner's limit."""
USUAL_TURN_S = 60
"""An estimate of one athlete's go, until the coach says another."""


@dataclass(frozen=True, slots=True)
class OrderRequest:
    """The coach's wishes for one rotation; athletes and apparatus are meant by their numbers.

    ``rest_turns`` is the least number of others' turns between two of one athlete. ``leeway``
    lets the stops differ within what each athlete accepts, and ``one_setup`` keeps all turns of one
    athlete at the same. ``longest_rest`` asks for as much rest as there can be, ``in_rounds`` that
    everybody has had a turn before anybody has the next. ``places`` are pairs of athlete and
    1-based turn. ``apparatus`` are those it is held on besides the first one; with several,
    ``soonest`` asks for the earliest end instead of the least change-over time in all, and
    ``equal_numbers`` for as many athletes on each, one more at most. ``finals``
    are pairs of apparatus and the setup at which it shall stand afterwards. ``groups`` go one after
    the other, as listed or with ``groups_free`` in any order, and are called by ``group_names``;
    first, last and places are of each athlete's own group then. In a rotation under way, ``had``
    are pairs of athlete and turns already had, and ``just_had`` those whose turns were the last,
    the latest last. ``as_drawn`` keeps the list's order: it is a meet's start order, which nothing
    re-arranges. ``purpose`` says which of their settings count; ``group_purposes`` say it of each
    group, and are empty where it is the same for all.
    """

    turns: int = 1
    rest_turns: int = 0
    hands: int = 1
    turn_s: int = USUAL_TURN_S
    leeway: bool = False
    longest_rest: bool = False
    in_rounds: bool = False
    one_setup: bool = False
    first: int | None = None
    last: int | None = None
    before: tuple[tuple[int, int], ...] = ()
    together: tuple[tuple[int, ...], ...] = ()
    places: tuple[tuple[int, int], ...] = ()
    apparatus: tuple[int, ...] = ()
    soonest: bool = False
    equal_numbers: bool = False
    finals: tuple[tuple[int, Setup], ...] = ()
    groups: tuple[tuple[int, ...], ...] = ()
    group_names: tuple[str, ...] = ()
    group_purposes: tuple[Purpose, ...] = ()
    groups_free: bool = False
    had: tuple[tuple[int, int], ...] = ()
    just_had: tuple[int, ...] = ()
    as_drawn: bool = False
    purpose: Purpose = USUAL

    def __post_init__(self) -> None:
        _must_lie("The turns of each athlete", self.turns, 1, MOST_TURNS_EACH)
        _must_lie("The turns of rest", self.rest_turns, 0, MOST_REST_TURNS)
        _must_lie("The seconds of a turn", self.turn_s, 0, LONGEST_TURN_S)
        if self.hands not in CREWS:
            raise NotACrew(self.hands)

    def final_of(self, apparatus_id: int) -> Setup | None:
        """Where that apparatus shall stand after the last turn; None where it does not matter."""
        return dict(self.finals).get(apparatus_id)

    @property
    def nameless(self) -> "OrderRequest":
        """The same without any word that somebody wrote: as it is kept with an order."""
        return replace(self, group_names=())

    def group_of(self, athlete_id: int) -> int | None:
        """The number of an athlete's group; None where there are no groups."""
        numbers = (n for n, group in enumerate(self.groups) if athlete_id in group)
        return next(numbers, None)

    def purpose_of_group(self, number: int) -> Purpose:
        """Which settings count for one of several groups."""
        return self.group_purposes[number] if self.group_purposes else self.purpose

    def purpose_of(self, athlete_id: int) -> Purpose:
        """Which of an athlete's settings counts."""
        number = self.group_of(athlete_id)
        return self.purpose if number is None else self.purpose_of_group(number)

    @property
    def purposes(self) -> tuple[Purpose, ...]:
        """All that count for somebody, in the order of ``Purpose``."""
        there = set(self.group_purposes or (self.purpose,))
        return tuple(purpose for purpose in Purpose if purpose in there)

    def for_groups(self, numbers: Sequence[int]) -> "OrderRequest":
        """What is asked of these groups only."""
        there = [athlete_id for number in numbers for athlete_id in self.groups[number]]
        return self.only_for(there) if self.groups else self

    def for_part(self, name: str) -> "OrderRequest":
        """What is asked of whoever has turns in one group's part, newcomers too."""
        if name not in self.group_names:
            return self
        purpose = self.purpose_of_group(self.group_names.index(name))
        return replace(self, purpose=purpose, group_purposes=())

    def with_groups(
        self, groups: Mapping[str, Sequence[int]], purposes: Mapping[str, Purpose] | None = None
    ) -> "OrderRequest":
        """The same with these groups, by name; those of nobody are none, and one alone is none.

        ``purposes`` say which settings count for each; without them those stay as they were.
        """
        some = {name: tuple(group) for name, group in groups.items() if group}
        if purposes is None:
            purposes = dict(zip(self._called, self.group_purposes, strict=False))
        if len(some) < 2:
            asked = replace(self, groups=(), group_names=(), groups_free=False)
        else:
            asked = replace(self, groups=tuple(some.values()), group_names=tuple(some))
        of_each = tuple(purposes.get(name, self.purpose) for name in some)
        if len(set(of_each)) == 1:
            return replace(asked, purpose=of_each[0], group_purposes=())
        return replace(asked, group_purposes=of_each)

    def with_purposes(self, purposes: Mapping[str, Purpose]) -> "OrderRequest":
        """The same groups, with the settings that count for each by its name."""
        return self.with_groups(dict(zip(self._called, self.groups, strict=True)), purposes)

    @property
    def _called(self) -> tuple[str, ...]:
        """The names of the groups; of what is kept with an order their numbers."""
        return self.group_names or tuple(map(str, range(len(self.groups))))

    def _groups_for(self, athlete_ids: Sequence[int]) -> dict[str, list[int]]:
        """The groups with those of them who are listed; whoever is new is in the last one."""
        names = self._called
        found = {
            name: [athlete_id for athlete_id in group if athlete_id in athlete_ids]
            for name, group in zip(names, self.groups, strict=True)
        }
        if found:
            new = [one for one in athlete_ids if self.group_of(one) is None]
            found[names[-1]] += new
        return found

    def only_for(self, athlete_ids: Sequence[int]) -> "OrderRequest":
        """The same without what is wished of somebody who is not on the list."""
        listed = set(athlete_ids)
        groups = [
            tuple(athlete_id for athlete_id in group if athlete_id in listed)
            for group in self.together
        ]
        asked = self.with_groups(self._groups_for(athlete_ids)) if self.groups else self
        return replace(
            asked,
            first=self.first if self.first in listed else None,
            last=self.last if self.last in listed else None,
            before=tuple(pair for pair in self.before if listed.issuperset(pair)),
            together=tuple(group for group in groups if len(group) > 1),
            places=tuple(place for place in self.places if place[0] in listed),
            had=tuple(turns for turns in self.had if turns[0] in listed),
        )

    def with_one_for(self, athlete_id: int, other_id: int) -> "OrderRequest":
        """The same with ``other_id`` in every place of an athlete."""

        def named(number: int) -> int:
            return other_id if number == athlete_id else number

        return replace(
            self,
            first=None if self.first is None else named(self.first),
            last=None if self.last is None else named(self.last),
            before=tuple((named(earlier), named(other)) for earlier, other in self.before),
            together=tuple(tuple(map(named, group)) for group in self.together),
            places=tuple((named(athlete), place) for athlete, place in self.places),
            groups=tuple(tuple(map(named, group)) for group in self.groups),
            had=tuple((named(athlete), turns) for athlete, turns in self.had),
            just_had=tuple(map(named, self.just_had)),
        )

    def to_data(self) -> dict[str, Any]:
        """The wishes as JSON-ready data."""
        return asdict(self)

    @staticmethod
    def from_data(data: Mapping[str, Any]) -> "OrderRequest":
        """The wishes that such data describe; what is not said is as usual."""
        groups = ("before", "together", "places", "groups", "had")
        plain = ("apparatus", "group_names", "just_had")
        return OrderRequest(
            **dict(data)
            | {name: tuple(tuple(group) for group in data.get(name, ())) for name in groups}
            | {name: tuple(data.get(name, ())) for name in plain}
            | {"purpose": Purpose(data.get("purpose", USUAL))}
            | {"group_purposes": tuple(map(Purpose, data.get("group_purposes", ())))}
            | {
                "finals": tuple(
                    (apparatus_id, tuple(stops)) for apparatus_id, stops in data.get("finals", ())
                )
            }
        )


def _must_lie(what: str, number: int, least: int, most: int) -> None:
    if not least <= number <= most:
        raise NumberNotPossible(what, number, least, most)


class NumberNotPossible(SettingsDeskError):
    """A number outside what a rotation can have."""

    def __init__(self, what: str, number: int, least: int, most: int) -> None:
        self.what, self.number, self.least, self.most = what, number, least, most

    def __str__(self) -> str:
        return f"{self.what} must be between {self.least} and {self.most}; {self.number} was given"
