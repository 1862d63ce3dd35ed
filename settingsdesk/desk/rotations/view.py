"""A rotation as it is looked at: its apparatus, its list, and the order that was made for it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from typing import Any

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import Block, Order, read_order
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.problem import kept_plan, names_of, problem_of
from settingsdesk.desk.rotations.wish_costs import ToldWish, told_with_costs, weighable
from settingsdesk.desk.rotations.wishes_in_words import Part, called_group, told_parts
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.settings.accepted_stops import accepted_stops
from settingsdesk.domain.settings.purposes import SETTINGS_FOR, USUAL
from settingsdesk.planner.plan import Plan, WishCost
from settingsdesk.planner.problem import Problem
from settingsdesk.store import rotations as kept_rotations


@dataclass(frozen=True, slots=True)
class OrderedRotation:
    """The best order beside the order as listed and the rule of thumb, sorted by height.

    The other two are None where such an order cannot keep what is asked. ``group_by_group`` is that
    in which each of several groups was planned by itself. ``goal_s`` is what was
    to be small, and ``bound_s`` is proven: no order has less. ``outdated`` says why the order
    should be made anew, or is empty; ``changed`` are the athletes whose own stops, or
    what they accept, are others now. ``costs`` say what the wishes cost, as far as that was worked
    out after the order.
    """

    best: Order
    as_listed: Order | None
    by_height: Order | None
    goal_s: int
    bound_s: int
    proven: bool
    made_at: datetime
    made_by: str
    outdated: str
    changed: frozenset[int]
    costs: tuple[WishCost, ...] = ()
    group_by_group: Order | None = None

    @property
    def gap_s(self) -> int:
        """How much less an order could take at the very most."""
        return self.goal_s - self.bound_s

    def saved_s(self, other: Order) -> int:
        """How much less change-over the best order takes than another."""
        return other.seconds - self.best.seconds


@dataclass(frozen=True, slots=True)
class BegunPart:
    """The part of a group that was taken to the bars, by its run's number and its name."""

    run_id: int
    name: str


