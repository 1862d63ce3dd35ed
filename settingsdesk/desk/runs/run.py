"""A rotation carried out at the apparatus: begun from its order, confirmed step by step."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from settingsdesk.desk.cards import remarks
from settingsdesk.desk.cards.text import note_of
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import in_use, mark_photos
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.mark_photos import ReadAt
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.called import called_in
from settingsdesk.desk.meets.raise_requests import is_open, told_at
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.lanes import Block, PlannedTurn
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.view import RotationView, with_order
from settingsdesk.desk.runs import run_list
from settingsdesk.desk.runs.events import read_event, row_of
from settingsdesk.desk.runs.refusals import (
    LONGEST_HOLD_UP,
    ConfirmedMeanwhile,
    NoOrderToRun,
    NothingSaidToBeWrong,
    NoTurnThere,
    RunUnderWay,
    SaidAtLength,
    ScaleChanged,
)
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.names_apart import Called
from settingsdesk.desk.squad.settings import Carried
from settingsdesk.domain.base.kinds import AN_END
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import Frame, ends_at
from settingsdesk.domain.changeover.happenings import (
    Begun,
    Ended,
    FoundAt,
    GoneOn,
    Happening,
    HeldUp,
    Joined,
    LeanMeasured,
    NotHere,
    StepDone,
    TakenBack,
    TakenUp,
    Turn,
    everybody_in,
    word_of,
)
from settingsdesk.domain.changeover.run import (
    Confirmed,
    NotNow,
    Run,
    Stage,
    continued,
    run_of,
    side_by_side,
    to_take_back,
)
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.settings.purposes import SETTINGS_FOR, USUAL, Purpose
from settingsdesk.domain.settings.transfer import AxisFit
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now
from settingsdesk.store.revisions import renews_records
from settingsdesk.store.work import ClubSession

ROUND_ABOUT = (HeldUp, GoneOn, Ended, TakenUp)
"""What is said of the work and not done at the apparatus: nobody knows its marks by that."""


@dataclass(frozen=True, slots=True)
class RunNow:
    """A run as it stands, folded from its events: all that one more confirmation rests on.

    ``row`` is what it was read from. ``was_withdrawn`` says that the apparatus was out of use
    since the latest event.
    """

    row: kept_runs.Run = field(compare=False, repr=False)
    piece: Piece
    run: Run
    events: tuple[Confirmed, ...]
    asked: OrderRequest
    was_withdrawn: bool

    @property
    def id(self) -> int:
        """The number of the run."""
        return self.row.id

    @property
    def rotation_id(self) -> int:
        """The number of the rotation that is carried out."""
        return self.row.rotation_id

    @property
    def part(self) -> str:
        """Which of several groups has its turns in it; empty where all do."""
        begun = self.events[0].what
        return begun.part if isinstance(begun, Begun) else ""

    @property
    def name(self) -> str:
        """What that rotation is called, with the group whose part it is."""
        return run_list.with_part(self.row.rotation.name, self.part)

    @property
    def number(self) -> int:
        """The number of the latest event: what the next one must know of."""
        return self.events[-1].number

    @property
    def recorded(self) -> Setup | None:
        """What stands there by the record, where that is not what the run knows."""
        if self.run.stage is Stage.OVER or self.piece.setup in (None, self.run.stands):
            return None
        return self.piece.setup

    @property
    def must_be_read_off(self) -> bool:
        """Whether nothing may be confirmed before somebody has read the marks off."""
        return self.recorded is not None or self.was_withdrawn or self.run.unread

    @property
    def to_take_back(self) -> Confirmed | None:
        """The confirmation that can be taken back."""
        return to_take_back(self.events)


@dataclass(frozen=True, slots=True)
class RunView(RunNow):
    """The same as people look at it, with everybody who is or was in it.

    ``called`` are their names, no two alike. ``wanted`` has the athletes with turns to come at
    other stops than their settings ask for now, each with what these ask for; among
    ``changed_to_come`` whoever is on is only where they have another turn. ``first_is_changed``
    says that it is so of the first turn. ``scratched`` are those
    whose entry for the meet was withdrawn. ``raises`` says what is told of requests to raise the
    rails, ``unmeasured`` what of the marks nobody has measured on such a model, by the athlete's
    number, ``usual_instead`` who has no setting for the purpose of the rotation, and ``notes`` what
    the crew is told of them. ``entered_for`` is for what other marks of them are entered, where
    that is not the usual setting. ``not_tried`` has for whom the marks are another athlete's, each
    with the number of the setting, for a coach to confirm; None where it is of another model, which
    is not tried here. ``ask_first`` are those with turns to come about whom a message from a card
    has no answer. ``alarming`` has the turns whose marks are outside what their athlete accepts, or
    not reached at all, each with the axes on which they are. ``read_at`` says by axis where the
    marks of the model are read, while something is set.
    """

    called: Mapping[int, Called]
    raises: Mapping[int, str]
    wanted: Mapping[int, Setup]
    changed_to_come: frozenset[int]
    first_is_changed: bool
    scratched: frozenset[int]
    unmeasured: Mapping[int, str]
    notes: Mapping[int, str]
    not_tried: Mapping[int, int | None]
    usual_instead: Mapping[int, str]
    entered_for: Mapping[int, Purpose]
    ask_first: frozenset[int]
    alarming: Mapping[Turn, tuple[AxisFit, ...]]
    read_at: Mapping[str, ReadAt]

    def name_of(self, turn: Turn) -> str:
        """By which name the athlete of a turn is called at the apparatus."""
        return str(self.called[turn.athlete_id])

    def heeds_in(self, unit: Unit) -> tuple[Sentence, ...]:
        """What a card says of the first turn's marks that are off, with the axis before it."""
        return tuple(
            Sentence("%(axis)s: %(why)s", axis=fit.axis.kind.name, why=note_of(fit, unit))
            for turn in self.run.turns[:1]
            for fit in self.alarming.get(turn, ())
        )

    @property
    def open_raises(self) -> frozenset[int]:
        """For whom nothing is set yet: their marks are, or may be, without a raise of the rails."""
        return frozenset(one for one, told in self.raises.items() if is_open(told))

    @property
    def settings_for(self) -> str:
        """Which settings count, as a sentence; "" where the usual ones do."""
        return "" if self.asked.purpose is USUAL else SETTINGS_FOR[self.asked.purpose]

    @property
    def not_taken(self) -> tuple[tuple[str, int], ...]:
        """Whose turns were not taken, each name once with the number of them."""
        left = self.run.not_taken
        return tuple((str(self.called[one]), turns) for one, turns in left.items())


