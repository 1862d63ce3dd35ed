"""A rotation under way, whatever happens: what holds after every confirmation."""

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.changeover.changeover import Phase
from settingsdesk.domain.changeover.crew import CREWS
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    Ended,
    FoundAt,
    HandsNow,
    Happening,
    LeanMeasured,
    NotHere,
    PassedOver,
    Placed,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TakenUp,
    Turn,
    TurnOver,
)
from settingsdesk.domain.changeover.run import (
    Confirmed,
    Run,
    Stage,
    continued,
    run_of,
    to_take_back,
)
from settingsdesk.domain.hall.models import ApparatusModel
from tests.domain.changeover.confirmed import NOON, events


def possible(run: Run, told: Sequence[Confirmed]) -> list[Happening]:
    """Everything that can happen as the run stands, the usual first."""
    if run.ended:
        return [TakenUp(), TakenUp(unknown=True)]
    first = run.turns[0]
    if run.unread:
        stands = first.setup or (2, 2, 2)
        return [FoundAt(stands), FoundAt((1, 2, 3)), NotHere(first.athlete_id), Ended()]
    if first.setup is None:
        passed = [PassedOver(first.athlete_id)] if len(run.turns) > 1 else []
        entered = Turn(first.athlete_id, (3, 3, 3))
        return [
            *(*passed, Reordered((entered, *run.turns[1:]))),
            *(NotHere(first.athlete_id), Ended(), FoundAt((1, 2, 3))),
        ]
    found: list[Happening] = {
        Stage.SETTING: [*map(StepDone, run.next_steps), *map(StepDone, run.next_steps), AllDone()],
        Stage.CHECKING: [Rechecked(alone=True)],
        Stage.ON: [TurnOver(), Repeated()],
    }[run.stage]
    latest = to_take_back(told)
    found += [TakenBack(latest.number)] if latest else []
    found += [NotHere(first.athlete_id), FoundAt(first.setup), FoundAt((1, 2, 3))]
    found += [LeanMeasured(1, "window end", 12.5)] if may_be_measured(run) else []
    found += [Ended(), FoundAt(first.setup, anew=True), Reordered((*run.turns[1:], first))]
    found += [Arrived(run.away[0].athlete_id)] if run.away else []
    found += [Placed(run.away[0].athlete_id, 1)] if run.away else []
    found += [Placed(run.turns[-1].athlete_id, 1)] if len(run.turns) > 1 else []
    if not (run.stage is Stage.SETTING and run.done):
        found += [HandsNow(hands) for hands in CREWS]
    return found


def may_be_measured(run: Run) -> bool:
    """Whether the next change-over is yet to be tensioned."""
    tensioning = {at for at, step in enumerate(run.change.steps) if step.phase is Phase.TENSION}
    return run.stage is Stage.SETTING and bool(tensioning) and not tensioning & run.done


class Cables:
    """What the tensioners do, as one would see it in the hall."""

    def __init__(self) -> None:
        self.pulled = True

    def see(self, run: Run, what: Happening) -> None:
        """Fail where something is moved while a tensioner is pulled."""
        steps = run.change.steps
        if isinstance(what, AllDone):
            doing = [place for place in range(len(steps)) if place not in run.done]
        else:
            doing = [what.step] if isinstance(what, StepDone) else []
        for place in doing:
            phase = steps[place].phase
            assert phase is not Phase.MOVE or not self.pulled
            left = [n for n, one in enumerate(steps) if one.phase is Phase.SLACKEN]
            if phase is Phase.SLACKEN and set(left) <= run.done | {
                *doing[: doing.index(place) + 1]
            }:
                self.pulled = False
            if phase is Phase.TENSION:
                self.pulled = True
        if isinstance(what, FoundAt) and (what.anew or run.unread or what.setup != run.stands):
            self.pulled = True  # whoever was at it may have pulled them


SETUPS = st.tuples(*(st.integers(0, 8) for _ in range(3)))


@given(
    setups=st.lists(SETUPS | st.none(), min_size=1, max_size=4),
    choices=st.lists(st.integers(0, 400), max_size=60),
    hands=st.sampled_from(CREWS),
)
def test_whatever_happens_it_goes_on_and_nobody_is_on_what_is_not_set_and_checked(
    bars: ApparatusModel, setups: list[tuple[int, ...] | None], choices: list[int], hands: int
) -> None:
    """Confirmed, taken back, broken off, found elsewhere: the safe sequence holds through all."""
    turns = tuple(Turn(place, setup) for place, setup in enumerate(setups))
    told = events(hands=hands, turns=turns)
    run, checked = run_of(bars, told), False
    for choice in choices:
        if not run.turns:
            break
        ways = possible(run, told)
        what = ways[choice % len(ways)]
        event = Confirmed(len(told) + 1, NOON, "Runa", what)
        before, run = run, continued(run, told, event)
        told.append(event)
        if isinstance(what, Rechecked):
            checked = True
        elif isinstance(what, AllDone | StepDone | FoundAt | TakenUp):
            checked = False
        assert run.stage is not Stage.SETTING or run.next_steps
        assert run.stage is not Stage.ON or run.stands == run.turns[0].setup
        assert run.stage is not Stage.ON or checked or isinstance(what, TakenBack)
        if isinstance(what, TakenBack):
            checked = run.stage is Stage.ON
        assert before.turns or run.turns
    assert run == run_of(bars, told)


@given(
    setups=st.lists(SETUPS | st.none(), min_size=1, max_size=4),
    choices=st.lists(st.integers(0, 400), max_size=30),
)
def test_going_on_from_a_folded_run_is_reading_it_from_its_beginning(
    bars: ApparatusModel, setups: list[tuple[int, ...] | None], choices: list[int]
) -> None:
    """A press goes on from the run that was loaded; every other page reads it anew."""
    told = events(turns=tuple(Turn(place, setup) for place, setup in enumerate(setups)))
    run = run_of(bars, told)
    for choice in choices:
        if not run.turns:
            break
        ways = possible(run, told)
        event = Confirmed(len(told) + 1, NOON, "Runa", ways[choice % len(ways)])
        run = continued(run, told, event)
        told.append(event)
        assert run == run_of(bars, told)


@given(
    setups=st.lists(SETUPS | st.none(), min_size=1, max_size=4),
    choices=st.lists(st.integers(0, 400), max_size=60),
    hands=st.sampled_from(CREWS),
)
def test_nothing_is_ever_moved_while_a_tensioner_is_pulled(
    bars: ApparatusModel, setups: list[tuple[int, ...] | None], choices: list[int], hands: int
) -> None:
    """Nor after a change-over that was broken off half-way, by whomever."""
    turns = tuple(Turn(place, setup) for place, setup in enumerate(setups))
    told = events(hands=hands, turns=turns)
    run, cables = run_of(bars, told), Cables()
    for choice in choices:
        if not run.turns:
            break
        ways = [way for way in possible(run, told) if not isinstance(way, TakenBack)]
        what = ways[choice % len(ways)]
        cables.see(run, what)
        event = Confirmed(len(told) + 1, NOON, "Runa", what)
        run = continued(run, told, event)
        told.append(event)
    assert run == run_of(bars, told)
