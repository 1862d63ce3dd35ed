"""What a phone at a station sees and confirms: the run is the same as on the coach's page."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs import presses
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.first_check import FirstCheck, first_check
from settingsdesk.desk.runs.presses import Press
from settingsdesk.desk.runs.refusals import ScaleChanged
from settingsdesk.desk.runs.run import RunNow, RunView
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.stations.at_station import AtStation, NotThisStation, at_station, waiting
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.changeover.run import NotNow, Stage
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import runs as kept_runs
from settingsdesk.store import stations as kept_stations
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Standing:
    """All that a station's page is about.

    ``view`` is the run that is under way or was the last. ``waiting`` is the next rotation to
    begin, and ``hindrance`` why it cannot begin, or empty; ``to_read_off`` says that reading the
    marks off would help. ``stopped`` says why the run cannot go on at all. ``names`` are those
    of the phones that are in, by their numbers, where somebody is to check: no part of what
    tells all phones at once whether their pages are still true, so that it is left out of ``repr``.
    ``first`` is what is said of the check before use before the first turn. ``listed``, who is on
    each of its rotations, and ``newest_setting`` are what is said of a card rests on.
    """

    piece: Piece
    view: RunView | None
    stopped: str
    waiting: OrderLine | None
    hindrance: str
    to_read_off: bool
    names: Mapping[int, str] = field(repr=False)
    first: FirstCheck | None
    listed: Mapping[int, tuple[int, ...]]
    newest_setting: int

    def others(self, phone_id: int) -> tuple[str, ...]:
        """The names of the other phones that are in, where somebody is to check."""
        names = (name for number, name in self.names.items() if number != phone_id)
        return tuple(dict.fromkeys(names))


def look(session: ClubSession, phone: PhoneIn) -> Standing:
    """What stands at the station now."""
    return standing(session, at_station(session, phone))


def standing(session: ClubSession, here: AtStation) -> Standing:
    """The same for what this request has loaded already."""
    view, stopped = _view(session, here)
    following = waiting(session, here)
    return Standing(
        piece=here.piece,
        view=view,
        stopped=stopped,
        waiting=following,
        hindrance=_hindrance(here) if following else "",
        to_read_off=following is not None and here.piece.setup is None,
        names=_names(session, here.phone, view),
        first=_first(session, here.piece, view, following),
        listed=here.listed,
        newest_setting=desk_settings.newest_number(session),
    )


def _first(
    session: ClubSession, piece: Piece, view: RunView | None, following: OrderLine | None
) -> FirstCheck | None:
    if following is not None:
        return first_check(session, piece, None)
    return first_check(session, piece, view.run) if view and not view.run.ended else None


def begin(
    session: ClubSession,
    phone: PhoneIn,
    rotation_id: int,
    stands: Sequence[int],
    *,
    of_day: str = "",
) -> AtStation:
    """Begin one of the station's rotations; begun already, nothing is changed.

    ``stands`` is the setup that the phone's page told to read off before: however late it comes,
    it counts only while the same stands there by the record. ``of_day`` is the day of the rotation
    as it was answered that it begins today all the same, where it is another one, as ISO 8601 has
    it. Raises ``NotNow`` where one of them is not so, ``NotThisStation``, or what ``run.begin``
    does.
    """
    here = at_station(session, phone)
    if here.begun(rotation_id):
        return here
    _must_be_of(session, phone, of_day)
    if here.piece.setup is not None and here.piece.setup != tuple(stands):
        raise NotNow(
            Sentence(
                "Nothing was begun: the present marks of %(apparatus)s were changed since this"
                " page was made. Read them again, at both ends, then begin",
                apparatus=here.piece.name,
            )
        )
    desk_run.begin(session, rotation_id, phone.apparatus_id, {here.piece.id: here.piece})
    rows = kept_runs.at_station(session, here.listed, phone.apparatus_id)
    return replace(here, rows=tuple(rows))


def _must_be_of(session: ClubSession, phone: PhoneIn, of_day: str) -> None:
    """That the station is of today, or of a day for which it was answered that it begins now."""
    planned, now = kept_meets.session_by_id(session, phone.session_id).held_on, today()
    if planned not in (now, _read_day(of_day)):
        raise NotNow(
            Sentence(
                "Nothing was begun: this rotation is planned for %(planned)s, and today is"
                " %(today)s. Ask the coach first, then tick that it begins today",
                planned=day_in_words(planned),
                today=day_in_words(now),
            )
        )


def _read_day(told: str) -> date | None:
    try:
        return date.fromisoformat(told)
    except ValueError:
        return None


def confirm(session: ClubSession, phone: PhoneIn, run_id: int, press: Press) -> AtStation:
    """Confirm what the phone sent. Raises ``NotThisStation``, or what ``presses.confirm`` does."""
    here = at_station(session, phone)
    now = here.folded(session, here.row(run_id))
    _what, after = presses.confirm(session, now, press)
    return here.after(after)


def to_end(standing: Standing, run_id: int) -> RunView:
    """The station's present run, which is about to be ended; ``NotThisStation`` for another."""
    if standing.view is None or standing.view.id != run_id:
        raise NotThisStation
    return standing.view


