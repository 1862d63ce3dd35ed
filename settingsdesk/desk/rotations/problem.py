"""From a rotation to the planner's problem, and from its answer to what is kept."""

from collections.abc import Mapping, Sequence
from typing import Any

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.lanes import KeptLanes
from settingsdesk.desk.rotations.order_request import Asked
from settingsdesk.desk.rotations.refusals import (
    CannotBePlanned,
    FinalNotOnScale,
    in_the_coachs_words,
    parts,
)
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.changeover.crew import crew_any_move_s, rounds_of_ends
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.settings.accepted_stops import accepted_stops
from settingsdesk.planner.compare import usual_plans
from settingsdesk.planner.errors import NoOrderKeepsThis, NotARotationProblem
from settingsdesk.planner.plan import Plan, Solution, Status
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Unit, Wishes
from settingsdesk.planner.solve import refuse_conflicts

LONGEST_SEARCH_S = 10


def names_of(listed: Sequence[Member]) -> dict[int, str]:
    """A name for each athlete by which the planner's refusals call them; twins are counted."""
    names: dict[int, str] = {}
    for member in listed:
        name, twin = member.printed_name, 2
        while name in names.values():
            name, twin = f"{member.printed_name} ({twin})", twin + 1
        names[member.id] = name
    return names


def problem_of(
    pieces: Mapping[int, Piece],
    listed: Sequence[Member],
    carried: Mapping[int, Mapping[int, Carried]],
    asked: Asked,
) -> Problem:
    """The planner's problem, in the names that the hall uses.

    Raises ``WithdrawnFromUse``, ``SetupUnknown``, ``CannotBePlanned`` where the numbers asked for
    do not fit together, or ``WishesCannotHold``, which names the wishes that contradict each
    other.
    """
    for piece in pieces.values():
        piece.must_be_in_use()
    names = names_of(listed)
    try:
        problem = Problem(
            apparatus=tuple(_unit(piece, asked) for piece in pieces.values()),
            athletes=tuple(
                _entrant(member, names[member.id], pieces, carried, asked) for member in listed
            ),
            turns=asked.turns,
            rest_turns=asked.rest_turns,
            wishes=_wishes(names, asked),
            goal=Goal.MAKESPAN if asked.soonest else Goal.TOTAL,
            time_limit_s=LONGEST_SEARCH_S,
            just_had=tuple(names.get(one, f"gone {one}") for one in asked.just_had),
        )
    except NotARotationProblem as refused:
        raise CannotBePlanned(refused.reason, parts(refused.place, names, asked)) from refused
    if usual_plans(problem)[0] is None:
        try:
            refuse_conflicts(problem)
        except NoOrderKeepsThis as refused:
            raise in_the_coachs_words(refused, problem.wishes, names, asked) from refused
    return problem


def kept_answer(
    pieces: Mapping[int, Piece], listed: Sequence[Member], problem: Problem, solution: Solution
) -> dict[str, Any]:
    """The answer as it is kept: three orders, where they begin, and what is proven."""
    as_listed, by_height = usual_plans(problem)
    plans = {"best": solution.plan, "as_listed": as_listed, "by_height": by_height}
    return {
        "starts": {
            str(number): list(piece.must_stand_somewhere()) for number, piece in pieces.items()
        },
        "goal_s": solution.goal_s,
        "bound_s": solution.bound_s,
        "proven": solution.status is Status.PROVEN,
        "orders": {
            name: _lanes(pieces, listed, plan) for name, plan in plans.items() if plan is not None
        },
    }


def _lanes(pieces: Mapping[int, Piece], listed: Sequence[Member], plan: Plan) -> KeptLanes:
    numbers = {name: athlete_id for athlete_id, name in names_of(listed).items()}
    return {
        str(number): [(numbers[turn.athlete], list(turn.setup)) for turn in plan[piece.name]]
        for number, piece in pieces.items()
    }


def _unit(piece: Piece, asked: Asked) -> Unit:
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
        id=piece.name,
        axes=axes,
        any_move_s=crew_any_move_s(piece.model.procedure, asked.hands),
        setup=piece.must_stand_somewhere(),
        final_setup=_final(piece, asked),
    )


def _final(piece: Piece, asked: Asked) -> Setup | None:
    final = asked.final_of(piece.id)
    if final is not None:
        try:
            piece.model.must_have(final)
        except NoSuchStop as absent:
            raise FinalNotOnScale(piece.name) from absent
    return final


def _entrant(
    member: Member,
    name: str,
    pieces: Mapping[int, Piece],
    carried: Mapping[int, Mapping[int, Carried]],
    asked: Asked,
) -> Entrant:
    own = {
        piece.name: carried[number][member.id]
        for number, piece in pieces.items()
        if member.id in carried[number]
    }
    accepts = {
        name: accepted_stops(one.version.setting, one.piece.model, one.transfer.best.setup)
        for name, one in own.items()
        if asked.leeway
    }
    had = dict(asked.had).get(member.id, 0)
    return Entrant(
        id=name,
        setups={name: one.transfer.best.setup for name, one in own.items()},
        turn_s=asked.turn_s,
        accepts=accepts,
        turns=asked.turns - had if had else None,
    )


def _wishes(names: Mapping[int, str], asked: Asked) -> Wishes:
    _must_be_placed_once(names, asked)
    return Wishes(
        first=names[asked.first] if asked.first else None,
        last=names[asked.last] if asked.last else None,
        before=tuple((names[one], names[other]) for one, other in asked.before),
        together=tuple(tuple(names[one] for one in group) for group in asked.together),
        place={names[athlete_id]: place for athlete_id, place in asked.places},
    )


def _must_be_placed_once(names: Mapping[int, str], asked: Asked) -> None:
    for number, (athlete_id, turn) in enumerate(asked.places):
        for earlier, (other_id, other_turn) in enumerate(asked.places[:number]):
            if athlete_id == other_id:
                raise CannotBePlanned(
                    f"{names[athlete_id]} is given turn {other_turn} and turn {turn}: leave one"
                    " of the two",
                    (("places", earlier), ("places", number)),
                )