def begin(
    session: ClubSession,
    rotation_id: int,
    apparatus_id: int,
    at_hand: Mapping[int, Piece] | None = None,
    *,
    group: int | None = None,
) -> int:
    """Begin to carry out a rotation's order on one of its apparatus; the run's number.

    Of several groups the part of one, by its number; the next one where none is given.
    The run of that rotation that is under way there is given back: it was begun twice. Whoever's
    entry for a meet was withdrawn is not here from the beginning. ``at_hand`` are apparatus that
    are read already, by their numbers. Raises
    ``WithdrawnFromUse``, ``NoOrderToRun``, ``NoTurnThere`` where its order has no turn on that
    apparatus, or ``RunUnderWay`` where another one is.
    """
    view = desk_rotation.rotation(session, rotation_id, at_hand)
    piece = view.pieces.get(apparatus_id)
    if piece is None or (view.is_to_come and not view.is_drawn):  # planned from other marks
        piece = desk_apparatus.piece(session, apparatus_id)
    piece.must_be_in_use()
    running = kept_runs.under_way_on(session, apparatus_id)
    if running is not None:
        part = running.events[0].told.get("part", "") if group is not None else ""
        if running.rotation_id == rotation_id and part in ("", _called(view, group)):
            return running.id
        raise RunUnderWay(piece.name, run_list.with_part(running.rotation.name, part), running.id)
    piece.must_know_its_drop()
    ends = ends_at(piece.model, piece.must_stand_somewhere())
    block = _block(view, group)
    turns = _turns(view, apparatus_id, block)
    if not turns:
        raise NoTurnThere(view.name, piece.name)
    part = _called(view, block.group) if block else ""
    begun = Begun(turns, view.asked.hands, ends, _broken_off(session, piece), part)
    row = kept_runs.Run(
        rotation_id=rotation_id,
        apparatus_id=apparatus_id,
        model_version=piece.printed.version,
        events=[row_of(1, session.by, begun)],
    )
    session.add(row)
    session.flush()
    gone = start_orders.withdrawn(session, rotation_id)
    if gone:
        now = folded(session, row, piece)
        for athlete_id in gone:
            now = go_on(session, now, now.number, NotHere(athlete_id))
    return row.id