@dataclass(frozen=True)
class RotationView:
    """One rotation whole: its apparatus, its list, what is asked, and its order if one was made.

    ``pieces`` and ``carried`` go by the apparatus's number, the first apparatus first. Of a day to
    come they stand where the plan begins, once there is one: what stands there now says nothing of
    that day. ``row`` is
    what it was read from, and ``plan`` the planner's latest answer as it was kept; one that no
    longer fits the scales is no order. ``begun`` are the parts of several groups that were taken to
    the bars, the first begun first.
    """

    id: int
    name: str
    held_on: date
    pieces: Mapping[int, Piece]
    listed: tuple[Member, ...]
    carried: Mapping[int, Mapping[int, Carried]]
    asked: OrderRequest
    ordered: OrderedRotation | None
    row: kept_rotations.Rotation
    plan: kept_rotations.RotationPlan | None
    begun: tuple[BegunPart, ...] = ()

    @property
    def groups_to_come(self) -> tuple[int, ...]:
        """The numbers of the groups whose part was not begun; all, where every part was."""
        return _to_come(self.asked, self.begun)

    @property
    def blocks_to_come(self) -> tuple[Block, ...]:
        """The turns of those groups in the order of the plan, where it has them by groups."""
        lanes = self.ordered.best.lanes if self.ordered else ()
        return tuple(
            block for lane in lanes for block in lane.blocks if block.group in self.groups_to_come
        )

    @property
    def is_partly_over(self) -> bool:
        """Whether some of several groups were taken to the bars, and others are to come."""
        return len(self.groups_to_come) < len(self.asked.groups)

    def called_group(self, number: int) -> str:
        """What one of several groups is called."""
        return called_group(self.asked, number)

    def settings_for(self, group: int | None = None) -> str:
        """Which settings count, as a sentence; "" where nothing is to be said of it.

        Without a ``group`` it is what counts for everybody: groups that differ say it each.
        """
        asked = self.asked
        if group is not None:
            return SETTINGS_FOR[asked.purpose_of_group(group)] if asked.group_purposes else ""
        return "" if asked.group_purposes or asked.purpose is USUAL else SETTINGS_FOR[asked.purpose]

    @property
    def is_to_come(self) -> bool:
        """Whether it is of a day to come."""
        return self.held_on > today()

    @property
    def was_ordered(self) -> bool:
        """Whether an order was ever made, though it may fit no longer."""
        return self.plan is not None

    @property
    def is_drawn(self) -> bool:
        """Whether it is a meet's start order, which nothing re-arranges."""
        return self.asked.as_drawn

    @cached_property
    def problem(self) -> Problem:
        """What the planner is asked, worked out once.

        Raises ``OrderIsDrawn`` for a meet's start order, ``HaveLeft``, or what ``problem_of``
        raises.
        """
        self.must_not_be_drawn()
        if self.gone:
            raise HaveLeft(self.gone)
        asked, listed = self.asked, self.listed
        if asked.groups:
            here = {one for number in self.groups_to_come for one in asked.groups[number]}
            listed = tuple(member for member in listed if member.id in here)
            asked = asked.for_groups(self.groups_to_come)
        return problem_of(self.pieces, listed, self.carried, asked)

    @property
    def best_plan(self) -> Plan | None:
        """Its best order as the planner has it, where one counts that is up to date.

        Of several groups that is of all of them, until the first was begun.
        """
        if self.plan is None or self.ordered is None or self.ordered.outdated:
            return None
        return kept_plan(self.plan.result["orders"])

    @cached_property
    def called(self) -> Mapping[int, str]:
        """The names of the club's athletes on it as its pages say them, no two alike."""
        return names_of(self.listed)

    @cached_property
    def _told(self) -> Mapping[Part, str]:
        return told_parts(self.called, self.asked, self.pieces)

    @property
    def wishes(self) -> tuple[ToldWish, ...]:
        """What holds for it besides who is on it, in words; nothing where all is as usual.

        Each with what it costs, where that is known of an order that is up to date.
        """
        ordered = self.ordered
        if ordered is None or ordered.outdated:
            return tuple(ToldWish(words, None) for words in self._told.values())
        return told_with_costs(
            self._told, self.asked, ordered.goal_s, ordered.bound_s, ordered.costs
        )

    @property
    def lacks_costs(self) -> bool:
        """Whether its order is up to date and does not say what each wish costs."""
        ordered = self.ordered
        if ordered is None or ordered.outdated or self.is_drawn or self.plan is None:
            return False
        if self.asked.groups and _begun_since(self, self.plan):
            return False
        return len(ordered.costs) < len(list(weighable(self._told, self.asked)))

    @property
    def usual_instead(self) -> Mapping[str, tuple[str, ...]]:
        """That the usual setting counts, as a sentence, with the names of whom it is true.

        They have none for what it is: whoever sets by their marks must know.
        """
        told: dict[str, list[str]] = {}
        for member in self.listed:
            own = (carried.get(member.id) for carried in self.carried.values())
            for sentence in dict.fromkeys(one.usual_instead for one in own if one):
                if sentence:
                    told.setdefault(sentence, []).append(self.called[member.id])
        return {sentence: tuple(names) for sentence, names in told.items()}

    @property
    def not_tried(self) -> tuple[str, ...]:
        """The names of those whose setting is another athlete's, and who have not tried it."""
        on_it = {number for own in self.carried.values() for number in own if own[number].not_tried}
        return tuple(self.called[member.id] for member in self.listed if member.id in on_it)

    @property
    def unmeasured(self) -> Mapping[str, tuple[str, ...]]:
        """What of marks nobody has measured, each sentence with the names of whom it is true.

        Of several apparatus it names the one that it is true of.
        """
        told: dict[str, list[str]] = {}
        for lane in self.ordered.best.lanes if self.ordered else ():
            where = f"{lane.piece.name}: " if len(self.pieces) > 1 else ""
            for number in dict.fromkeys(turn.member.id for turn in lane.turns):
                own = self.carried[lane.piece.id].get(number)
                if own is not None and own.unmeasured:
                    told.setdefault(where + own.unmeasured, []).append(self.called[number])
        return {sentence: tuple(names) for sentence, names in told.items()}

    def must_be_plannable(self) -> None:
        """Raise what ``problem`` raises where there is none."""
        _ = self.problem

    @property
    def piece(self) -> Piece:
        """The apparatus, or the first of several."""
        return next(iter(self.pieces.values()))

    @property
    def gone(self) -> tuple[Member, ...]:
        """Who is on the list and has left the club."""
        return tuple(member for member in self.listed if member.left_on is not None)

    @property
    def wishes_of_the_whole(self) -> OrderRequest:
        """What is wished of it before any turn was had.

        Places that were kept are counted from the turn at which it was planned last: where turns
        were over by then, they mean nothing for the whole.
        """
        asked = replace(self.asked, had=(), just_had=())
        return asked if not self.asked.just_had else replace(asked, places=())

    def must_not_be_drawn(self) -> None:
        """Raise ``OrderIsDrawn`` where the desk may not re-arrange it."""
        if self.is_drawn:
            raise OrderIsDrawn(self.name)

    def must_be_in_use(self) -> None:
        """Raise ``WithdrawnFromUse`` where one of its apparatus is withdrawn."""
        for piece in self.pieces.values():
            piece.must_be_in_use()


