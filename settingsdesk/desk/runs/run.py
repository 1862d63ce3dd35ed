"""A rotation carried out at the apparatus: begun from its order, confirmed step by step."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import in_use
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.lanes import PlannedTurn
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.changeover import Frame, ends_at
from settingsdesk.domain.changeover.happenings import (
    Begun,
    Ended,
    FoundAt,
    Happening,
    Joined,
    NotHere,
    TakenBack,
    Turn,
    from_data,
    to_data,
    word_of,
)
from settingsdesk.domain.changeover.run import (
    Confirmed,
    NotNow,
    Run,
    Stage,
    run_of,
    to_take_back,
)
from settingsdesk.domain.hall.models import ApparatusModel, Setup
from settingsdesk.domain.hall.scales import NoSuchStop
from settingsdesk.domain.times.timing import TimedChangeOver
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.base import utc_now

MOST_RUNS_LEARNED_FROM = 200


@dataclass(frozen=True, slots=True)
class RunView:
    """A run as it stands: its apparatus, everybody in it, and all that was confirmed.

    ``recorded`` is what stands on the apparatus by the record, where that is not what the run
    thinks; ``was_withdrawn`` says that the apparatus was out of use since the latest event.
    ``changed`` are the athletes with turns to come whose own stops are others now.
    """

    id: int
    rotation_id: int
    name: str
    piece: Piece
    run: Run
    events: tuple[Confirmed, ...]
    members: Mapping[int, Member]
    asked: OrderRequest
    recorded: Setup | None
    was_withdrawn: bool
    changed: frozenset[int]

    @property
    def number(self) -> int:
        """The number of the latest event: what the next one must know of."""
        return self.events[-1].number

    @property
    def must_be_read_off(self) -> bool:
        """Whether nothing may be confirmed before somebody has read the marks off."""
        return self.recorded is not None or self.was_withdrawn

    @property
    def to_take_back(self) -> Confirmed | None:
        """The confirmation that can be taken back."""
        return to_take_back(self.events)

    def name_of(self, turn: Turn) -> str:
        """By which name the athlete of a turn is called at the apparatus."""
        return self.members[turn.athlete_id].printed_name


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run in a list; ``over_at`` is None while it is under way."""

    id: int
    name: str
    apparatus_id: int
    apparatus: str
    begun_at: datetime
    over_at: datetime | None


def begin(session: Session, by: str, rotation_id: int, apparatus_id: int) -> int:
    """Begin to carry out a rotation's order on one of its apparatus; the run's number.

    The run of that rotation that is under way there is given back: it was begun twice. Whoever's
    entry for a meet was withdrawn is not here from the beginning. Raises
    ``WithdrawnFromUse``, ``NoOrderToRun``, or ``RunUnderWay`` where another one is.
    """
    view = desk_rotation.rotation(session, rotation_id)
    piece = desk_apparatus.piece(session, apparatus_id)
    piece.must_be_in_use()
    running = kept_runs.under_way_on(session, apparatus_id)
    if running is not None:
        if running.rotation_id == rotation_id:
            return running.id
        raise RunUnderWay(piece.name, running.rotation.name)
    lane = _lane(view, apparatus_id)
    turns = tuple(Turn(turn.member.id, turn.setup) for turn in lane)
    ends = ends_at(piece.model, piece.must_stand_somewhere())
    begun = Begun(turns, view.asked.hands, ends, _broken_off(session, piece))
    row = kept_runs.Run(
        rotation_id=rotation_id,
        apparatus_id=apparatus_id,
        model_version=desk_models.model(session, piece.model_id).version,
        events=[_row(1, by, begun)],
    )
    session.add(row)
    session.flush()
    for athlete_id in start_orders.withdrawn(session, rotation_id):
        confirm(session, by, row.id, kept_runs.latest_number(session, row.id), NotHere(athlete_id))
    return row.id