def run(session: ClubSession, run_id: int) -> RunView:
    """One run as people look at it; raises what ``loaded`` does."""
    return viewed(session, loaded(session, run_id))


def loaded(session: ClubSession, run_id: int) -> RunNow:
    """One run as it stands; ``NotInThisClub``, or ``ScaleChanged`` where its marks are no more."""
    row = kept_runs.by_id(session, run_id)
    (piece,) = desk_apparatus.read_all(session, [row.apparatus])
    return folded(session, row, piece)


def folded(session: ClubSession, row: kept_runs.Run, piece: Piece) -> RunNow:
    """The run of a row on its apparatus, as it stands; ``ScaleChanged``."""
    events = tuple(read_event(event) for event in row.events)
    now = run_of(_model(session, row, piece), events)
    return RunNow(
        row=row,
        piece=piece,
        run=now,
        events=events,
        asked=_asked(session, row, events),
        was_withdrawn=now.stage is not Stage.OVER
        and in_use.released_since(session, piece.id, _last_at_work(events)),
    )


def _asked(session: ClubSession, row: kept_runs.Run, events: Sequence[Confirmed]) -> OrderRequest:
    """What is asked of the rotation, or of the part of it that a run is.

    Where other groups follow, the apparatus need not stand anywhere yet.
    """
    asked, begun = OrderRequest.from_data(row.rotation.asked), events[0].what
    if not isinstance(begun, Begun) or not begun.part:
        return asked
    part = asked.for_part(begun.part)
    if not part.finals:
        return part
    begins = kept_runs.begins_of(session, [row.rotation_id])
    others = set(asked.group_names) - {told.get("part", "") for _, _, told in begins}
    return replace(part, finals=()) if others else part


def _last_at_work(events: Sequence[Confirmed]) -> datetime:
    """The latest moment at which anything was confirmed that was done or read at the apparatus."""
    return max(event.at for event in events if not isinstance(event.what, ROUND_ABOUT))


def viewed(session: ClubSession, now: RunNow) -> RunView:
    """That run with everybody who is or was in it, and whose settings have changed."""
    everybody = everybody_in(event.what for event in now.events)
    own = _own(session, now)
    now_on = 1 if now.run.stage is Stage.ON else 0
    return RunView(
        row=now.row,
        piece=now.piece,
        run=now.run,
        events=now.events,
        asked=now.asked,
        was_withdrawn=now.was_withdrawn,
        called=called_in(
            session, now.rotation_id, desk_athletes.members(session, everybody).values()
        ),
        raises=told_at(session, now.rotation_id, now.piece, everybody)
        if now.asked.as_drawn
        else {},
        wanted={
            number: own[number].transfer.best.setup for number in _changed(now, own, now.run.turns)
        },
        changed_to_come=_changed(now, own, now.run.turns[now_on:]),
        first_is_changed=bool(_changed(now, own, now.run.turns[:1])),
        scratched=_scratched(session, now),
        unmeasured={one: carried.unmeasured for one, carried in own.items() if carried.unmeasured},
        notes={one: carried.crew_note for one, carried in own.items() if carried.crew_note},
        not_tried={
            one: None if carried.of_another_model else carried.version.id
            for one, carried in own.items()
            if carried.not_tried
        },
        usual_instead={
            one: carried.usual_instead for one, carried in own.items() if carried.usual_instead
        },
        entered_for={
            one: now.asked.purpose
            for one, carried in own.items()
            if now.asked.purpose is not USUAL and not carried.of_another_model
        },
        ask_first=remarks.ask_first(
            session, {turn.athlete_id for turn in now.run.turns}, now.piece.model.kind.key
        ),
        alarming=_alarming(now, own),
        read_at=mark_photos.of_model(session, now.piece.model_id)
        if now.run.stage is Stage.SETTING
        else {},
    )


def _alarming(now: RunNow, own: Mapping[int, Carried]) -> Mapping[Turn, tuple[AxisFit, ...]]:
    """Of each turn with marks that are off, where they are."""
    fits = {
        turn: own[turn.athlete_id].fit_of(turn.setup).axes
        for turn in now.run.turns
        if turn.setup is not None and turn.athlete_id in own
    }
    off = {turn: tuple(fit for fit in axes if fit.alarming) for turn, axes in fits.items()}
    return {turn: axes for turn, axes in off.items() if axes}


