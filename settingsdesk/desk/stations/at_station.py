"""What a phone works on: its station's apparatus, lists and runs, loaded once for each request."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import start_orders
from settingsdesk.desk.meets.start_orders import OrderLine
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs.run import RunNow
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store import runs as kept_runs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class AtStation:
    """A station's apparatus, who is on each of its rotations, and every run that concerns it.

    ``listed`` has the athletes of each rotation by its number, in their order. ``rows`` are the
    runs of those rotations, and whatever else is under way on the apparatus, the latest first.
    ``now`` is the run that this request has folded already.
    """

    phone: PhoneIn
    piece: Piece
    listed: Mapping[int, tuple[int, ...]]
    rows: tuple[kept_runs.Run, ...]
    now: RunNow | None = None

    @property
    def present(self) -> kept_runs.Run | None:
        """Its run that is under way, or was the last one, if any."""
        own = [row for row in self.rows if self._is_own(row)]
        return next((row for row in own if row.over_at is None), next(iter(own), None))

    @property
    def under_way(self) -> list[kept_runs.Run]:
        """What is under way on the apparatus, whichever rotation it is of."""
        here = (row for row in self.rows if row.apparatus_id == self.piece.id)
        return [row for row in here if row.over_at is None]

    @property
    def waiting_rotation(self) -> int | None:
        """The number of the next rotation, where none of its own is under way."""
        if self.present is not None and self.present.over_at is None:
            return None
        begun = {row.rotation_id for row in self.rows}
        return next((number for number in self.listed if number not in begun), None)

    def begun(self, rotation_id: int) -> bool:
        """Whether a run of one of its rotations was begun; ``NotThisStation`` for another."""
        if rotation_id not in self.listed:
            raise NotThisStation
        return any(row.rotation_id == rotation_id for row in self.rows)

    def row(self, run_id: int) -> kept_runs.Run:
        """The row of one of its runs; ``NotThisStation`` where it is another's."""
        found = next((row for row in self.rows if row.id == run_id), None)
        if found is None or not self._is_own(found):
            raise NotThisStation
        return found

    def folded(self, session: ClubSession, row: kept_runs.Run) -> RunNow:
        """One of its runs as it stands, folded once; ``ScaleChanged``."""
        if self.now is not None and self.now.id == row.id:
            return self.now
        return desk_run.folded(session, row, self.piece)

    def after(self, now: RunNow) -> "AtStation":
        """The same after something was confirmed in a run of it."""
        return replace(self, piece=now.piece, now=now)

    def _is_own(self, row: kept_runs.Run) -> bool:
        return row.rotation_id in self.listed and row.apparatus_id == self.piece.id


def at_station(session: ClubSession, phone: PhoneIn) -> AtStation:
    """All that a phone's request rests on."""
    piece = desk_apparatus.piece(session, phone.apparatus_id)
    listed = kept_rotations.listed_at(session, phone.session_id, phone.apparatus_id)
    rows = kept_runs.at_station(session, listed, phone.apparatus_id)
    return AtStation(phone, piece, listed, tuple(rows))


def waiting(session: ClubSession, here: AtStation) -> OrderLine | None:
    """The next rotation, where none of the station's is under way."""
    rotation_id = here.waiting_rotation
    if rotation_id is None:
        return None
    lines = start_orders.at_station(session, here.phone.session_id, here.phone.apparatus_id)
    return next(line for line in lines if line.rotation_id == rotation_id)


class NotThisStation(SettingsDeskError):
    """A run was to be carried out that is not this station's."""

    sentence = Sentence("That rotation is not one of this station: go back to the station's page")