def _to_come(asked: OrderRequest, begun: Sequence[BegunPart]) -> tuple[int, ...]:
    """Whose part was not begun; once every part was, all are to come once more."""
    numbers = range(len(asked.groups))
    had: set[int] = set()
    for part in begun:
        had |= {number for number in numbers if called_group(asked, number) == part.name}
        if len(had) == len(numbers):
            had.clear()
    return tuple(number for number in numbers if number not in had)


def as_planned(
    pieces: Mapping[int, Piece], held_on: date, plan: kept_rotations.RotationPlan | None
) -> dict[int, Piece]:
    """The apparatus of a rotation; of a day to come, as they stand where its plan begins."""
    starts = plan.result["starts"] if plan and held_on > today() else {}
    return {
        number: _standing_at(piece, tuple(starts[str(number)])) if str(number) in starts else piece
        for number, piece in pieces.items()
    }


def _standing_at(piece: Piece, setup: Setup) -> Piece:
    try:
        piece.model.must_have(setup)
    except NoSuchStop:
        return piece
    return replace(piece, setup=setup)


def with_order(view: RotationView) -> RotationView:
    """The rotation with its order as it counts after something was changed."""
    return replace(view, ordered=_ordered_of(view, view.plan) if view.plan else None)


def _ordered_of(view: RotationView, plan: kept_rotations.RotationPlan) -> OrderedRotation | None:
    """The order that was kept, with all that follows; None where it no longer fits the hall."""
    result = plan.result
    members = {member.id: member for member in view.listed}
    outdated = _outdated(view, plan)
    if outdated and not _still_fits(view, result):
        return None
    asked = OrderRequest.from_data(result["asked"])
    orders = {
        name: read_order(view.pieces, members, view.carried, result["starts"], lanes, asked)
        for name, lanes in result["orders"].items()
    }
    best = orders["best"]
    takes_s = best.ends_s if asked.soonest else best.seconds
    if not outdated and takes_s != result["goal_s"]:
        outdated = "The times of the apparatus's model have changed since this order was planned."
    return OrderedRotation(
        best=best,
        as_listed=orders.get("as_listed"),
        by_height=orders.get("by_height"),
        group_by_group=orders.get("group_by_group"),
        goal_s=result["goal_s"],
        bound_s=result["bound_s"],
        proven=result["proven"],
        made_at=plan.made_at,
        made_by=plan.made_by,
        outdated=outdated,
        changed=_changed(result["wanted"], wanted_stops(view))
        | _changed(result.get("accepted", {}) if view.asked.leeway else {}, leeways(view)),
        costs=tuple(WishCost.from_json(cost) for cost in result.get("costs", ())),
    )


