"""What a phone at a station sees and confirms: the run is the same as on the coach's page."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from zlib import crc32

from sqlalchemy.orm import Session

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs import rest as desk_rest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import ConfirmedMeanwhile, RunView, ScaleChanged
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.stations import stations
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.happenings import (
    AllDone,
    Arrived,
    HandsNow,
    Happening,
    NotHere,
    Rechecked,
    Reordered,
    Repeated,
    StepDone,
    TakenBack,
    TurnOver,
)
from settingsdesk.domain.changeover.run import NotNow, Run, run_of

WAYS: Mapping[str, Callable[[int], Happening]] = {
    "step": StepDone,
    "steps": lambda _: AllDone(),
    "second": lambda _: Rechecked(alone=False),
    "alone": lambda _: Rechecked(alone=True),
    "over": lambda _: TurnOver(),
    "repeat": lambda _: Repeated(),
    "not_here": NotHere,
    "here": Arrived,
    "hands": HandsNow,
    "back": TakenBack,
}
"""What a phone may confirm, by the word that it sends; each with the number it sends besides."""

NEXT, NEW_MARKS = "next", "new_marks"
"""The words for what depends on the list: who goes next, and settings that were changed since."""


@dataclass(frozen=True, slots=True)
class Standing:
    """All that a station's page is about.

    ``view`` is the run that is under way or was the last; ``line`` its place in the meet.
    ``waiting`` is the next rotation to begin, and ``hindrance`` why it cannot begin, or empty;
    ``to_read_off`` says that reading the marks off would help. ``stopped`` says why the run
    cannot go on at all. ``mark`` is another one whenever something happened.
    """

    piece: Piece
    line: OrderLine | None
    view: RunView | None
    stopped: str
    waiting: OrderLine | None
    hindrance: str
    to_read_off: bool
    mark: str


def look(session: Session, phone: PhoneIn) -> Standing:
    """What stands at the station now."""
    piece = desk_apparatus.piece(session, phone.apparatus_id)
    run_id = stations.present_run(session, phone)
    view, stopped = _view(session, run_id)
    waiting = _waiting(session, phone, run_id)
    hindrance = _hindrance(session, piece, waiting) if waiting else ""
    lines = stations.rotations(session, phone)
    rotation_id = view.rotation_id if view else None
    return Standing(
        piece=piece,
        line=next((one for one in lines if one.rotation_id == rotation_id), None),
        view=view,
        stopped=stopped,
        waiting=waiting,
        hindrance=hindrance,
        to_read_off=bool(waiting) and piece.setup is None,
        mark=mark(session, phone),
    )


def mark(session: Session, phone: PhoneIn) -> str:
    """Words that are others as soon as a station's page would show something else.

    What happened, what stands there, who is listed, which settings and scales count. Phones ask
    for it every second, so it is put together from few rows.
    """
    piece = desk_apparatus.piece(session, phone.apparatus_id)
    lists = stations.listed(session, phone)
    run_id = stations.run_of(session, phone, lists)
    busy = [line.id for line in desk_run.under_way(session) if line.apparatus_id == piece.id]
    parts = (
        run_id or 0,
        desk_run.latest_number(session, run_id) if run_id else 0,
        *busy,
        *(piece.withdrawal.findings if piece.withdrawal else ()),
        "at",
        *(piece.setup or ()),
        "of",
        *(number for rotation_id, listed in lists.items() for number in (rotation_id, *listed)),
        "by",
        desk_settings.newest_number(session),
        crc32(repr(piece.model).encode()),
    )
    return "-".join(map(str, parts))


def begin(session: Session, phone: PhoneIn, rotation_id: int) -> int:
    """Begin one of the station's rotations; begun already, its run is given back.

    Raises ``NotThisStation``, or what ``runs.begin`` does.
    """
    if rotation_id not in stations.listed(session, phone):
        raise stations.NotThisStation
    begun = desk_run.of_rotation(session, rotation_id)
    if begun:
        return begun[0].id
    return desk_run.begin(session, phone.by, rotation_id, phone.apparatus_id)


def confirm(
    session: Session, phone: PhoneIn, run_id: int, seen: int, word: str, number: int
) -> RunView:
    """Confirm what the phone sent, which saw the run as it was after event ``seen``.

    ``word`` is a key of ``WAYS``, ``NEXT`` or ``NEW_MARKS``. Sent once more because no answer
    came, it changes nothing.

    Raises ``NotThisStation``, ``NoSuchWord``, or what ``runs.confirm`` does.
    """
    stations.must_be_its_run(session, phone, run_id)
    if word not in (*WAYS, NEXT, NEW_MARKS):
        raise NoSuchWord
    if word in WAYS:
        what = WAYS[word](number)
    elif word == NEXT:
        what = next_up(_as_seen(session, run_id, seen), number)
    else:
        piece = desk_apparatus.piece(session, phone.apparatus_id)
        what = desk_rest.with_new_marks(session, piece, _as_seen(session, run_id, seen))
    return desk_run.confirm(session, phone.by, run_id, seen, what)


def end(session: Session, phone: PhoneIn, run_id: int) -> None:
    """End a run of the station, whoever is left."""
    stations.must_be_its_run(session, phone, run_id)
    desk_run.end(session, phone.by, run_id)


def read_off(
    session: Session, phone: PhoneIn, run_id: int | None, seen: int, stops: list[int]
) -> None:
    """What stands there was read off its marks: in a run, or before one begins."""
    if run_id is None:
        how = "read off at the station"
        desk_apparatus.read_off(session, phone.by, phone.apparatus_id, stops, how)
        return
    stations.must_be_its_run(session, phone, run_id)
    desk_run.found_at(session, phone.by, run_id, seen, stops)


def next_up(run: Run, athlete_id: int) -> Reordered:
    """The jury's change: that athlete's next turn comes first of those that can still be moved.

    The turn that something was done for already stays the first.
    """
    stays = 1 if run.is_set_for else 0
    for place, turn in enumerate(run.turns):
        if place >= stays and turn.athlete_id == athlete_id:
            if place == stays:
                raise NotNow("This athlete is the next one already, so nothing was changed")
            others = (*run.turns[stays:place], *run.turns[place + 1 :])
            return Reordered((*run.turns[:stays], turn, *others))
    raise NotNow("This athlete has no turn to come that could be moved, so nothing was changed")


def _as_seen(session: Session, run_id: int, seen: int) -> Run:
    """The run as it was when the phone looked: so the same press always means the same order."""
    view = desk_run.run(session, run_id)
    if not 1 <= seen <= view.number:
        raise ConfirmedMeanwhile("", None)
    return run_of(view.run.model, [event for event in view.events if event.number <= seen])


def _view(session: Session, run_id: int | None) -> tuple[RunView | None, str]:
    if run_id is None:
        return None, ""
    try:
        return desk_run.run(session, run_id), ""
    except ScaleChanged as refusal:
        return None, str(refusal)


def _waiting(session: Session, phone: PhoneIn, run_id: int | None) -> OrderLine | None:
    """The next rotation, where none of this station's is under way."""
    if run_id is not None and any(one.id == run_id for one in desk_run.under_way(session)):
        return None
    return stations.next_rotation(session, phone)


def _hindrance(session: Session, piece: Piece, waiting: OrderLine) -> str:
    """Why the next rotation cannot begin, for somebody who cannot change it alone; or nothing."""
    busy = [one.name for one in desk_run.under_way(session) if one.apparatus_id == piece.id]
    if busy:
        return (
            f"“{busy[0]}” is under way on {piece.name}. Ask the coach to finish or to end it; then"
            " this rotation can begin"
        )
    order = start_orders.start_order(session, waiting.rotation_id)
    if order.without:
        names = ", ".join(one.member.printed_name for one in order.without)
        return f"No setting is entered for {names}. Ask the coach to enter it or to change the list"
    if order.blocking:
        names = ", ".join(one.member.printed_name for one in order.blocking)
        return (
            f"Withdrawn, and without a setting: {names}. Ask the coach to take whoever withdrew"
            " off the order"
        )
    if piece.setup is None:
        return (
            f"Nobody knows what stands on {piece.name} now. Read its marks off, at both ends;"
            " then the rotation can begin"
        )
    return ""


class NoSuchWord(SettingsDeskError):
    """Something was sent that no page of a station sends."""

    def __str__(self) -> str:
        return "Nothing was confirmed: load the page again, and use its buttons"