def _scratched(session: ClubSession, now: RunNow) -> frozenset[int]:
    """Who has a turn to come and does not come; nobody in a rotation of the club's own."""
    if not now.asked.as_drawn or not now.run.turns:
        return frozenset()
    return frozenset(start_orders.withdrawn(session, now.rotation_id)) & {
        turn.athlete_id for turn in now.run.turns
    }


def confirm(session: ClubSession, run_id: int, seen: int, what: Happening) -> RunNow:
    """Confirm what happened, by somebody who saw the run as it was after event ``seen``.

    What stands on the apparatus is recorded, or that nobody knows while a change-over is under
    way. The same confirmed again by a second press changes nothing, and a step counts beside
    another one that somebody else confirmed meanwhile and that it need not wait for. Raises
    ``ConfirmedMeanwhile`` where somebody else was faster, ``RunUnderWay`` where another run was
    begun there since this one was over, ``WithdrawnFromUse``, ``ScaleChanged``, or ``NotNow``.
    """
    return go_on(session, loaded(session, run_id), seen, what)


def go_on(session: ClubSession, now: RunNow, seen: int, what: Happening) -> RunNow:
    """The same in a run that is loaded; as it stands after that."""
    if is_on_record(session.by, now, seen, what):
        return now
    newer = [event for event in now.events if event.number > seen]
    now.piece.must_be_in_use()
    beside = side_by_side(now.run, [event.what for event in newer], what)
    if (newer and not beside) or seen > now.number:
        raise ConfirmedMeanwhile(newer[0].by if newer else "", newer[0].what if newer else None)
    if isinstance(what, TakenBack):
        _must_be_the_latest(now, what)
    if now.must_be_read_off and not isinstance(what, FoundAt | HeldUp | GoneOn):
        raise NotNow(
            Sentence(
                "Read the marks of %(apparatus)s first: its present marks are unknown",
                apparatus=now.piece.name,
            )
        )
    _must_be_the_only_one(session, now)
    return _keep(session, now, what)


def is_on_record(by: str, now: RunNow, seen: int, what: Happening) -> bool:
    """Whether the same person has confirmed the same already, on the same page.

    Sent once more, it changes nothing. Steps that others confirmed at the same time may have come
    before it.
    """
    for event in now.events:
        if event.number <= seen:
            continue
        if event.what == what and event.by == by:
            return True
        if not isinstance(event.what, StepDone):
            return False
    return False


def end(session: ClubSession, run_id: int) -> int:
    """End a run, whoever is left, also where it can no longer be read; its rotation's number."""
    row = kept_runs.by_id(session, run_id)
    latest = row.events[-1]
    if run_id in run_list.held_up(session):
        renews_records(session)
    if latest.word != word_of(Ended()):
        moment = desk_apparatus.not_before_it_stood(session, row.apparatus_id, utc_now())
        row.events.append(row_of(latest.number + 1, session.by, Ended(), moment))
        row.over_at = row.over_at or utc_now()
        session.flush()
    return row.rotation_id


def take_up(session: ClubSession, run_id: int) -> RunNow:
    """Go on with a run that was ended, where it ended; under way already, nothing is changed.

    Where somebody was at the apparatus since, its marks are read off before anything else.
    Raises ``WithdrawnFromUse``, ``RunUnderWay``, ``ScaleChanged``, or ``NotNow`` where no turn is
    left.
    """
    now = loaded(session, run_id)
    if not now.run.ended:
        return now
    now.piece.must_be_in_use()
    _must_be_the_only_one(session, now)
    return _keep(session, now, TakenUp(unknown=_touched_since_its_end(session, now)))


def hold_up(session: ClubSession, now: RunNow, words: str) -> RunNow:
    """Somebody says that something is wrong: nothing is confirmed any more before a coach looked.

    However late it comes, it counts. Raises ``NothingSaidToBeWrong``, ``SaidAtLength``, or what
    ``go_on`` does.
    """
    told = " ".join(words.split())
    if not told:
        raise NothingSaidToBeWrong
    if len(told) > LONGEST_HOLD_UP:
        raise SaidAtLength(len(told))
    return go_on(session, now, now.number, HeldUp(told))


def after_a_look(session: ClubSession, run_id: int) -> RunNow:
    """A coach has looked at what was said to be wrong: it goes on, and is checked once more."""
    now = loaded(session, run_id)
    return go_on(session, now, now.number, GoneOn()) if now.run.hold_up else now