def run(session: Session, run_id: int) -> RunView:
    """One run as it stands; ``NotInThisClub``, or ``ScaleChanged`` where its marks are no more."""
    row = kept_runs.by_id(session, run_id)
    piece = desk_apparatus.piece(session, row.apparatus_id)
    events = tuple(_read(event) for event in row.events)
    now = run_of(_model(session, row, piece), events)
    return _view(session, row, piece, now, events)


def confirm(session: Session, by: str, run_id: int, seen: int, what: Happening) -> RunView:
    """Confirm what happened, by somebody who saw the run as it was after event ``seen``.

    What stands on the apparatus is recorded, or that nobody knows while a change-over is under
    way. The same confirmed again by a second press changes nothing. Raises
    ``ConfirmedMeanwhile`` where somebody else was faster, ``RunUnderWay`` where another run was
    begun there since this one was over, ``WithdrawnFromUse``, ``ScaleChanged``, or ``NotNow``.
    """
    view = run(session, run_id)
    newer = [event for event in view.events if event.number > seen]
    if newer and newer[0].what == what and newer[0].by == by:
        return view
    view.piece.must_be_in_use()
    if newer or seen > view.number:
        raise ConfirmedMeanwhile(newer[0].by if newer else "", newer[0].what if newer else None)
    if isinstance(what, TakenBack):
        _must_be_the_latest(view, what)
    if view.must_be_read_off and not isinstance(what, FoundAt):
        raise NotNow(
            f"Read the marks of {view.piece.name} off first: nobody knows what stands there now"
        )
    _must_be_the_only_one(session, view)
    return _keep(session, by, view, what)


def end(session: Session, by: str, run_id: int) -> int:
    """End a run, whoever is left, also where it can no longer be read; its rotation's number."""
    row = kept_runs.by_id(session, run_id)
    latest = row.events[-1]
    if latest.word != word_of(Ended()):
        row.events.append(_row(latest.number + 1, by, Ended()))
        row.over_at = row.over_at or utc_now()
        session.flush()
    return row.rotation_id


def found_at(session: Session, by: str, run_id: int, seen: int, stops: Sequence[int]) -> RunView:
    """What stands there was read off the marks, and it is not what the run thinks."""
    view = run(session, run_id)
    what = FoundAt(tuple(stops), anew=view.was_withdrawn)
    if seen == view.number:  # otherwise the marks were read off some time ago
        desk_apparatus.read_off(session, by, view.piece.id, stops, "read off at the apparatus")
    return confirm(session, by, run_id, seen, what)


def join(
    session: Session, by: str, run_id: int, seen: int, athlete_ids: Collection[int]
) -> RunView:
    """Give athletes who were not on the list their turns, after all others.

    ``WithoutSetting`` where somebody has no setting for the apparatus's kind.
    """
    view = run(session, run_id)
    ready = desk_settings.on_piece(session, athlete_ids, view.piece)
    without = [one for one in athlete_ids if one not in ready]
    if without:
        members = desk_athletes.members(session, without)
        names = tuple(members[one].listed_name for one in without)
        raise desk_rotation.WithoutSetting(names, view.piece.model.kind.name.lower())
    turns = tuple(
        Turn(one, ready[one].transfer.best.setup)
        for one in athlete_ids
        for _ in range(view.asked.turns)
    )
    return confirm(session, by, run_id, seen, Joined(turns))


def latest_number(session: Session, run_id: int) -> int:
    """The number of a run's latest event; ``NotInThisClub`` where there is no such run."""
    kept_runs.by_id(session, run_id)
    return kept_runs.latest_number(session, run_id)


def under_way(session: Session) -> list[RunLine]:
    """The runs that are not over, the latest begun first."""
    return [_line(row) for row in kept_runs.under_way(session)]


def of_rotation(session: Session, rotation_id: int) -> list[RunLine]:
    """Every run of a rotation, the latest begun first."""
    return of_rotations(session, [rotation_id])


def of_rotations(session: Session, rotation_ids: Iterable[int]) -> list[RunLine]:
    """Every run of those rotations, the latest begun first."""
    return [_line(row) for row in kept_runs.of_rotations(session, rotation_ids)]


