"""Rotations that were carried out on the demo club's bars, at moments of the test's own choice."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from random import Random

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.domain.changeover.changeover import ends_at
from settingsdesk.domain.changeover.crew import crew_time_s
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Begun,
    Ended,
    Happening,
    Rechecked,
    Turn,
    TurnOver,
    to_data,
    word_of,
)
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.times.time_parts import EVERY, time_parts, with_times
from settingsdesk.store.runs import Run, RunEvent
from tests.conftest import DemoClub

BY = "Runa Calloway"
BEGUN_AT = datetime(2026, 11, 3, 17, 0, tzinfo=UTC)
TURN_S = 90

Setup = tuple[int, ...]


@dataclass(frozen=True)
class Bars:
    """The bars by the window, their model as it is and as it truly is."""

    id: int
    model_id: int
    model: ApparatusModel
    true: ApparatusModel


def window_bars(club: DemoClub) -> Bars:
    """Everything on them truly takes longer than the shipped estimates say."""
    with club.work() as session:
        piece = next(
            one for one in apparatus.all_pieces(session) if one.name == "Bars by the window"
        )
        model = models.model(session, piece.model_id).model
    true_s = {part: part.present_s(model) + 2 for part in time_parts(model)}
    return Bars(piece.id, piece.model_id, model, with_times(model, true_s | {EVERY: 120}))


def setups(changes: int, seed: str = "an evening") -> list[Setup]:
    """Setups of athletes of similar height, one after the other, each another than the last."""
    random = Random(seed)  # noqa: S311 (the same evening each time)
    found: list[Setup] = []
    while len(found) <= changes:
        setup = (random.randint(2, 5), random.randint(3, 6), random.randint(18, 24))
        found += [] if found[-1:] == [setup] else [setup]
    return found


def true_seconds(bars: Bars, stood: Sequence[Setup]) -> list[int]:
    """What each change-over from one setup to the next truly takes."""
    return [crew_time_s(bars.true, here, there, 1) for here, there in pairwise(stood)]


def carried_out(club: DemoClub, bars: Bars, stood: Sequence[Setup], took_s: Sequence[int]) -> None:
    """Keep the run of one rotation: each setup came about from the one before in so long.

    The first turn needs nothing moved: what a run begins with is not timed.
    """
    turns = tuple(Turn(1, setup) for setup in stood)
    now = BEGUN_AT
    begun = Begun(turns, 1, ends_at(bars.model, stood[0]))
    first = (begun, Rechecked(alone=True), TurnOver())
    events = [_event(number, now, what) for number, what in enumerate(first, start=1)]
    for seconds in took_s:
        set_at = now + timedelta(seconds=seconds)
        now = set_at + timedelta(seconds=TURN_S)
        for at, what in ((set_at, AllDone()), (set_at, Rechecked(alone=True)), (now, TurnOver())):
            events.append(_event(len(events) + 1, at, what))
    if len(took_s) < len(turns):
        events.append(_event(len(events) + 1, now, Ended()))
    with club.work(writes=True) as session:
        session.add(
            Run(
                rotation_id=1,
                apparatus_id=bars.id,
                model_version=models.model(session, bars.model_id).version,
                begun_at=BEGUN_AT,
                over_at=now,
                events=events,
            )
        )


def _event(number: int, at: datetime, what: Happening) -> RunEvent:
    return RunEvent(number=number, word=word_of(what), told=to_data(what), by=BY, at=at)
