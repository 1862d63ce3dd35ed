"""The rest of a run, ordered anew from what stands there now: for who is absent, late or added."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.rotations.order_request import MOST_REST_TURNS, OrderRequest
from settingsdesk.desk.rotations.problem import kept_answer, problem_of
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.domain.changeover.happenings import Reordered, Turn
from settingsdesk.domain.changeover.run import Run, Stage
from settingsdesk.planner.plan import Solution
from settingsdesk.planner.problem import Problem
from settingsdesk.store.work import ClubSession

BY_THE_DESK = "the planner"
"""Who is on record for a new order: no person confirmed it."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What is asked of the planner for the turns that can still be moved.

    ``fixed`` is the turn that something was done for already; the rest begins at its setup.
    ``with_before`` says that it is asked for what was confirmed last, by the same press.
    """

    run_id: int
    seen: int
    piece: Piece
    fixed: tuple[Turn, ...]
    problem: Problem
    with_before: bool = False


def rest(
    session: ClubSession, now: RunNow, *, first_stays: bool = False, with_before: bool = False
) -> Rest | None:
    """The rest of a run as a problem; None where there is nothing to choose.

    Of a meet's start order nothing is ever chosen. The turn that something was done for stays the
    first, and with ``first_stays`` any other too. Raises what ``problem_of`` does: for
    instance where too few are left to keep the rest between two turns.
    """
    if now.asked.as_drawn:
        return None
    stay = 1 if first_stays or now.run.is_set_for else 0
    fixed, movable = now.run.turns[:stay], now.run.turns[stay:]
    if not movable:
        return None
    ids = list(dict.fromkeys(turn.athlete_id for turn in movable))
    members = desk_athletes.members(session, ids)
    listed = tuple(members[athlete_id] for athlete_id in ids)
    piece = replace(
        now.piece, setup=fixed[0].setup if fixed else now.run.mostly_at, model=now.run.model
    )
    carried = desk_settings.on_pieces(session, ids, [piece], now.asked.purpose)
    asked = _asked(now, fixed, Counter(turn.athlete_id for turn in movable))
    problem = problem_of({piece.id: piece}, listed, carried, asked)
    return Rest(now.id, now.number, piece, fixed, problem, with_before)


def keep(session: ClubSession, rest: Rest, solution: Solution) -> RunNow:
    """Take the new order for the rest; ``ConfirmedMeanwhile`` where the run has gone on since."""
    return desk_run.confirm(session, rest.run_id, rest.seen, in_that_order(rest, solution))


def in_that_order(rest: Rest, solution: Solution) -> Reordered:
    """The turns that are left, as the planner has them."""
    answer = kept_answer({rest.piece.id: rest.piece}, rest.problem, solution)
    lane = answer["orders"]["best"][str(rest.piece.id)]
    turns = tuple(Turn(athlete_id, tuple(stops)) for athlete_id, stops in lane)
    return Reordered((*rest.fixed, *turns), rest.with_before)


def with_new_marks(
    session: ClubSession, now: RunNow, run: Run, *, on_too: bool = False
) -> Reordered:
    """The same order at the stops that count now; whoever is on has the turn as it was set.

    With ``on_too`` they come down, and it is set for them anew. ``run`` is the run of ``now`` as it
    was seen. A turn that still goes with what counts now, also within what its athlete accepts
    where that was asked for, stays as it was ordered.
    """
    stays = 1 if run.stage is Stage.ON and not on_too else 0
    return Reordered((*run.turns[:stays], *at_new_marks(session, now, run.turns[stays:])))


def at_new_marks(session: ClubSession, now: RunNow, turns: Sequence[Turn]) -> list[Turn]:
    """Those turns, each at the stops that count now."""
    theirs = {turn.athlete_id for turn in turns}
    own = desk_settings.on_piece(session, theirs, now.piece, now.asked.purpose)
    return [
        Turn(turn.athlete_id, own[turn.athlete_id].transfer.best.setup)
        if turn.athlete_id in own
        and not own[turn.athlete_id].allows(turn.setup, leeway=now.asked.leeway)
        else turn
        for turn in turns
    ]


def what_changed(before: Sequence[Turn], now: Sequence[Turn]) -> Mapping[int, int]:
    """For each place of the present order, counted from 0, the place that turn had before.

    Left out are turns that kept their place, and those that are new.
    """
    left = list(enumerate(before))
    places: dict[int, int] = {}
    for place, turn in enumerate(now):
        was = next((there for there in left if there[1].athlete_id == turn.athlete_id), None)
        if was is not None:
            left.remove(was)
            if was[0] != place:
                places[place] = was[0]
    return places


def _asked(now: RunNow, fixed: Sequence[Turn], left: Counter[int]) -> OrderRequest:
    """What the coach asked of the rotation, for those who are left.

    Wishes for the first turn are fulfilled or missed by now; of a group that has begun, the next
    one goes on. Fixed places are those of a list in which everybody is here and has one turn: they
    are counted from here on, and somebody is placed no farther back than last.
    """
    had = [over.turn.athlete_id for over in now.run.over] + [turn.athlete_id for turn in fixed]
    most = max(left.values())
    places = _places(now.asked, len(set(had)), sum(left.values()))
    asked = replace(
        now.asked,
        turns=most,
        hands=now.run.hands,
        apparatus=(),
        soonest=False,
        equal_numbers=False,
        groups=(),
        group_names=(),
        group_purposes=(),
        first=_next_of_group(now, had[-1], left, places) if had else now.asked.first,
        places=places,
        had=tuple((athlete, most - turns) for athlete, turns in left.items() if turns < most),
        just_had=tuple(had[-MOST_REST_TURNS:]),
    )
    return asked.only_for(list(left))


def _next_of_group(
    now: RunNow, latest: int, left: Counter[int], places: Sequence[tuple[int, int]]
) -> int | None:
    """Who goes on with the group that the latest turn was of, in the order so far.

    None where it is over, where its athletes have several turns, or where the coach has given the
    next place to somebody.
    """
    if max(left.values()) > 1 or any(place == 1 for _, place in places):
        return None
    group = next((group for group in now.asked.together if latest in group), ())
    coming = (turn.athlete_id for turn in now.run.turns if turn.athlete_id in left)
    return next((athlete_id for athlete_id in coming if athlete_id in group), None)


def _places(asked: OrderRequest, over: int, left: int) -> tuple[tuple[int, int], ...]:
    """The fixed places that are still to come; of two for one place, the first."""
    places: dict[int, int] = {}
    for athlete_id, place in asked.places:
        if place > over:
            places.setdefault(min(place - over, left), athlete_id)
    return tuple((athlete_id, place) for place, athlete_id in places.items())