def read_off(session: ClubSession, now: RunNow, seen: int, stops: Sequence[int]) -> RunNow:
    """What stands there was read off the marks, and it is not what the run thinks."""
    what = FoundAt(tuple(stops), anew=now.was_withdrawn)
    if seen == now.number:  # otherwise the marks were read off some time ago
        how = "read off at the apparatus"
        piece = desk_apparatus.now_read_off(session, now.piece, stops, how)
        now = replace(now, piece=piece)
    return go_on(session, now, seen, what)


def lean_measured(
    session: ClubSession, run_id: int, seen: int, side: int, end: int | None, by_mm: float
) -> RunNow:
    """The frame was measured: what pulls against its lean is tensioned first.

    ``side`` and ``end`` are those of ``square.Lean``. Raises what ``confirm`` does.
    """
    now = loaded(session, run_id)
    called = "" if end is None else Sentence(AN_END, end=now.piece.ends_called[end])
    return go_on(session, now, seen, LeanMeasured(side, called, by_mm))


def join(session: ClubSession, now: RunNow, seen: int, athlete_ids: Collection[int]) -> RunNow:
    """Give athletes who were not on the list their turns, after all others.

    ``WithoutSetting`` where somebody has no setting for the apparatus's kind.
    """
    ready = desk_settings.on_piece(session, athlete_ids, now.piece, now.asked.purpose)
    without = [athlete_id for athlete_id in athlete_ids if athlete_id not in ready]
    if without:
        members = desk_athletes.members(session, without)
        names = tuple(members[athlete_id].listed_name for athlete_id in without)
        raise desk_rotation.WithoutSetting(names, now.piece.model.kind.name.lower())
    turns = tuple(
        Turn(athlete_id, ready[athlete_id].transfer.best.setup)
        for athlete_id in athlete_ids
        for _ in range(now.asked.turns)
    )
    return go_on(session, now, seen, Joined(turns))


def as_left(session: ClubSession, view: RotationView) -> RotationView:
    """A rotation with its apparatus as the group that is at the bars now will leave it.

    The groups to come begin from there, however far that one is. As it was where nobody of them is
    at the bars, or nobody knows how it will be left.
    """
    going = run_list.under_way_on(session, view.piece.id) if view.is_partly_over else None
    if going is None or going.rotation_id != view.id:
        return view
    try:
        now = loaded(session, going.id).run
    except ScaleChanged:
        return view
    setup = now.turns[-1].setup if now.turns else now.stands
    if setup is None:
        return view
    piece = replace(view.piece, setup=setup)
    return with_order(replace(view, pieces={piece.id: piece}))


def _touched_since_its_end(session: ClubSession, now: RunNow) -> bool:
    """Whether something was set, read, begun or repaired on its apparatus since a run ended."""
    ended_at, left = now.events[-1].at, replace(now.run, ended=False)
    left_at = None if left.under_way else left.stands
    return (
        (now.piece.stood_at is not None and now.piece.stood_at > ended_at)
        or now.piece.setup not in (None, left_at)  # the clock may have been put back
        or kept_runs.is_followed(session, now.row)
        or in_use.released_since(session, now.piece.id, _last_at_work(now.events))
    )


def _block(view: RotationView, group: int | None) -> Block | None:
    """The turns of one of several groups; of the next one where none is named."""
    blocks = [block for block in view.blocks_to_come if group in (None, block.group)]
    return blocks[0] if blocks else None


def _called(view: RotationView, group: int | None) -> str:
    return "" if group is None or not view.asked.groups else view.called_group(group)


def _turns(view: RotationView, apparatus_id: int, block: Block | None) -> tuple[Turn, ...]:
    """The turns as they were ordered; of a start order as drawn, whoever has no setting yet too."""
    if not view.is_drawn:
        turns = _lane(view, apparatus_id)
        if view.asked.groups:
            turns = block.turns if block else ()
        return tuple(Turn(turn.member.id, turn.setup) for turn in turns)
    own = view.carried.get(apparatus_id)
    if own is None:
        return ()
    return tuple(
        Turn(member.id, own[member.id].transfer.best.setup if member.id in own else None)
        for member in view.listed
    )


def _lane(view: RotationView, apparatus_id: int) -> Sequence[PlannedTurn]:
    order = view.ordered
    if order is None or order.outdated:
        raise NoOrderToRun(view.name, order.outdated if order else "")
    return next((lane.turns for lane in order.best.lanes if lane.piece.id == apparatus_id), ())