@dataclass(frozen=True, slots=True)
class Timed:
    """A change-over that was done in one go, by whom and when it was confirmed.

    ``model`` is the model by whose times it was planned.
    """

    what: TimedChangeOver
    at: datetime
    by: str
    model: ApparatusModel


def timed_change_overs(session: Session, model_id: int) -> list[Timed]:
    """The undisturbed change-overs on apparatus of a model, the oldest first."""
    versions = {one.version: one.model for one in desk_models.history(session, model_id)}
    found = []
    for row in reversed(kept_runs.of_model(session, model_id, MOST_RUNS_LEARNED_FROM)):
        model = versions[row.model_version]
        now = run_of(model, [_read(event) for event in row.events])
        found += [
            Timed(
                TimedChangeOver(had.start, had.turn.setup, had.hands, had.took_s),
                had.set_at,
                had.set_by,
                model,
            )
            for had in now.over
            if had.planned_s and had.undisturbed and had.start is not None
        ]
    return found


def _lane(view: RotationView, apparatus_id: int) -> Sequence[PlannedTurn]:
    order = view.ordered
    if order is None or order.outdated:
        raise NoOrderToRun(view.name, order.outdated if order else "")
    return next((lane.turns for lane in order.best.lanes if lane.piece.id == apparatus_id), ())


def _broken_off(session: Session, piece: Piece) -> bool:
    """Whether the last run on an apparatus left it in the middle of a change-over."""
    row = kept_runs.latest_on(session, piece.id)
    if row is None:
        return False
    try:
        now = run_of(_model(session, row, piece), [_read(event) for event in row.events])
    except (ScaleChanged, NoSuchStop):
        return True
    return now.frame_now is not Frame.TENSIONED


def _must_be_the_only_one(session: Session, view: RunView) -> None:
    """A run that is over does not come alive again while another is under way there."""
    other = kept_runs.under_way_on(session, view.piece.id)
    if other is not None and other.id != view.id:
        raise RunUnderWay(view.piece.name, other.rotation.name)


def _model(session: Session, row: kept_runs.Run, piece: Piece) -> ApparatusModel:
    """The model by which the run goes on: its own version's times, the apparatus's own scales.

    ``ScaleChanged`` where the printed scales are others now: the stops of the run may be marks
    that do not exist, and an old mark shown as a present one could hurt somebody.
    """
    versions = {one.version: one.model for one in desk_models.history(session, piece.model_id)}
    used, present = versions[row.model_version], versions[max(versions)]
    if [axis.scale for axis in used.axes] != [axis.scale for axis in present.axes]:
        raise ScaleChanged(piece.name, row.id)
    return used.with_scales({axis.key: axis.scale for axis in piece.model.axes})


def _view(
    session: Session, row: kept_runs.Run, piece: Piece, now: Run, events: tuple[Confirmed, ...]
) -> RunView:
    rotation = kept_rotations.by_id(session, row.rotation_id)
    begun_or_joined = (event.what for event in events if isinstance(event.what, Begun | Joined))
    everybody = {turn.athlete_id for what in begun_or_joined for turn in what.turns}
    asked = OrderRequest.from_data(rotation.asked)
    return RunView(
        id=row.id,
        rotation_id=rotation.id,
        name=rotation.name,
        piece=piece,
        run=now,
        events=events,
        members=desk_athletes.members(session, everybody),
        asked=asked,
        recorded=_recorded(piece, now),
        was_withdrawn=now.stage is not Stage.OVER
        and in_use.released_since(session, piece.id, events[-1].at),
        changed=frozenset() if asked.leeway else _changed(session, piece, now),
    )


def _recorded(piece: Piece, now: Run) -> Setup | None:
    """By the record, where somebody wrote down something else than the run knows."""
    if now.stage is Stage.OVER or piece.setup in (None, now.stands):
        return None
    return piece.setup