def drawn_of(view: RotationView, made_at: datetime, made_by: str) -> OrderedRotation | None:
    """A meet's start order as it stands, from what stands on its apparatus now.

    None while that is not known, or somebody has no setting for the apparatus. There is no other
    order that would be allowed, so nothing takes less.
    """
    piece, carried = view.piece, view.carried[view.piece.id]
    if piece.setup is None or any(member.id not in carried for member in view.listed):
        return None
    lane = [(member.id, carried[member.id].transfer.best.setup) for member in view.listed]
    members = {member.id: member for member in view.listed}
    start = {str(piece.id): piece.setup}
    order = read_order(view.pieces, members, view.carried, start, {str(piece.id): lane}, view.asked)
    return OrderedRotation(
        best=order,
        as_listed=order,
        by_height=None,
        goal_s=order.seconds,
        bound_s=order.seconds,
        proven=True,
        made_at=made_at,
        made_by=made_by,
        outdated="",
        changed=frozenset(),
    )


def _changed(before: Mapping[str, Any], now: Mapping[str, Any]) -> frozenset[int]:
    return frozenset(
        int(athlete)
        for number, stops in before.items()
        for athlete, wanted in stops.items()
        if now.get(number, {}).get(athlete) != wanted
    )


def _outdated(view: RotationView, plan: kept_rotations.RotationPlan) -> str:
    """Why what was planned is no longer what would be planned now."""
    result = plan.result
    if who_is_on(plan) != _planned_for(view, plan):
        return "The list of athletes was changed after this order was planned."
    if view.gone:
        return f"{have_left(view.gone)} since this order was planned."
    if OrderRequest.from_data(result["asked"]) != view.asked.nameless:
        return "The wishes were changed after this order was planned."
    if result["wanted"] != wanted_stops(view) or _accepts_otherwise(view, result):
        return "Settings or the apparatus's scale have changed since this order was planned."
    if any(piece.setup is None for piece in view.pieces.values()):
        return "The present marks of the apparatus are not known."
    since = _begun_since(view, plan)
    in_plan = _groups_in(view, plan)
    if since and not since.issuperset(in_plan) and since != set(in_plan[: len(since)]):
        return "The groups went in another order than planned."
    if any(view.pieces[int(key)].setup != at for key, at in _should_stand(view, plan).items()):
        return "The marks on the apparatus are different now than when this order was planned."
    return ""


def _planned_for(view: RotationView, plan: kept_rotations.RotationPlan) -> set[int]:
    """Whom an order had to give turns when it was made: all but groups that were over by then."""
    if not view.asked.groups:
        return {member.id for member in view.listed}
    before = [part for part in view.begun if part.run_id <= _after_run(plan)]
    return {one for number in _to_come(view.asked, before) for one in view.asked.groups[number]}


def _after_run(plan: kept_rotations.RotationPlan) -> int:
    """The latest run that was begun before an order was made."""
    return int(plan.result.get("after_run", 0))


def _begun_since(view: RotationView, plan: kept_rotations.RotationPlan) -> set[int]:
    """The groups of which the part was begun after an order was made."""
    names = {part.name for part in view.begun if part.run_id > _after_run(plan)}
    groups = range(len(view.asked.groups))
    return {number for number in groups if called_group(view.asked, number) in names}


def _groups_in(view: RotationView, plan: kept_rotations.RotationPlan) -> list[int]:
    """The groups in the order in which they go by an order that was kept."""
    [lane, *_] = plan.result["orders"]["best"].values()
    numbers = (view.asked.group_of(athlete_id) for athlete_id, _ in lane)
    return [number for number in dict.fromkeys(numbers) if number is not None]