def end(session: ClubSession, phone: PhoneIn, run_id: int) -> None:
    """End a run of the station, whoever is left; ``NotNow`` where a coach has to look first."""
    here = at_station(session, phone)
    row = here.row(run_id)
    with suppress(ScaleChanged):
        here.folded(session, row).run.must_not_be_held_up()
    desk_run.end(session, run_id)


def hold_up(session: ClubSession, phone: PhoneIn, words: str) -> AtStation:
    """Stop the work for what somebody says is wrong, until a coach has looked.

    It takes nothing out of use: that is the coach's. Raises ``NotNow`` where nothing is under
    way, or what ``run.hold_up`` does.
    """
    here = at_station(session, phone)
    here.piece.must_be_in_use()
    row = here.present
    if row is None or row.over_at is not None:
        raise NotNow(
            Sentence("Nothing is under way here. Let nobody up, and tell the coach yourself")
        )
    return here.after(desk_run.hold_up(session, here.folded(session, row), words))


def to_read_off(session: ClubSession, here: AtStation) -> RunNow | None:
    """The run that goes on from the marks that are about to be read, if any."""
    row = here.present if here.waiting_rotation is None else None
    try:
        return here.folded(session, row) if row else None
    except ScaleChanged:
        return None


def read_off(
    session: ClubSession, here: AtStation, now: RunNow | None, seen: int, stops: Sequence[int]
) -> AtStation:
    """What stands there was read off its marks: in a run, or before one begins."""
    if now is None:
        how = "read off at the station"
        piece = desk_apparatus.now_read_off(session, here.piece, stops, how)
        return replace(here, piece=piece)
    return here.after(desk_run.read_off(session, now, seen, stops))


def view(session: ClubSession, here: AtStation) -> RunView | None:
    """The run that is under way there, for what is said of a press; None where there is none."""
    return _view(session, here)[0]


def _names(session: ClubSession, phone: PhoneIn, view: RunView | None) -> Mapping[int, str]:
    if view is None or view.run.stage is not Stage.CHECKING:
        return {}
    return kept_stations.names_in(session, phone.station_id)


def _view(session: ClubSession, here: AtStation) -> tuple[RunView | None, str]:
    row = here.present
    if row is None:
        return None, ""
    try:
        return desk_run.viewed(session, here.folded(session, row)), ""
    except ScaleChanged as refusal:
        return None, str(refusal)


def _hindrance(here: AtStation) -> str:
    """Why the next rotation cannot begin, for somebody who cannot change it alone; or nothing."""
    if here.under_way:
        return Sentence(
            "“%(rotation)s” is under way on %(apparatus)s. Ask the coach to finish or to end it;"
            " then this rotation can begin",
            rotation=here.under_way[0].rotation.name,
            apparatus=here.piece.name,
        )
    return _unknown(here.piece)


def _unknown(piece: Piece) -> str:
    if piece.setup is not None:
        return ""
    return Sentence(
        "Present marks of %(apparatus)s unknown: read them first, at both ends; then the rotation"
        " can begin",
        apparatus=piece.name,
    )
