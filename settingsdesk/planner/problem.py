"""The rotation problem: apparatus, athletes, wishes and goal, each refusing nonsense when made.

The meaning of every field is that of the problem file that ``settingsdesk order`` reads. A setup is
a tuple of stop numbers, one per axis, counted from 0; all times are whole seconds.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from settingsdesk.planner.errors import Where, inside, refuse_unless

Setup = tuple[int, ...]
ChangeOver = Callable[[Setup, Setup], int]

MOST_ATHLETES = 200
MOST_GROUPS = 6
"""On one evening; beyond, nobody would sit there."""
MOST_TURNS = 600
LONGEST_CHANGE_OVER_S = 36_000
LONGEST_TURN_S = 36_000


class Goal(StrEnum):
    """What is to be small: all change-over time together, or the end of the last apparatus."""

    TOTAL = "total"
    MAKESPAN = "makespan"


@dataclass(frozen=True, slots=True)
class AxisTimes:
    """One axis: its number of stops, and what one pair of hands needs to move it, per end."""

    id: str
    stops: int
    ends: int
    handling_s: int
    up_s: int
    down_s: int

    def __post_init__(self) -> None:
        refuse_unless(1 <= self.stops <= 1000, "stops", "an axis has between 1 and 1000 stops")
        refuse_unless(self.ends >= 1, "ends", "an axis has at least 1 end to move")
        for name in ("handling_s", "up_s", "down_s"):
            refuse_unless(getattr(self, name) >= 0, name, "a time cannot be below 0 s")

    def move_s(self, moved: int) -> int:
        """Seconds to move by ``moved`` stops, up or outwards above 0; 0 where nothing moves."""
        if moved == 0:
            return 0
        return self.ends * (
            self.handling_s + (moved * self.up_s if moved > 0 else -moved * self.down_s)
        )


@dataclass(frozen=True, slots=True)
class Unit:
    """One apparatus of the rotation, where it stands and where it must stand at the end.

    ``change_over`` replaces the sum over the axes where the domain knows the time better, as for
    a crew of two or four; it must be 0 exactly where nothing is to be changed.
    """

    id: str
    axes: tuple[AxisTimes, ...]
    any_move_s: int
    setup: Setup
    final_setup: Setup | None = None
    turns_min: int | None = None
    turns_max: int | None = None
    change_over: ChangeOver | None = None

    def __post_init__(self) -> None:
        refuse_unless(len(self.axes) > 0, "axes", "an apparatus needs at least one axis")
        _refuse_twice([axis.id for axis in self.axes], "axes")
        refuse_unless(self.any_move_s >= 0, "any_move_s", "a time cannot be below 0 s")
        dearest = self.any_move_s + sum(
            max(axis.move_s(axis.stops), axis.move_s(-axis.stops)) for axis in self.axes
        )
        refuse_unless(
            dearest <= LONGEST_CHANGE_OVER_S,
            "axes",
            f"a change-over could take {dearest} s; it must stay below {LONGEST_CHANGE_OVER_S} s",
        )
        self.check_setup(self.setup, "setup")
        if self.final_setup is not None:
            self.check_setup(self.final_setup, "final_setup")
        for name in ("turns_min", "turns_max"):
            bound = getattr(self, name)
            refuse_unless(bound is None or bound >= 0, name, "a number of turns cannot be below 0")
        refuse_unless(
            self.turns_max is None or (self.turns_min or 0) <= self.turns_max,
            "turns_min",
            f"at least {self.turns_min} turns cannot also be at most {self.turns_max}",
        )

    def check_setup(self, setup: Setup, *where: str) -> None:
        """Refuse a setup of another length, or with a stop that its axis does not have."""
        refuse_unless(
            len(setup) == len(self.axes),
            where,
            f"{len(setup)} stops are given, but {{}} has {len(self.axes)} axes",
            self.id,
        )
        for number, (stop, axis) in enumerate(zip(setup, self.axes, strict=True)):
            refuse_unless(
                0 <= stop < axis.stops,
                (*where, number),
                f"stop {stop} is outside the {axis.id}, which has the stops 0 to {axis.stops - 1}",
            )

    def seconds(self, start: Setup, end: Setup) -> int:
        """Change-over seconds from one setup to the next; 0 where they are equal."""
        if start == end:
            return 0
        if self.change_over is not None:
            return self.change_over(start, end)
        return self.any_move_s + sum(
            axis.move_s(after - before)
            for axis, before, after in zip(self.axes, start, end, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Entrant:
    """One athlete of the rotation: wanted setup and accepted deviation per apparatus, turn time.

    ``turns`` counts only where it differs from the rotation's: someone who came late, or who has
    had some turns when a running rotation is planned again.
    """

    id: str
    setups: Mapping[str, Setup]
    turn_s: int
    accepts: Mapping[str, Setup] = field(default_factory=dict)
    turns: int | None = None

    def __post_init__(self) -> None:
        refuse_unless(
            len(self.setups) > 0, "setups", "{} needs a setup on at least one apparatus", self.id
        )
        refuse_unless(
            0 <= self.turn_s <= LONGEST_TURN_S, "turn_s", f"a turn lasts 0 to {LONGEST_TURN_S} s"
        )
        refuse_unless(self.turns is None or self.turns >= 1, "turns", "at least 1 turn is needed")
        for unit_id, accepted in self.accepts.items():
            refuse_unless(
                unit_id in self.setups,
                ("accepts", unit_id),
                "{} has no setup on {}",
                self.id,
                unit_id,
            )
            for number, stops in enumerate(accepted):
                refuse_unless(
                    stops >= 0, ("accepts", unit_id, number), "a deviation cannot be below 0"
                )

    def accepted(self, unit_id: str) -> Setup:
        """How many stops the actual setup may differ on each axis."""
        return self.accepts.get(unit_id) or (0,) * len(self.setups[unit_id])


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the coach asks of the order. ``place`` counts turns from 1.

    Of several groups one after the other, first, last and places are those of the athlete's own.
    """

    first: str | None = None
    last: str | None = None
    before: tuple[tuple[str, str], ...] = ()
    together: tuple[tuple[str, ...], ...] = ()
    place: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for number, (earlier, later) in enumerate(self.before):
            refuse_unless(
                earlier != later, ("before", number), "{} cannot go before {}", earlier, later
            )
        for number, group in enumerate(self.together):
            refuse_unless(
                len(group) >= 2, ("together", number), "keeping together needs two athletes"
            )
            _refuse_twice(group, "together", number)
        for athlete, turn in self.place.items():
            refuse_unless(turn >= 1, ("place", athlete), "turns are counted from 1")

    def __bool__(self) -> bool:
        return bool(self.first or self.last or self.before or self.together or self.place)

    def named(self) -> dict[str, Where]:
        """Every athlete that a wish names, with the place of one such wish."""
        found: dict[str, Where] = {athlete: ("place", athlete) for athlete in self.place}
        for kind in ("before", "together"):
            for number, group in enumerate(getattr(self, kind)):
                found.update({a: (kind, number, i) for i, a in enumerate(group)})
        found.update({a: (kind,) for kind in ("first", "last") if (a := getattr(self, kind))})
        return found


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything the planner needs to know, and nothing it must look up elsewhere.

    ``longest_rest``: of all orders only those count in which the least rest is as long as it can
    be, and at least ``rest_turns``. ``in_rounds``: everybody has had a turn before anybody has the
    next one. ``one_setup``: all turns of an athlete are at one setup. ``equal_numbers``: no
    apparatus has two athletes more than another. ``groups``: all turns of one come before any of
    the next, in this order or, with ``groups_in_order`` false, in any; what is asked of all turns
    alike is asked of each by itself. ``just_had`` names who had the last turns before this plan
    begins, the latest last: their rest counts when a running rotation is planned again.
    """

    apparatus: tuple[Unit, ...]
    athletes: tuple[Entrant, ...]
    turns: int = 1
    rest_turns: int = 0
    wishes: Wishes = field(default_factory=Wishes)
    goal: Goal = Goal.TOTAL
    time_limit_s: float = 10
    longest_rest: bool = False
    in_rounds: bool = False
    one_setup: bool = False
    equal_numbers: bool = False
    groups: tuple[tuple[str, ...], ...] = ()
    groups_in_order: bool = True
    just_had: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        refuse_unless(len(self.apparatus) > 0, "apparatus", "at least one apparatus is needed")
        refuse_unless(len(self.athletes) > 0, "athletes", "the list of athletes is empty")
        refuse_unless(
            len(self.athletes) <= MOST_ATHLETES,
            "athletes",
            f"{len(self.athletes)} athletes are listed; one rotation has at most {MOST_ATHLETES}",
        )
        refuse_unless(self.turns >= 1, "turns", "everybody needs at least 1 turn")
        refuse_unless(self.rest_turns >= 0, "rest_turns", "the rest cannot be below 0 turns")
        refuse_unless(self.time_limit_s > 0, "time_limit_s", "the time limit must be above 0 s")
        _refuse_twice([unit.id for unit in self.apparatus], "apparatus")
        _refuse_twice([athlete.id for athlete in self.athletes], "athletes")
        refuse_unless(
            self.turn_count <= MOST_TURNS,
            "turns",
            f"{self.turn_count} turns are asked for; one rotation has at most {MOST_TURNS}",
        )
        self._check_setups()
        self._check_groups()
        self._check_wishes()
        self._check_counts()

    @property
    def turn_count(self) -> int:
        """All turns of the rotation together."""
        return sum(self.turns_of(athlete) for athlete in self.athletes)

    @property
    def most_turns(self) -> int:
        """The turns of whoever has most of them still to come."""
        return max(map(self.turns_of, self.athletes))

    def turns_of(self, athlete: Entrant) -> int:
        """How many turns this athlete is still to have."""
        return self.turns if athlete.turns is None else athlete.turns

    def group_of(self, athlete_id: str) -> int:
        """The number of an athlete's group; 0 where there are none."""
        return next((n for n, group in enumerate(self.groups) if athlete_id in group), 0)

    def unit(self, unit_id: str) -> Unit:
        """The apparatus of this id."""
        return next(unit for unit in self.apparatus if unit.id == unit_id)

    def _check_setups(self) -> None:
        units = {unit.id: unit for unit in self.apparatus}
        for number, athlete in enumerate(self.athletes):
            with inside("athletes", number):
                for unit_id, setup in athlete.setups.items():
                    where = ("setups", unit_id)
                    refuse_unless(unit_id in units, where, "there is no apparatus {}", unit_id)
                    units[unit_id].check_setup(setup, *where)
                    refuse_unless(
                        len(athlete.accepted(unit_id)) == len(setup),
                        ("accepts", unit_id),
                        f"{{}} has {len(setup)} axes",
                        unit_id,
                    )

    def _check_groups(self) -> None:
        if not self.groups:
            return
        refuse_unless(len(self.apparatus) == 1, "groups", "groups share one apparatus")
        refuse_unless(not self.just_had, "groups", "groups are planned before their first turn")
        refuse_unless(
            len(self.groups) <= MOST_GROUPS, "groups", f"there are at most {MOST_GROUPS} groups"
        )
        known = {athlete.id for athlete in self.athletes}
        listed: dict[str, int] = {}
        for number, group in enumerate(self.groups):
            refuse_unless(len(group) > 0, ("groups", number), "this group is empty")
            for place, athlete in enumerate(group):
                where = ("groups", number, place)
                refuse_unless(athlete in known, where, "there is no athlete {}", athlete)
                refuse_unless(athlete not in listed, where, "{} is in two groups", athlete)
                listed[athlete] = number
        for number, entrant in enumerate(self.athletes):
            refuse_unless(
                entrant.id in listed, ("athletes", number), "{} is in no group", entrant.id
            )

    def _check_wishes(self) -> None:
        known = {athlete.id for athlete in self.athletes}
        with inside("wishes"):
            for athlete, where in self.wishes.named().items():
                refuse_unless(athlete in known, where, "there is no athlete {}", athlete)
            self._check_places()
            for kind in ("before", "together"):
                for number, some in enumerate(getattr(self.wishes, kind)):
                    refuse_unless(
                        len(set(map(self.group_of, some))) == 1,
                        (kind, number),
                        "this is about athletes of different groups, and each has its own time",
                    )
        refuse_unless(
            not self.wishes or len(self.apparatus) == 1,
            "wishes",
            "wishes about the order need a rotation on one apparatus",
        )
        for name in ("longest_rest", "in_rounds"):
            refuse_unless(
                not getattr(self, name) or len(self.apparatus) == 1,
                name,
                "the longest rest and turns in rounds need a rotation on one apparatus",
            )

    def _check_places(self) -> None:
        taken: dict[tuple[int, int], str] = {}
        for athlete, turn in self.wishes.place.items():
            group = self.group_of(athlete)
            last = sum(
                self.turns_of(one) for one in self.athletes if self.group_of(one.id) == group
            )
            refuse_unless(
                turn <= last,
                ("place", athlete),
                f"turn {turn} is beyond the last turn, which is {last}",
            )
            refuse_unless(
                (group, turn) not in taken,
                ("place", athlete),
                f"turn {turn} is already given to {{}}",
                taken.get((group, turn), ""),
            )
            taken[group, turn] = athlete

    def _check_counts(self) -> None:
        fewest, there = self.rest_turns + 1, min(map(len, self.groups or (self.athletes,)))
        rest = "1 turn of rest needs" if fewest == 2 else f"{self.rest_turns} turns of rest need"
        refuse_unless(
            there >= fewest or self.most_turns == 1,
            "rest_turns",
            f"{rest} at least {fewest} athletes, and there {'is' if there == 1 else 'are'} {there}",
        )
        least = sum(unit.turns_min or 0 for unit in self.apparatus)
        most = sum(
            self.turn_count if unit.turns_max is None else unit.turns_max for unit in self.apparatus
        )
        for number, unit in enumerate(self.apparatus):
            refuse_unless(
                (unit.turns_min or 0) <= self.turn_count and least <= self.turn_count,
                ("apparatus", number, "turns_min"),
                f"{least} turns are asked for at least, but there are only {self.turn_count}",
            )
            refuse_unless(
                unit.turns_max is None or most >= self.turn_count,
                ("apparatus", number, "turns_max"),
                f"{most} turns are allowed at most, but there are {self.turn_count}",
            )


def part_of(problem: Problem, group: int) -> Problem:
    """One group by itself: who is in it, and what is wished of them, as if nobody else came."""
    ids = frozenset(problem.groups[group])
    wishes = problem.wishes
    return replace(
        problem,
        athletes=tuple(one for one in problem.athletes if one.id in ids),
        wishes=Wishes(
            first=wishes.first if wishes.first in ids else None,
            last=wishes.last if wishes.last in ids else None,
            before=tuple(pair for pair in wishes.before if pair[0] in ids),
            together=tuple(some for some in wishes.together if some[0] in ids),
            place={athlete: turn for athlete, turn in wishes.place.items() if athlete in ids},
        ),
        groups=(),
    )


def _refuse_twice(ids: Sequence[str], *where: str | int) -> None:
    for number, name in enumerate(ids):
        refuse_unless(bool(name), (*where, number), "an id cannot be empty")
        refuse_unless(
            name not in ids[:number], (*where, number), "{} is already in this list", name
        )
