"""A phone that is let in by hand: it shows a code, and whoever is at the desk types that.

So nobody is locked out of a station by those who try codes in vain. Nothing is kept of phones that
wait: what a phone shows is worked out from what its own cookie holds, and only the desk's word for
it is written down.
"""

import secrets
from datetime import timedelta

from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.stations import stations
from settingsdesk.desk.stations.stations import PhoneIn, StationClosed
from settingsdesk.domain.base.codes import read_short_code, short_code
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import stations as kept_stations
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import club_by_id
from settingsdesk.store.work import ClubSession, Store

WAITING_PHONES = "waiting phone"
"""What keeps the codes that phones show apart from those of stations and cards."""

STANDS_FOR = timedelta(minutes=15)
"""So long the desk's word holds for a phone that does not join."""


def new_wait() -> str:
    """What the cookie of a phone holds from which its code is worked out: 128 random bits."""
    return secrets.token_hex(16)


def shown_code(code_key: CodeKey, wait: str) -> str:
    """The code that the phone shows, for typing at the desk: nine characters, the last a check."""
    return short_code(code_key.secret, f"{WAITING_PHONES} {wait}")


def admit(session: ClubSession, code_key: CodeKey, station_id: int, typed: str) -> None:
    """Say that the phone which shows this code may join the station; once, and soon.

    Raises what is wrong with the code, ``StationClosed``, ``NotInThisClub``.
    """
    code = read_short_code(typed)
    row = kept_stations.by_id(session, station_id)
    now = utc_now()
    if row.closed_at is not None or now >= row.until:
        raise StationClosed
    mark = code_key.found_by(WAITING_PHONES, code)
    let_in = kept_stations.let_in_by_code_mark(session, mark)
    if let_in is None:
        let_in = kept_stations.StationLetIn(station_id=station_id, code_mark=mark)
        session.add(let_in)
    let_in.station_id, let_in.let_in_by = station_id, session.by
    let_in.until, let_in.used_at = now + STANDS_FOR, None
    session.flush()


def join(
    store: Store, code_key: CodeKey, wait: str, shown_name: str, before: PhoneIn | None = None
) -> PhoneIn:
    """Let the phone in that the desk has spoken for, as ``stations.let_in`` does by a code.

    Raises ``NotLetInYet``, and what that raises.
    """
    mark = code_key.found_by(WAITING_PHONES, shown_code(code_key, wait))
    with store.installation(writes=False) as session:
        row = kept_stations.let_in_by_code_mark(session, mark)
        if row is None or row.used_at is not None or utc_now() >= row.until:
            raise NotLetInYet
        if club_by_id(session, row.club_id).closed_at is not None:
            raise NotLetInYet
        club_id, station_id = row.club_id, row.station_id
    with store.work(club_id, writes=True) as session:
        _use(session, mark)
        phone = stations.let_in_at(session, station_id, shown_name, before)
    stations.leave_elsewhere(store, phone, before)
    return phone


def _use(session: ClubSession, mark: str) -> None:
    row = kept_stations.let_in_by_code_mark(session, mark)
    if row is None or row.used_at is not None:
        raise NotLetInYet
    row.used_at = utc_now()


class NotLetInYet(SettingsDeskError):
    """The desk has not spoken for this phone, or too long ago."""

    sentence = Sentence(
        "The desk has not let this phone in yet. Show the code to whoever is at the desk, and press"
        " Join after they have typed it"
    )