def _broken_off(session: ClubSession, piece: Piece) -> bool:
    """Whether the last run on an apparatus left it in the middle of a change-over."""
    row = kept_runs.latest_on(session, piece.id)
    if row is None:
        return False
    try:
        now = run_of(_model(session, row, piece), [read_event(event) for event in row.events])
    except (ScaleChanged, NoSuchStop):
        return True
    return now.frame_now is not Frame.TENSIONED


def _must_be_the_only_one(session: ClubSession, now: RunNow) -> None:
    """A run that is over does not come alive again while another is under way there."""
    if now.row.over_at is None:
        return
    other = kept_runs.under_way_on(session, now.piece.id)
    if other is not None and other.id != now.id:
        raise RunUnderWay(now.piece.name, other.rotation.name, other.id)


def _model(session: ClubSession, row: kept_runs.Run, piece: Piece) -> ApparatusModel:
    """The model by which the run goes on: its own version's times, the apparatus's own scales.

    ``ScaleChanged`` where the printed scales are others now: the stops of the run may be marks
    that do not exist, and an old mark shown as a present one could hurt somebody.
    """
    used = present = piece.printed.model
    if row.model_version != piece.printed.version:
        history = desk_models.history(session, piece.model_id)
        used = next(known.model for known in history if known.version == row.model_version)
    if [axis.scale for axis in used.axes] != [axis.scale for axis in present.axes]:
        raise ScaleChanged(piece.name, row.id)
    called = used.with_ends_called(piece.end_names)
    return called.with_scales({axis.key: axis.scale for axis in piece.model.axes})


def first_is_changed(session: ClubSession, now: RunNow) -> bool:
    """Whether the setting that counts now does not go with the first of the turns to come."""
    return bool(_changed(now, _own(session, now), now.run.turns[:1]))


def _own(session: ClubSession, now: RunNow) -> Mapping[int, Carried]:
    """The settings that count now of whoever has a turn to come."""
    if now.run.stage is Stage.OVER:
        return {}
    to_come = {turn.athlete_id for turn in now.run.turns}
    return desk_settings.on_piece(session, to_come, now.piece, now.asked.purpose)


def _changed(now: RunNow, own: Mapping[int, Carried], turns: Iterable[Turn]) -> frozenset[int]:
    """With whose turns the setting that counts now does not go, by the athlete's number.

    Where the rotation was ordered within what each athlete accepts, a turn goes with a setting for
    as long as it is within that; else at the closest stops only.
    """
    return frozenset(
        turn.athlete_id
        for turn in turns
        if turn.athlete_id in own
        and not own[turn.athlete_id].allows(turn.setup, leeway=now.asked.leeway)
    )


def _must_be_the_latest(now: RunNow, what: TakenBack) -> None:
    latest = now.to_take_back
    if latest is None or latest.number != what.number:
        raise NotNow(
            Sentence(
                "Only the last confirmation can be undone, while nothing else has happened since"
            )
        )


def _keep(session: ClubSession, now: RunNow, what: Happening) -> RunNow:
    """Add the event, and record what stands there if that is another setup now."""
    moment = utc_now()
    if now.was_withdrawn and not isinstance(what, ROUND_ABOUT):
        moment = in_use.not_before_release(session, now.piece.id, moment)
    event = Confirmed(now.number + 1, moment, session.by, what)
    after = continued(now.run, now.events, event)
    piece = _record(session, now.piece, after, what)
    now.row.events.append(row_of(event.number, session.by, what, event.at))
    was_stopped = now.run.hold_up is not None and now.row.over_at is None
    now.row.over_at = event.at if after.stage is Stage.OVER and not after.away else None
    if was_stopped != (after.hold_up is not None and now.row.over_at is None):
        renews_records(session)  # cards say it
    session.flush()
    return RunNow(
        row=now.row,
        piece=piece,
        run=after,
        events=(*now.events, event),
        asked=now.asked,
        was_withdrawn=now.was_withdrawn and isinstance(what, ROUND_ABOUT),
    )


def _record(session: ClubSession, piece: Piece, now: Run, what: Happening) -> Piece:
    """Write down what stands there, or that nobody knows while a change-over is under way."""
    if isinstance(what, TakenUp):
        return piece
    if now.under_way or now.stands is None:
        if piece.setup is None:
            return piece
        how = "a change-over is under way"
        return desk_apparatus.record_at(session, piece, None, how)
    if now.stands == piece.setup:
        return piece
    back = isinstance(what, TakenBack)
    how = "a slip was taken back" if back else "set and confirmed at the apparatus"
    return desk_apparatus.record_at(session, piece, now.stands, how)