def _changed(session: Session, piece: Piece, now: Run) -> frozenset[int]:
    ids = {turn.athlete_id for turn in now.turns}
    own = desk_settings.on_piece(session, ids, piece)
    return frozenset(
        turn.athlete_id
        for turn in now.turns
        if turn.athlete_id in own and own[turn.athlete_id].transfer.best.setup != turn.setup
    )


def _must_be_the_latest(view: RunView, what: TakenBack) -> None:
    latest = view.to_take_back
    if latest is None or latest.number != what.number:
        raise NotNow(
            "Only the last confirmation can be taken back, while nothing else has happened since"
        )


def _keep(session: Session, by: str, view: RunView, what: Happening) -> RunView:
    """Add the event, and record what stands there if that is another setup now."""
    row = kept_runs.by_id(session, view.id)
    event = Confirmed(view.number + 1, utc_now(), by, what)
    events = (*view.events, event)
    now = run_of(view.run.model, events)
    _record(session, by, view.piece, now, what)
    row.events.append(_row(event.number, by, what, event.at))
    row.over_at = event.at if now.stage is Stage.OVER and not now.away else None
    session.flush()
    piece = desk_apparatus.piece(session, view.piece.id)
    return _view(session, row, piece, now, events)


def _record(session: Session, by: str, piece: Piece, now: Run, what: Happening) -> None:
    """Write down what stands there, or that nobody knows while a change-over is under way."""
    if now.under_way or now.stands is None:
        if piece.setup is not None:
            how = "a change-over is under way"
            desk_apparatus.record_unknown(session, by, piece.id, how)
    elif now.stands != piece.setup:
        back = isinstance(what, TakenBack)
        how = "a slip was taken back" if back else "set and confirmed at the apparatus"
        desk_apparatus.record_setup(session, by, piece.id, now.stands, how)


def _row(number: int, by: str, what: Happening, at: datetime | None = None) -> kept_runs.RunEvent:
    return kept_runs.RunEvent(
        number=number, word=word_of(what), told=to_data(what), by=by, at=at or utc_now()
    )


def _read(row: kept_runs.RunEvent) -> Confirmed:
    return Confirmed(row.number, row.at, row.by, from_data(row.word, row.told))


def _line(row: kept_runs.Run) -> RunLine:
    return RunLine(
        row.id, row.rotation.name, row.apparatus_id, row.apparatus.name, row.begun_at, row.over_at
    )


class RunUnderWay(SettingsDeskError):
    """Another rotation is under way on the apparatus."""

    def __init__(self, apparatus: str, rotation: str) -> None:
        self.apparatus, self.rotation = apparatus, rotation

    def __str__(self) -> str:
        return (
            f"“{self.rotation}” is under way on {self.apparatus}: go on with it, or end it there,"
            " before another rotation begins"
        )


class NoOrderToRun(SettingsDeskError):
    """A rotation was to be carried out that has no order that counts."""

    def __init__(self, rotation: str, why: str) -> None:
        self.rotation, self.why = rotation, why

    def __str__(self) -> str:
        why = f" {self.why}" if self.why else ""
        return f"“{self.rotation}” has no order that counts.{why} Order it anew first"


class ScaleChanged(SettingsDeskError):
    """The scale of an apparatus was changed while a rotation was under way on it."""

    def __init__(self, apparatus: str, run_id: int) -> None:
        self.apparatus, self.run_id = apparatus, run_id

    def __str__(self) -> str:
        return (
            f"The scale of {self.apparatus} was changed since this run began, so its marks may no"
            " longer be there. End the run, read off what stands there, and order the rotation anew"
        )


class ConfirmedMeanwhile(SettingsDeskError):
    """Somebody else confirmed something between looking at a run and confirming."""

    def __init__(self, by: str, what: Happening | None) -> None:
        self.by, self.what = by, what

    def __str__(self) -> str:
        return (
            f"Something was confirmed{f' by {self.by}' if self.by else ''} after you last saw this"
            " page, so yours was not taken. Look at what is to be done now, and confirm that"
        )
