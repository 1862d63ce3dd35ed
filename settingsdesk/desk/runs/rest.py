"""The rest of a run, ordered anew from what stands there now: for who is absent, late or added."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.order_request import MOST_REST_TURNS, OrderRequest
from settingsdesk.desk.rotations.problem import kept_answer, problem_of
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunView
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.domain.changeover.happenings import Reordered, Turn
from settingsdesk.domain.changeover.run import Run, Stage
from settingsdesk.planner.plan import Solution
from settingsdesk.planner.problem import Problem

BY_THE_DESK = "the planner"
"""Who is on record for a new order: no person confirmed it."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What is asked of the planner for the turns that can still be moved.

    ``fixed`` is the turn that something was done for already; the rest begins at its setup.
    """

    run_id: int
    seen: int
    piece: Piece
    fixed: tuple[Turn, ...]
    problem: Problem


def rest(session: Session, run_id: int, *, first_stays: bool = False) -> Rest | None:
    """The rest of a run as a problem; None where there is nothing to choose.

    Of a meet's start order nothing is ever chosen. The turn that something was done for stays the
    first, and with ``first_stays`` any other too. Raises what ``planning.problem_of`` does: for
    instance where too few are left to keep the rest between two turns.
    """
    view = desk_run.run(session, run_id)
    if view.asked.as_drawn:
        return None
    stay = 1 if first_stays or view.run.is_set_for else 0
    fixed, movable = view.run.turns[:stay], view.run.turns[stay:]
    if not movable:
        return None
    ids = list(dict.fromkeys(turn.athlete_id for turn in movable))
    members = desk_athletes.members(session, ids)
    listed = tuple(members[one] for one in ids)
    piece = replace(
        view.piece, setup=fixed[0].setup if fixed else view.run.mostly_at, model=view.run.model
    )
    carried = desk_settings.on_pieces(session, ids, [piece])
    asked = _asked(view, fixed, Counter(turn.athlete_id for turn in movable))
    problem = problem_of({piece.id: piece}, listed, carried, asked)
    return Rest(view.id, view.number, piece, fixed, problem)


def keep(session: Session, rest: Rest, solution: Solution) -> RunView:
    """Take the new order for the rest; ``ConfirmedMeanwhile`` where the run has gone on since."""
    answer = kept_answer({rest.piece.id: rest.piece}, rest.problem, solution)
    lane = answer["orders"]["best"][str(rest.piece.id)]
    turns = tuple(Turn(athlete_id, tuple(stops)) for athlete_id, stops in lane)
    what = Reordered((*rest.fixed, *turns))
    return desk_run.confirm(session, BY_THE_DESK, rest.run_id, rest.seen, what)


def with_new_marks(session: Session, piece: Piece, run: Run) -> Reordered:
    """The same order at the stops that count now; whoever is on has the turn as it was set."""
    own = desk_settings.on_piece(session, {turn.athlete_id for turn in run.turns}, piece)
    stays = 1 if run.stage is Stage.ON else 0
    anew = [
        Turn(turn.athlete_id, own[turn.athlete_id].transfer.best.setup)
        if turn.athlete_id in own
        else turn
        for turn in run.turns[stays:]
    ]
    return Reordered((*run.turns[:stays], *anew))


def what_changed(before: Sequence[Turn], now: Sequence[Turn]) -> Mapping[int, int]:
    """For each place of the present order, counted from 0, the place that turn had before.

    Left out are turns that kept their place, and those that are new.
    """
    left = list(enumerate(before))
    places: dict[int, int] = {}
    for place, turn in enumerate(now):
        found = next((one for one in left if one[1].athlete_id == turn.athlete_id), None)
        if found is not None:
            left.remove(found)
            if found[0] != place:
                places[place] = found[0]
    return places


def _asked(view: RunView, fixed: Sequence[Turn], left: Counter[int]) -> OrderRequest:
    """What the coach asked of the rotation, for those who are left.

    Wishes for the first turn are fulfilled or missed by now. Fixed places are those of a list in
    which everybody is here and has one turn: they are counted from here on, and somebody is
    placed no farther back than last.
    """
    had = [had.turn.athlete_id for had in view.run.over] + [turn.athlete_id for turn in fixed]
    most = max(left.values())
    asked = replace(
        view.asked,
        turns=most,
        hands=view.run.hands,
        apparatus=(),
        soonest=False,
        first=None if had else view.asked.first,
        places=_places(view.asked, len(set(had)), sum(left.values())),
        had=tuple((one, most - turns) for one, turns in left.items() if turns < most),
        just_had=tuple(had[-MOST_REST_TURNS:]),
    )
    return asked.only_for(list(left))


def _places(asked: OrderRequest, over: int, left: int) -> tuple[tuple[int, int], ...]:
    """The fixed places that are still to come; of two for one place, the first."""
    places: dict[int, int] = {}
    for one, place in asked.places:
        if place > over:
            places.setdefault(min(place - over, left), one)
    return tuple((one, place) for place, one in places.items())
