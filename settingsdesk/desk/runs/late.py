"""Somebody is not here or comes late: the ways to go on, and what each of them costs."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.wishes_in_words import Part, told_parts
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs.rest import Rest
from settingsdesk.desk.runs.run import RunNow, RunView
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.changeover.crew import crew_time
from settingsdesk.domain.changeover.happenings import Arrived, Happening, NotHere, Placed, Turn
from settingsdesk.domain.changeover.run import Confirmed, NotNow, Run, Stage
from settingsdesk.planner.plan import Solution, Status
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class WayOn:
    """One way to go on: the turns to come then, and the seconds of their change-overs.

    ``unkept`` are what was asked of the rotation, is kept by the order as it is, and not by this
    way, each in words. ``is_least`` says that it is proven that no order takes less.
    """

    turns: tuple[Turn, ...]
    seconds: int
    unkept: tuple[str, ...] = ()
    is_least: bool = True


@dataclass(frozen=True, slots=True)
class Late:
    """An athlete who is not here, or has come at last: the order as it is, and the ways to go on.

    ``places`` has a way for each place that the next turn can have, by how many of the turns to
    come are before it. ``waits`` is the way without the athlete, where not away already.
    """

    name: str
    as_it_is: WayOn
    places: Mapping[int, WayOn]
    waits: WayOn | None

    @property
    def least(self) -> int | None:
        """The place at which all that is asked is kept, where it can be, and least is to be moved.

        Of several the next one. None where there is no other place.
        """
        return min(
            self.places,
            key=lambda place: (len(self.places[place].unkept), self.places[place].seconds),
            default=None,
        )


def late(view: RunView, athlete_id: int) -> Late:
    """The ways to go on where this athlete is late, or has come.

    Whoever is late comes later than by the order as it is; whoever has come, anywhere behind the
    turn that something was done for. ``NotNow`` where the athlete has no turn to come.
    """
    run = view.run
    on = 1 if run.stage is Stage.ON else 0
    to_come = [n for n, turn in enumerate(run.turns) if n >= on and turn.athlete_id == athlete_id]
    if any(turn.athlete_id == athlete_id for turn in run.away):
        places = range(1 if run.is_set_for else 0, len(run.turns) + 1)
        waits = None
    elif to_come:
        places = range(to_come[0] + 1, len(run.turns))
        waits = _way(view, _after(run, NotHere(athlete_id)))
    else:
        raise NotNow(Sentence("This athlete has no turn to come, so nothing was changed"))
    return Late(
        name=str(view.called[athlete_id]),
        as_it_is=_way(view, run),
        places={n: _way(view, _after(run, Placed(athlete_id, n))) for n in places},
        waits=waits,
    )


def rest_after(session: ClubSession, now: RunNow, athlete_id: int) -> Rest | None:
    """What would be asked of the planner once this athlete is gone, or has come.

    Nothing is confirmed. None, and raises, as ``rest`` has it.
    """
    run = _after(now.run, gone_or_come(now.run, athlete_id))
    return desk_rest.rest(session, replace(now, run=run), with_before=True)


def planned_again(view: RunView, athlete_id: int, rest: Rest, solution: Solution) -> WayOn:
    """The way on by the order that the planner found for ``rest_after``."""
    run = _after(view.run, gone_or_come(view.run, athlete_id))
    way = _way(view, _after(run, desk_rest.in_that_order(rest, solution)))
    return replace(way, is_least=solution.status is Status.PROVEN)


def gone_or_come(run: Run, athlete_id: int) -> NotHere | Arrived:
    """What is confirmed of an athlete before the rest is planned again."""
    is_away = any(turn.athlete_id == athlete_id for turn in run.away)
    return Arrived(athlete_id) if is_away else NotHere(athlete_id)


def _after(run: Run, what: Happening) -> Run:
    """As it would be after one more happening, which nobody has confirmed yet."""
    return run.after(Confirmed(0, utc_now(), "", what))


def _way(view: RunView, run: Run) -> WayOn:
    names = {number: str(called) for number, called in view.called.items()}
    asked = replace(view.asked.only_for(list(names)), finals=())
    told = told_parts(names, asked, {view.piece.id: view.piece})
    broken = _unkept(asked, run) - _unkept(asked, view.run)
    rests = _short_rests(asked, run) - _short_rests(asked, view.run)
    return WayOn(
        run.turns,
        _left_s(view, run),
        (
            *(told[part] for part in told if part in broken),
            *(
                f"only {turns} {'turn' if turns == 1 else 'turns'} of rest for {names[one]}"
                for one, turns in rests
            ),
        ),
    )


def _left_s(view: RunView, run: Run) -> int:
    """The change-overs that are left, by the crew of now; of one that is begun, what is left."""
    steps = run.change.steps
    left = [steps[place] for place in range(len(steps)) if place not in run.done]
    begun_s = max((step.ends_s for step in left), default=0)
    begun_s -= min((step.starts_s for step in left), default=0)
    to_come = [turn.setup for turn in run.turns] or [run.stands]
    stands = [*to_come, view.asked.final_of(view.piece.id)]
    setups = [setup for setup in stands if setup is not None]
    time_s = crew_time(run.model, run.hands)
    return begun_s + sum(time_s(start, goal) for start, goal in pairwise(setups))


def _unkept(asked: OrderRequest, run: Run) -> set[Part]:
    """Which wishes about who goes when an order does not keep, with all turns that were had."""
    order = [had.turn.athlete_id for had in run.over] + [turn.athlete_id for turn in run.turns]
    first = {one: place for place, one in reversed(list(enumerate(order)))}
    found: set[Part] = set()
    if asked.last in first and order[-1] != asked.last:
        found.add(("last", 0))
    if asked.first in first and order[0] != asked.first:
        found.add(("first", 0))
    for number, (earlier, other) in enumerate(asked.before):
        if first.get(earlier, 0) > first.get(other, len(order)):
            found.add(("before", number))
    for number, group in enumerate(asked.together):
        places = [first[one] for one in group if one in first]
        if places and max(places) - min(places) >= len(places):
            found.add(("together", number))
    for number, (one, place) in enumerate(asked.places):
        if first.get(one, place - 1) != place - 1:
            found.add(("places", number))
    if asked.in_rounds and not _in_rounds(order):
        found.add(("in_rounds", 0))
    return found


def _in_rounds(order: Sequence[int]) -> bool:
    """Whether everybody has had a turn before anybody has the next one."""
    had, total = Counter[int](), Counter(order)
    for one in order:
        if any(had[other] < min(had[one], total[other]) for other in total):
            return False
        had[one] += 1
    return True


def _short_rests(asked: OrderRequest, run: Run) -> Counter[tuple[int, int]]:
    """Whose turn to come has less rest before it than was asked for, and how many turns."""
    latest = {had.turn.athlete_id: place for place, had in enumerate(run.over)}
    found: Counter[tuple[int, int]] = Counter()
    for place, turn in enumerate(run.turns, start=len(run.over)):
        rest = place - latest.get(turn.athlete_id, -asked.rest_turns - 1) - 1
        if rest < asked.rest_turns:
            found[turn.athlete_id, rest] += 1
        latest[turn.athlete_id] = place
    return found
