"""A rotation under way at one apparatus: what stands there now, who is on, what to do next.

A run is read from its happenings, one after the other, and keeps nothing besides. So it is the
same on every device and after every restart, and what was confirmed by mistake can be taken back
without anything being deleted.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.changeover.changeover import (
    EndStops,
    Frame,
    Phase,
    PulledFirst,
    ends_at,
    setup_of,
)
from settingsdesk.domain.changeover.crew import (
    CREWS,
    CrewChangeOver,
    NotACrew,
    crew_change_over,
)
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    Begun,
    Ended,
    FoundAt,
    GoneOn,
    HandsNow,
    Happening,
    HeldUp,
    Joined,
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
from settingsdesk.domain.hall.models import ApparatusModel, Axis, Setup

NOTHING_TO_DO = CrewChangeOver(())

CONFIRMATIONS = (StepDone, AllDone, Rechecked, TurnOver, Repeated, PassedOver, LeanMeasured)
"""What is confirmed of the turn that is next or on."""

OF_THE_LIST = (NotHere, Arrived, Placed, Joined, Reordered)
"""Who comes and in which order. Like what is confirmed it can be taken back, the latest first."""


class Stage(Enum):
    """Where the first of the turns to come is."""

    NO_SETTING = "no setting"
    SETTING = "setting"
    CHECKING = "checking"
    ON = "on"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Confirmed:
    """A happening, by whom and when; they are numbered from 1 without gaps."""

    number: int
    at: datetime
    by: str
    what: Happening


@dataclass(frozen=True, slots=True)
class TurnHad:
    """A turn that is over, and the change-over before it.

    ``start`` is what stood there before, or None where the ends of an axis differed.
    ``check_told_by`` is who confirmed the check, which may be another than who made it.
    ``undisturbed`` says that the change-over was done in one go as it was planned, so that
    ``took_s`` is its time. Both are meaningless where ``planned_s`` is 0: nothing was to be set.
    """

    turn: Turn
    start: Setup | None
    hands: int
    planned_s: int
    took_s: int
    undisturbed: bool
    set_by: str
    set_at: datetime
    checked_by: str
    alone: bool | None
    check_told_by: str = ""


@dataclass(frozen=True, slots=True)
class HoldUp:
    """What somebody at the apparatus said is wrong, until a coach has looked at it."""

    words: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class OnPaper:
    """Who said, and when, that the check before use was made on paper."""

    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Run:
    """How a run stands after its happenings so far.

    ``turns`` are those to come, the first being set for, checked, or on; ``away`` are turns of
    athletes who are not here. ``change`` leads from ``start``, where the ends stood when it was
    begun, to the first turn's setup; ``done`` are the places of its steps that are done.
    ``frame`` is how that change-over found the frame. ``unchecked`` says that a check is due
    before this turn even where nothing is to be set. ``shared_by`` are the hands it was shared
    out to. ``order_before`` is the order that the latest new one took the place of, until a turn
    is over; where somebody went or came, ``listed_before`` is the list until the rest is ordered,
    with whoever went, and without whoever came. ``moved`` are the ends that were moved since the
    last check, each with its axis's place. ``lean`` is what was measured of the frame in this
    change-over. ``unread`` says that nothing may be confirmed before the marks were read off, and
    ``hold_up`` that nothing may be before a coach has looked. ``before_use`` is the check before
    use as it was said to be made on paper, until the apparatus was out of use.
    """

    model: ApparatusModel
    hands: int
    ends: EndStops
    turns: tuple[Turn, ...]
    begun_at: datetime
    change: CrewChangeOver = NOTHING_TO_DO
    start: EndStops = ()
    done: frozenset[int] = frozenset()
    frame: Frame = Frame.TENSIONED
    unchecked: bool = False
    shared_by: int = 1
    undisturbed: bool = True
    set_by: str = ""
    set_at: datetime | None = None
    checked_by: str = ""
    check_told_by: str = ""
    alone: bool | None = None
    away: tuple[Turn, ...] = ()
    over: tuple[TurnHad, ...] = ()
    order_before: tuple[Turn, ...] = ()
    listed_before: tuple[Turn, ...] = ()
    ended: bool = False
    moved: frozenset[tuple[int, str]] = frozenset()
    unread: bool = False
    lean: PulledFirst | None = None
    hold_up: HoldUp | None = None
    before_use: OnPaper | None = None

    @property
    def stage(self) -> Stage:
        """What the one at the apparatus is to do next."""
        if self.ended or not self.turns:
            return Stage.OVER
        if self.turns[0].setup is None:
            return Stage.NO_SETTING
        if len(self.done) < len(self.change.steps):
            return Stage.SETTING
        if (self.change.steps or self.unchecked) and self.alone is None:
            return Stage.CHECKING
        return Stage.ON

    @property
    def not_taken(self) -> Mapping[int, int]:
        """By athlete, how many turns were not taken, in their order; of who is not here, last."""
        return Counter(turn.athlete_id for turn in (*self.turns, *self.away))

    @property
    def is_set_for(self) -> bool:
        """Whether something was done for the first turn already, so that it stays the first."""
        return bool(self.done) or self.stage in (Stage.CHECKING, Stage.ON)

    @property
    def next_steps(self) -> tuple[int, ...]:
        """The places of the steps to be done now: all that wait for no other.

        A step waits for those that end before it begins.
        """
        return self.next_steps_after(self.done)

    def next_steps_after(self, done: Collection[int]) -> tuple[int, ...]:
        """The same where those steps are done and no others."""
        steps = self.change.steps
        left = [place for place in range(len(steps)) if place not in done]
        return tuple(
            place
            for place in left
            if not any(
                earlier < place and steps[earlier].ends_s <= steps[place].starts_s
                for earlier in left
            )
        )

    @property
    def moved_ends(self) -> tuple[tuple[Axis, tuple[str, ...]], ...]:
        """What the check before this turn is of: the axes that were moved, each with its ends."""
        return tuple(
            (axis, ends)
            for place, axis in enumerate(self.model.axes)
            if (ends := tuple(end for end in axis.ends if (place, end) in self.moved))
        )

    @property
    def under_way(self) -> bool:
        """Whether a change-over is begun and not done: what stands there is on no record then."""
        return self.stage is Stage.SETTING and (bool(self.done) or self.stands is None)

    @property
    def frame_now(self) -> Frame:
        """How the frame is now, for whatever comes next.

        It is slack once all slackening is done, until the first tensioner is pulled.
        """
        if not self.done:
            return self.frame
        if len(self.done) == len(self.change.steps):
            return Frame.TENSIONED
        left = {
            step.phase for place, step in enumerate(self.change.steps) if place not in self.done
        }
        done = {self.change.steps[place].phase for place in self.done}
        if Phase.SLACKEN in left or Phase.TENSION in done:
            return Frame.UNCLEAR
        return Frame.SLACK

    @property
    def stands(self) -> Setup | None:
        """What stands there now; None while the ends of an axis differ."""
        return setup_of(self.ends)

    @property
    def mostly_at(self) -> Setup:
        """What stands there now; of an axis whose ends differ, where most of them stand."""
        return tuple(max(stops, key=stops.count) for stops in self.ends)

    def must_not_be_held_up(self) -> None:
        """Raise ``NotNow`` where somebody said that something is wrong, and no coach has looked."""
        if self.hold_up:
            raise NotNow(
                Sentence(
                    "The work here is stopped: %(name)s said that something is wrong. A coach has"
                    " to look first",
                    name=self.hold_up.by,
                )
            )

    def after(self, event: Confirmed) -> "Run":
        """The run after one more happening; raises ``NotNow`` where it cannot happen now."""
        if isinstance(event.what, TakenUp):
            return self._taken_up(event.what, event)
        if self.ended:
            raise NotNow(
                Sentence("This run has ended. A coach can take it up again, on the rotation's page")
            )
        if isinstance(event.what, CONFIRMATIONS):
            self.must_not_be_held_up()
            if self.unread:
                raise NotNow(Sentence("Read the marks off first: the present marks are unknown"))
            return self._confirmed(event)
        if isinstance(event.what, NotHere | Arrived | Placed | Joined | Reordered):
            return self._relisted(event)
        return self._changed(event)

    def _confirmed(self, event: Confirmed) -> "Run":
        match event.what:
            case StepDone(step):
                return self._after_step(step, event)
            case AllDone():
                return self._after_all(event)
            case Rechecked():
                return self._after_check(event.what, event)
            case Repeated(setup):
                return self._after_repeat(setup, event)
            case LeanMeasured(side, end, by_mm):
                return self._leaning(PulledFirst(side, end, by_mm))
            case PassedOver(athlete_id):
                return self._passed_over(athlete_id, event)
            case _:
                return self._after_turn(event, self._must_be_on()[1:])

    def _relisted(self, event: Confirmed) -> "Run":
        match event.what:
            case NotHere(athlete_id):
                return self._without(athlete_id, event)
            case Arrived(athlete_id):
                return self._with_arrived(athlete_id, event)
            case Placed(athlete_id, after):
                return self._placed(athlete_id, after, event)
            case Reordered(turns):
                return self._reordered(turns, event)
            case Joined(turns):
                return self._with_list((*self.turns, *turns), event)
            case _:
                raise TypeError(event.what)

    def _changed(self, event: Confirmed) -> "Run":
        match event.what:
            case FoundAt():
                return self._found(event.what, event)
            case HandsNow(hands):
                return self._with_hands(hands, event)
            case TakenBack():
                disturbs = self.stage is Stage.SETTING
                return replace(self, undisturbed=self.undisturbed and not disturbs)
            case Ended():
                return replace(self, ended=True)
            case HeldUp(words):
                return self._held_up(HoldUp(words, event.by, event.at))
            case GoneOn():
                return self._gone_on()
            case _:
                raise NotNow(Sentence("This run has begun already"))

    def _held_up(self, hold_up: HoldUp) -> "Run":
        if self.hold_up:
            raise NotNow(Sentence("The work here is stopped already, and the coach is told"))
        if self.stage is Stage.OVER:
            raise NotNow(Sentence("All turns are done here. Tell the coach yourself"))
        return replace(self, hold_up=hold_up, undisturbed=False)

    def _gone_on(self) -> "Run":
        """Whoever is on may have gone, and hands were at the apparatus: it is checked once more."""
        if not self.hold_up:
            raise NotNow(Sentence("This run was not stopped, or it goes on already"))
        return replace(
            self, hold_up=None, unchecked=True, checked_by="", check_told_by="", alone=None
        )

    def _taken_up(self, what: TakenUp, event: Confirmed) -> "Run":
        """From where the ends were left; whoever was on may have gone, so it is checked anew."""
        if not self.ended:
            raise NotNow(Sentence("This run has not ended, so there is nothing to take up again"))
        if not (self.turns or self.away):
            raise NotNow(Sentence("All turns of this run are done: begin a new one"))
        again = replace(
            self, ended=False, frame=self.frame_now, unchecked=True, unread=what.unknown
        )
        return again._towards(self.turns, event.at)

    def _after_step(self, step: int, event: Confirmed) -> "Run":
        if self.stage is not Stage.SETTING or step not in self.next_steps:
            raise NotNow(
                Sentence(
                    "That step is not the one to be done now. Look at the page again: nothing was"
                    " confirmed"
                )
            )
        return self._moved(frozenset({step}), event)

    def _after_all(self, event: Confirmed) -> "Run":
        if self.stage is not Stage.SETTING:
            raise NotNow(Sentence("All steps of this change-over are confirmed already"))
        return self._moved(frozenset(range(len(self.change.steps))) - self.done, event)

    def _moved(self, steps: frozenset[int], event: Confirmed) -> "Run":
        ends, moved = [list(stops) for stops in self.ends], set(self.moved)
        for move in (self.change.steps[step].move for step in sorted(steps)):
            if move is not None:
                axis = self.model.kind.axes.index(move.axis.kind)
                ends[axis][move.axis.ends.index(move.end)] = move.to_stop
                moved.add((axis, move.end))
        return replace(
            self,
            ends=tuple(tuple(stops) for stops in ends),
            done=self.done | steps,
            moved=frozenset(moved),
            set_by=event.by,
            set_at=event.at,
        )

    def _after_check(self, what: Rechecked, event: Confirmed) -> "Run":
        if self.stage is not Stage.CHECKING:
            raise NotNow(Sentence("There is nothing to check before this turn any more"))
        on_paper = OnPaper(event.by, event.at) if what.before_use_on_paper else None
        return replace(
            self,
            alone=what.alone,
            checked_by=what.second or event.by,
            check_told_by=event.by,
            moved=frozenset(),
            before_use=on_paper or self.before_use,
        )

    def _leaning(self, lean: PulledFirst) -> "Run":
        """The same steps, those of tensioning in another sequence; it was not timed undisturbed."""
        phases = [step.phase for step in self.change.steps]
        if self.stage is not Stage.SETTING or Phase.TENSION not in phases:
            raise NotNow(Sentence("Nothing is to be tensioned now, so nothing was changed"))
        if any(phases[place] is Phase.TENSION for place in self.done):
            raise NotNow(
                Sentence(
                    "Tensioning has begun, so its sequence stays. Where it leans too far: slacken,"
                    " correct, sight, and tension anew"
                )
            )
        steered = replace(self, lean=lean, undisturbed=False)
        return replace(steered, change=steered._change_over())

    def _change_over(self) -> CrewChangeOver:
        goal = self.turns[0].setup if self.turns else None
        if goal is None:
            return NOTHING_TO_DO
        return crew_change_over(
            self.model, self.start, goal, self.shared_by, frame=self.frame, lean=self.lean
        )

    def _must_be_on(self) -> tuple[Turn, ...]:
        if self.stage is not Stage.ON:
            raise NotNow(Sentence("Nobody is on: the change-over and its check come first"))
        return self.turns

    def _after_turn(self, event: Confirmed, left: tuple[Turn, ...]) -> "Run":
        had = TurnHad(
            turn=self.turns[0],
            start=setup_of(self.start),
            hands=self.shared_by,
            planned_s=self.change.seconds,
            took_s=round((self.set_at - self.begun_at).total_seconds()) if self.set_at else 0,
            undisturbed=self.undisturbed,
            set_by=self.set_by,
            set_at=self.set_at or self.begun_at,
            checked_by=self.checked_by,
            alone=self.alone,
            check_told_by=self.check_told_by,
        )
        free = replace(self, over=(*self.over, had), order_before=(), listed_before=())
        free = replace(free, frame=Frame.TENSIONED, unchecked=False)
        return free._towards(left, event.at, undisturbed=True)

    def _after_repeat(self, setup: Setup | None, event: Confirmed) -> "Run":
        if self.stage is Stage.ON:
            first, *others = self.turns
            return self._after_turn(event, (replace(first, setup=setup or first.setup), *others))
        if not self.over or self.is_set_for:
            raise NotNow(Sentence("A turn can be repeated while nothing was moved since"))
        again = self.over[-1].turn
        return self._on_with((replace(again, setup=setup or again.setup), *self.turns), event)

    def _passed_over(self, athlete_id: int, event: Confirmed) -> "Run":
        first, *others = self.turns or (None,)
        if self.stage is not Stage.NO_SETTING or first is None or first.athlete_id != athlete_id:
            raise NotNow(
                Sentence("Only who is next and has no setting is passed over: nothing was changed")
            )
        if not others:
            raise NotNow(
                Sentence("Nobody else is left who could go first. Ask the coach for the setting")
            )
        return replace(self, order_before=self.turns)._on_with((*others, first), event)

    def _without(self, athlete_id: int, event: Confirmed) -> "Run":
        theirs = tuple(turn for turn in self.turns if turn.athlete_id == athlete_id)
        if not theirs:
            raise NotNow(Sentence("This athlete has no turn to come, so nothing was changed"))
        left = tuple(turn for turn in self.turns if turn.athlete_id != athlete_id)
        return replace(self, away=(*self.away, *theirs))._with_list(left, event)

    def _with_arrived(self, athlete_id: int, event: Confirmed) -> "Run":
        theirs = tuple(turn for turn in self.away if turn.athlete_id == athlete_id)
        if not theirs:
            raise NotNow(Sentence("This athlete is on the list already"))
        away = tuple(turn for turn in self.away if turn.athlete_id != athlete_id)
        return replace(self, away=away)._with_list((*self.turns, *theirs), event)

    def _placed(self, athlete_id: int, after: int, event: Confirmed) -> "Run":
        """Her next turn behind so many others; whoever is on has that turn where it is."""
        stays = 1 if self.stage is Stage.ON else 0
        theirs = [turn for turn in self.away if turn.athlete_id == athlete_id]
        places = [n for n, turn in enumerate(self.turns) if turn.athlete_id == athlete_id]
        places = [place for place in places if place >= stays]
        if not theirs and not places:
            raise NotNow(Sentence("This athlete has no turn to come, so nothing was changed"))
        others = list(self.turns)
        moved, *later = theirs or [others.pop(places[0])]
        if not stays <= after <= len(others):
            raise NotNow(
                Sentence(
                    "This athlete has no turn to come that could be moved, so nothing was changed"
                )
            )
        turns = (*others[:after], moved, *others[after:], *later)
        away = tuple(turn for turn in self.away if turn.athlete_id != athlete_id)
        return replace(self, away=away, order_before=self.turns)._on_with(turns, event)

    def _with_list(self, turns: tuple[Turn, ...], event: Confirmed) -> "Run":
        """With others on the list; the order that follows is told against the one seen before."""
        return replace(self, listed_before=self.turns)._on_with(turns, event)

    def _found(self, what: FoundAt, event: Confirmed) -> "Run":
        """Where it was read off; moved by somebody else, nobody knows how it is tensioned."""
        moved = what.anew or self.unread or what.setup != self.stands
        frame = Frame.UNCLEAR if moved else self.frame_now
        ends = ends_at(self.model, what.setup)
        others = {
            (place, end)
            for place, axis in enumerate(self.model.axes)
            for end, was, stop in zip(axis.ends, self.ends[place], ends[place], strict=True)
            if was != stop
        }
        found = replace(
            self,
            ends=ends,
            frame=frame,
            moved=self.moved | others,
            unchecked=True,
            unread=False,
            before_use=None if what.anew else self.before_use,
        )
        return found._towards(self.turns, event.at)

    def _reordered(self, turns: tuple[Turn, ...], event: Confirmed) -> "Run":
        if sorted(_who(turns)) != sorted(_who(self.turns)):
            raise NotNow(Sentence("The list has changed since that order was worked out"))
        if turns != self.turns and _who(turns) == _who(self.turns):  # other marks, the same order
            return self._on_with(turns, event)
        before = self.listed_before or self.turns
        return replace(self, order_before=before, listed_before=())._on_with(turns, event)

    def _with_hands(self, hands: int, event: Confirmed) -> "Run":
        if hands not in CREWS:
            raise NotACrew(hands)
        if self.done and self.stage is Stage.SETTING:
            raise NotNow(
                Sentence("Finish this change-over first: its steps are shared out already")
            )
        crew = replace(self, hands=hands)
        return (
            crew
            if self.stage is not Stage.SETTING
            else crew._towards(self.turns, event.at, lean=self.lean)
        )

    def _on_with(self, turns: tuple[Turn, ...], event: Confirmed) -> "Run":
        """Another list of turns; what was done for the first one counts if it stays the first."""
        if turns and self.turns and turns[0] == self.turns[0]:
            return replace(self, turns=turns)
        checked = self.stage is Stage.ON or not (self.is_set_for or self.unchecked)
        left = replace(self, frame=self.frame_now, unchecked=not checked)
        return left._towards(turns, event.at)

    def _towards(
        self,
        turns: tuple[Turn, ...],
        at: datetime,
        *,
        undisturbed: bool = False,
        lean: PulledFirst | None = None,
    ) -> "Run":
        """The change-over from where the ends stand now to the first of those turns.

        Only what begins right behind a turn can be timed: before anything else somebody may have
        been at work already.
        """
        begun = replace(
            self,
            turns=turns,
            lean=lean,
            start=self.ends,
            shared_by=self.hands,
            begun_at=at,
            undisturbed=undisturbed,
            done=frozenset(),
            set_by="",
            set_at=None,
            checked_by="",
            check_told_by="",
            alone=None,
        )
        return replace(begun, change=begun._change_over())


def run_of(model: ApparatusModel, events: Sequence[Confirmed]) -> Run:
    """The run that those events tell, from ``Begun`` on; what was taken back does not count.

    Raises ``NoSuchStop`` where the model no longer has a stop that was used.
    """
    taken_back = _taken_back(events)
    first, *others = events
    if not isinstance(first.what, Begun):
        raise TypeError(f"a run begins with Begun, not with {first.what!r}")
    begun = first.what
    run = Run(model, begun.hands, begun.ends, begun.turns, first.at, unchecked=True)
    run = replace(run, frame=Frame.UNCLEAR if begun.unclear else Frame.TENSIONED)
    run = run._towards(begun.turns, first.at)
    for event in others:
        if event.number not in taken_back:
            run = run.after(event)
    return run


def continued(run: Run, before: Sequence[Confirmed], event: Confirmed) -> Run:
    """The run after one more event, where those ``before`` made it what it is.

    Only what takes a slip back makes them be read once more, without it. Raises ``NotNow`` where
    the event cannot happen now.
    """
    if isinstance(event.what, TakenBack):
        return run_of(run.model, (*before, event))
    return run.after(event)


def side_by_side(run: Run, newer: Sequence[Happening], what: Happening) -> bool:
    """Whether a step counts though whoever did it had not seen those newer happenings.

    So it is where all of them are other steps of the same change-over, and where neither this step
    had to wait for one of them nor one of them for it. A lean is measured while steps go on.
    """
    steps = {event.step for event in newer if isinstance(event, StepDone)}
    if len(steps) != len(newer):
        return False
    if isinstance(what, LeanMeasured):  # steps go on while it is measured
        return True
    if not isinstance(what, StepDone):
        return False
    return what.step in run.next_steps and what.step in run.next_steps_after(run.done - steps)


def _who(turns: Sequence[Turn]) -> list[int]:
    return [turn.athlete_id for turn in turns]


def to_take_back(events: Sequence[Confirmed]) -> Confirmed | None:
    """The latest event, where it is one that can be taken back and is not yet.

    Of an order that was worked out for what happened right before it, that is what happened.
    """
    taken_back = _taken_back(events)
    for event in reversed(events):
        if isinstance(event.what, TakenBack) or event.number in taken_back:
            continue
        if isinstance(event.what, Reordered) and event.what.with_before:
            continue
        return event if isinstance(event.what, (*CONFIRMATIONS, *OF_THE_LIST)) else None
    return None


def _taken_back(events: Sequence[Confirmed]) -> set[int]:
    """The numbers of all that was taken back, with the orders that were worked out for it."""
    numbers = {event.what.number for event in events if isinstance(event.what, TakenBack)}
    return numbers | {
        event.number
        for event in events
        if isinstance(event.what, Reordered)
        and event.what.with_before
        and event.number - 1 in numbers
    }


class NotNow(SettingsDeskError):
    """Something was confirmed that cannot happen as the run stands."""

    def __init__(self, reason: Sentence) -> None:
        self.reason = reason

    def __str__(self) -> str:
        return self.reason
