"""From a rotation to the planner's problem, and from its answer to what is kept."""

from collections.abc import Mapping, Sequence
from typing import Any

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import KeptLanes
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.refusals import (
    CannotBePlanned,
    FinalNotOnScale,
    in_the_coachs_words,
    no_problem_in_the_coachs_words,
)
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.names_apart import names_apart
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.changeover.crew import crew_any_move_s, rounds_of_ends
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.settings.accepted_stops import accepted_stops
from settingsdesk.planner.compare import usual_plans
from settingsdesk.planner.errors import NoOrderKeepsThis, NotARotationProblem, inside
from settingsdesk.planner.plan import Plan, Solution, Status, Turn
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Unit, Wishes
from settingsdesk.planner.solve import refuse_conflicts

LONGEST_SEARCH_S = 10


def athlete_key(athlete_id: int) -> str:
    """By which the planner knows an athlete."""
    return str(athlete_id)


def apparatus_key(apparatus_id: int) -> str:
    """By which the planner knows an apparatus: never an athlete's key too."""
    return f"apparatus {apparatus_id}"


def names_of(listed: Sequence[Member]) -> dict[int, str]:
    """A name for each athlete by which refusals call them, no two alike."""
    return {number: str(called) for number, called in names_apart(listed).items()}


def problem_of(
    pieces: Mapping[int, Piece],
    listed: Sequence[Member],
    carried: Mapping[int, Mapping[int, Carried]],
    asked: OrderRequest,
) -> Problem:
    """The planner's problem, in which athletes and apparatus go by their numbers.

    Raises ``WithdrawnFromUse``, ``SetupUnknown``, ``CannotBePlanned`` where the numbers asked for
    do not fit together, or ``WishesCannotHold``, which names the wishes that contradict each
    other.
    """
    for piece in pieces.values():
        piece.must_be_in_use()
        piece.must_know_its_drop()
    names = names_of(listed)
    _must_be_placed_once(names, asked)
    try:
        problem = Problem(
            apparatus=tuple(_unit(piece, asked) for piece in pieces.values()),
            athletes=tuple(_entrant(member, pieces, carried, asked) for member in listed),
            turns=asked.turns,
            rest_turns=asked.rest_turns,
            wishes=_wishes(asked),
            goal=Goal.MAKESPAN if asked.soonest else Goal.TOTAL,
            time_limit_s=LONGEST_SEARCH_S,
            longest_rest=asked.longest_rest,
            in_rounds=asked.in_rounds,
            one_setup=asked.one_setup,
            equal_numbers=asked.equal_numbers and len(pieces) > 1,
            groups=tuple(tuple(map(athlete_key, group)) for group in asked.groups),
            groups_in_order=not asked.groups_free,
            just_had=tuple(map(athlete_key, asked.just_had)),
        )
    except NotARotationProblem as refused:
        called = {athlete_key(athlete_id): name for athlete_id, name in names.items()}
        called |= {apparatus_key(piece.id): piece.name for piece in pieces.values()}
        raise no_problem_in_the_coachs_words(refused, called, asked) from refused
    if usual_plans(problem)[0] is None:
        try:
            refuse_conflicts(problem)
        except NoOrderKeepsThis as refused:
            raise in_the_coachs_words(refused, names, asked) from refused
    return problem


def kept_answer(
    pieces: Mapping[int, Piece], problem: Problem, solution: Solution
) -> dict[str, Any]:
    """The answer as it is kept: its orders, where they begin, and what is proven."""
    as_listed, by_height = usual_plans(problem)
    plans = {
        "best": solution.plan,
        "as_listed": as_listed,
        "by_height": by_height,
        "group_by_group": solution.group_by_group,
    }
    return {
        "starts": {
            str(number): list(piece.must_stand_somewhere()) for number, piece in pieces.items()
        },
        "goal_s": solution.goal_s,
        "bound_s": solution.bound_s,
        "proven": solution.status is Status.PROVEN,
        "orders": {name: _lanes(pieces, plan) for name, plan in plans.items() if plan is not None},
    }


def kept_plan(orders: Mapping[str, KeptLanes]) -> Plan:
    """The best order of an answer as it is kept, as the planner has it."""
    return {
        apparatus_key(int(number)): tuple(
            Turn(athlete_key(athlete_id), tuple(setup)) for athlete_id, setup in turns
        )
        for number, turns in orders["best"].items()
    }


def _lanes(pieces: Mapping[int, Piece], plan: Plan) -> KeptLanes:
    return {
        str(number): [(int(turn.athlete), list(turn.setup)) for turn in plan[apparatus_key(number)]]
        for number in pieces
    }


def _unit(piece: Piece, asked: OrderRequest) -> Unit:
    """For several hands an axis counts as many ends as it takes rounds: the time is the same."""
    axes = tuple(
        AxisTimes(
            id=axis.kind.in_a_sentence,
            stops=axis.scale.count,
            ends=rounds_of_ends(axis, asked.hands),
            handling_s=axis.times.handling_s,
            up_s=axis.times.up_s,
            down_s=axis.times.down_s,
        )
        for axis in piece.model.axes
    )
    return Unit(
        id=apparatus_key(piece.id),
        axes=axes,
        any_move_s=crew_any_move_s(piece.model.procedure, asked.hands),
        setup=piece.must_stand_somewhere(),
        final_setup=_final(piece, asked),
    )


def _final(piece: Piece, asked: OrderRequest) -> Setup | None:
    final = asked.final_of(piece.id)
    if final is not None:
        try:
            piece.model.must_have(final)
        except NoSuchStop as absent:
            raise FinalNotOnScale(piece.name) from absent
    return final


def _entrant(
    member: Member,
    pieces: Mapping[int, Piece],
    carried: Mapping[int, Mapping[int, Carried]],
    asked: OrderRequest,
) -> Entrant:
    own = {
        apparatus_key(number): carried[number][member.id]
        for number in pieces
        if member.id in carried[number]
    }
    accepts = {
        key: accepted_stops(
            entrant.version.setting, entrant.piece.model, entrant.transfer.best.setup
        )
        for key, entrant in own.items()
        if asked.leeway
    }
    had = dict(asked.had).get(member.id, 0)
    return Entrant(
        id=athlete_key(member.id),
        setups={key: entrant.transfer.best.setup for key, entrant in own.items()},
        turn_s=asked.turn_s,
        accepts=accepts,
        turns=asked.turns - had if had else None,
    )


@inside("wishes")
def _wishes(asked: OrderRequest) -> Wishes:
    return Wishes(
        first=athlete_key(asked.first) if asked.first else None,
        last=athlete_key(asked.last) if asked.last else None,
        before=tuple((athlete_key(earlier), athlete_key(other)) for earlier, other in asked.before),
        together=tuple(tuple(map(athlete_key, group)) for group in asked.together),
        place={athlete_key(athlete_id): place for athlete_id, place in asked.places},
    )


def _must_be_placed_once(names: Mapping[int, str], asked: OrderRequest) -> None:
    for number, (athlete_id, turn) in enumerate(asked.places):
        for earlier, (other_id, other_turn) in enumerate(asked.places[:number]):
            if athlete_id == other_id:
                raise CannotBePlanned(
                    f"{names[athlete_id]} is given turn {other_turn} and turn {turn}: leave one"
                    " of the two",
                    (("places", earlier), ("places", number)),
                )