def _should_stand(view: RotationView, plan: kept_rotations.RotationPlan) -> dict[str, Setup]:
    """Where each apparatus stands as long as everything goes by an order that was kept.

    That is where it begins, or where the groups that went since have left it; all over, it begins
    once more.
    """
    result = plan.result
    stands = {key: tuple(start) for key, start in result["starts"].items()}
    since = _begun_since(view, plan)
    if since and not since.issuperset(_groups_in(view, plan)):
        for key, lane in result["orders"]["best"].items():
            over = [stops for one, stops in lane if view.asked.group_of(one) in since]
            stands[key] = tuple(over[-1])
    return stands


def who_is_on(plan: kept_rotations.RotationPlan) -> set[int]:
    """The athletes whom an order that was kept gives their turns."""
    return {athlete_id for lane in plan.result["orders"]["best"].values() for athlete_id, _ in lane}


def have_left(gone: Sequence[Member]) -> str:
    """Who has left the club: "Nowak, Hana has left", "Fell, Odo and Nowak, Hana have left"."""
    *others, last = [member.listed_name for member in gone]
    return f"{'; '.join(others)} and {last} have left" if others else f"{last} has left"


def wanted_stops(view: RotationView) -> dict[str, dict[str, list[int]]]:
    """Everybody's own stops on every apparatus: what an order was made for."""
    return {
        str(number): {
            str(athlete_id): list(own.transfer.best.setup) for athlete_id, own in carried.items()
        }
        for number, carried in view.carried.items()
    }


def leeways(view: RotationView) -> dict[str, dict[str, list[int]]]:
    """How many stops either way everybody accepts on every apparatus, where that was asked for."""
    if not view.asked.leeway:
        return {}
    return {
        str(number): {
            str(athlete_id): list(
                accepted_stops(own.version.setting, own.piece.model, own.transfer.best.setup)
            )
            for athlete_id, own in carried.items()
        }
        for number, carried in view.carried.items()
    }


def _accepts_otherwise(view: RotationView, result: Mapping[str, Any]) -> bool:
    """Whether somebody accepts more or less than when an order was made.

    An order that was kept before this was, does not say.
    """
    return "accepted" in result and result["accepted"] != leeways(view)


def _ends(result: Mapping[str, Any], key: str) -> list[Sequence[int]]:
    """Where an apparatus stood before the first turn, and shall stand after the last."""
    final = OrderRequest.from_data(result["asked"]).final_of(int(key))
    return [result["starts"][key], *([] if final is None else [final])]


def _still_fits(view: RotationView, result: Mapping[str, Any]) -> bool:
    """Whether everybody and every stop of the orders is still there."""
    members = {member.id for member in view.listed}
    return all(
        int(key) in view.pieces
        and all(athlete_id in members for athlete_id, _ in lane)
        and all(
            0 <= stop < axis.scale.count
            for setup in [*_ends(result, key), *(stops for _, stops in lane)]
            for axis, stop in zip(view.pieces[int(key)].model.axes, setup, strict=True)
        )
        for lanes in result["orders"].values()
        for key, lane in lanes.items()
    )


class OrderIsDrawn(SettingsDeskError):
    """A meet's start order was to be re-arranged."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"{self.name} is the start order of a meet and is never re-arranged here: where the"
            " jury changes it, change it on the start order's page"
        )


class OrderIsNone(SettingsDeskError):
    """An order was to be printed that was never made, or counts no more (a page answers 409)."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} has no order that is up to date: plan it first, then print it"


class HaveLeft(SettingsDeskError):
    """A list was to be ordered on which somebody stands who has left the club."""

    def __init__(self, gone: Sequence[Member]) -> None:
        self.gone = tuple(gone)

    def __str__(self) -> str:
        return f"{have_left(self.gone)} the club: take whoever has left off the list first"
