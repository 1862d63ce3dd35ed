"""Stations: volunteers' phones at one apparatus of a meet, let in by a code and put out again.

A phone that was let in may carry out that apparatus's rotations of that session and nothing else,
until the station is closed or its time is over.
"""

import secrets
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import Enum
from hashlib import sha256
from itertools import count, islice

from sqlalchemy.orm import Session

from settingsdesk.desk.cards.code_address import STATIONS, CodeKey, is_scanned
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.meets import Meet, MeetSession
from settingsdesk.desk.squad.athletes import must_be_printable
from settingsdesk.domain.base.codes import (
    card_code,
    code_hash,
    read_short_code,
    short_code,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.happenings import AT_A_STATION
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store import stations as kept_stations
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import Revision
from settingsdesk.store.work import ClubSession, Store

USUAL_HOURS = 8
LONGEST_HOURS = 16
MOST_PHONES = 30
LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class PhoneLine:
    """One phone that was let in to a station; ``put_out_at`` is None while it may confirm."""

    id: int
    shown_name: str
    let_in_at: datetime
    put_out_at: datetime | None


@dataclass(frozen=True, slots=True)
class Station:
    """One apparatus in one session, open to phones until ``until`` unless it was closed."""

    id: int
    meet_id: int
    meet: str
    session: MeetSession
    apparatus_id: int
    piece: Piece
    opened_at: datetime
    opened_by: str
    until: datetime
    closed_at: datetime | None
    closed_by: str | None
    phones: tuple[PhoneLine, ...]

    @property
    def apparatus(self) -> str:
        """The name of its apparatus."""
        return self.piece.name

    @property
    def is_open(self) -> bool:
        """Whether phones are let in, and those that are may confirm."""
        return self.closed_at is None and utc_now() < self.until


class Out(Enum):
    """Why a phone is in at no station any more, as an address says it."""

    LEFT = "1"
    CLOSED = "closed"
    OVER = "over"
    TAKEN_OFF = "taken-off"


@dataclass(frozen=True, slots=True)
class StationCodes:
    """What lets a phone in: the address in the symbol, and the code that is typed."""

    url: str
    short_code: str


@dataclass(frozen=True, slots=True)
class PhoneIn:
    """A phone that was let in, and where it may work, at the longest until ``until``.

    ``stamp`` is what its cookie holds; ``by`` is who is on record for what it confirms.
    ``revision`` is the club's, as it was when the phone asked.
    """

    phone_id: int
    station_id: int
    club_id: int
    session_id: int
    apparatus_id: int
    until: datetime
    length_unit: Unit
    shown_name: str
    stamp: str
    revision: Revision = field(compare=False)

    @property
    def by(self) -> str:
        """Who is on record for what this phone confirms: the name as typed, and that it is one."""
        return Sentence(AT_A_STATION, name=self.shown_name)


def open_station(
    session: ClubSession,
    code_key: CodeKey,
    session_id: int,
    apparatus_id: int,
    hours: int = USUAL_HOURS,
) -> Station:
    """Open an apparatus of a session to phones; one that is open there is given back.

    ``NotOfThisMeet`` where the apparatus does not stand at that meet, ``HoursNotPossible``.
    """
    meet = desk_meets.meet_of_session(session, session_id)
    meet.piece(apparatus_id)
    if not 1 <= hours <= LONGEST_HOURS:
        raise HoursNotPossible
    for row in kept_stations.of_session(session, session_id):
        if row.apparatus_id == apparatus_id and _read(meet, row).is_open:
            return _read(meet, row)
    key = secrets.token_urlsafe(16)
    row = kept_stations.Station(
        session_id=session_id,
        apparatus_id=apparatus_id,
        key=key,
        code_hash=code_hash(_long_code(code_key, key)),
        short_code_mark=code_key.found_by(STATIONS, _short_code(code_key, key)),
        opened_by=session.by,
        opened_at=utc_now(),
        until=utc_now() + timedelta(hours=hours),
    )
    session.add(row)
    session.flush()
    return _read(meet, row)


def close(session: ClubSession, station_id: int) -> Station:
    """Close a station at once: no phone of it confirms or sees anything any more."""
    row = kept_stations.by_id(session, station_id)
    if row.closed_at is None:
        row.closed_at, row.closed_by = utc_now(), session.by
        session.flush()
    return _read(desk_meets.meet_of_session(session, row.session_id), row)


def put_out(session: ClubSession, phone_id: int) -> int:
    """Put one phone out; the number of its station."""
    row = kept_stations.phone_by_id(session, phone_id)
    if row.put_out_at is None:
        row.put_out_at = utc_now()
        session.flush()
    return row.station_id


def station(session: ClubSession, station_id: int) -> Station:
    """One station; ``NotInThisClub`` where there is none."""
    row = kept_stations.by_id(session, station_id)
    return _read(desk_meets.meet_of_session(session, row.session_id), row)


def of_session(session: ClubSession, meet: Meet, session_id: int) -> list[Station]:
    """Every station of a session of a meet, the latest opened first."""
    return [_read(meet, row) for row in kept_stations.of_session(session, session_id)]


def codes(session: ClubSession, code_key: CodeKey, station_id: int) -> StationCodes:
    """The codes of a station, to be shown or printed; ``StationClosed`` where it is not open."""
    row = kept_stations.by_id(session, station_id)
    if row.closed_at is not None or utc_now() >= row.until:
        raise StationClosed
    made_by = code_key.that_made(f"station {row.key}", row.code_hash)
    if made_by is None:
        raise StationClosed
    address = f"{code_key.public_url.rstrip('/').upper()}/S/{_long_code(made_by, row.key)}"
    return StationCodes(address, _short_code(made_by, row.key))


def let_in(
    store: Store, code_key: CodeKey, code: str, shown_name: str, before: PhoneIn | None = None
) -> PhoneIn:
    """Let a phone in by the scanned or the typed code, under the name its holder goes by.

    ``before`` is the same phone where it is in already: it leaves that station, which may be the
    same one and full, as soon as it is in; refused, it stays there. Raises what is wrong with a
    typed code, ``NoSuchStation`` where none that is open has it, ``StationIsFull``, or
    ``VolunteerUnnamed``.
    """
    club_id, station_id = find(store, code_key, code)
    with store.work(club_id, writes=True) as session:
        phone = let_in_at(session, station_id, shown_name, before)
    leave_elsewhere(store, phone, before)
    return phone


def let_in_at(
    session: ClubSession, station_id: int, shown_name: str, before: PhoneIn | None
) -> PhoneIn:
    """Let a phone in to a station of this club that has been found to be open.

    Where another phone that is in has the name already, a number tells the two apart.
    ``StationIsFull``, ``VolunteerUnnamed``.
    """
    name = " ".join(shown_name.split())
    if not name or len(name) > LONGEST_NAME:
        raise VolunteerUnnamed
    must_be_printable(name)
    row = kept_stations.by_id(session, station_id)
    if row.closed_at is not None or utc_now() >= row.until:
        raise NoSuchStation
    if before and before.club_id == session.club_id:
        put_out(session, before.phone_id)
    names = [phone.shown_name for phone in row.phones if phone.put_out_at is None]
    if len(names) >= MOST_PHONES:
        raise StationIsFull
    own, stamp = _told_apart(name, names), secrets.token_hex(16)
    row.phones.append(kept_stations.StationPhone(shown_name=own, stamp_hash=_hash(stamp)))
    session.flush()
    return _phone_in(session, row.phones[-1], stamp)


def _told_apart(name: str, others: Collection[str]) -> str:
    """The name of a phone beside those that are in, with a number where one of them has it.

    What two phones of one name confirm would stand on record as one person's, and a check by the
    second would be refused as by whoever set it.
    """
    taken = {other.casefold() for other in others}
    numbered = (f"{name[: LONGEST_NAME - 3].rstrip()} {number}" for number in count(2))
    return next(one for one in (name, *islice(numbered, len(taken))) if one.casefold() not in taken)


def leave_elsewhere(store: Store, phone: PhoneIn, before: PhoneIn | None) -> None:
    """Take a phone off the other club's station that it was at before."""
    if before and before.club_id != phone.club_id:
        with store.work(before.club_id, writes=True) as session:
            put_out(session, before.phone_id)


def find(store: Store, code_key: CodeKey, code: str) -> tuple[int, int]:
    """The club and the number of the open station that a scanned or typed code is of."""
    with store.installation(writes=False) as session:
        if is_scanned(code):
            row = kept_stations.by_code_hash(session, code_hash(code.strip().upper()))
        else:
            row = _typed(session, code_key, read_short_code(code))
        if row is None or row.closed_at is not None or utc_now() >= row.until:
            raise NoSuchStation
        if kept_clubs.club_by_id(session, row.club_id).closed_at is not None:
            raise NoSuchStation
        return row.club_id, row.id


def _typed(session: Session, code_key: CodeKey, code: str) -> kept_stations.Station | None:
    for key in code_key.each():
        row = kept_stations.by_short_code_mark(session, key.found_by(STATIONS, code))
        if row is not None:
            return row
    return None


def why_out(store: Store, stamp: str) -> Out:
    """Why the phone of a cookie, which was in, is in no more."""
    row = store.row(kept_stations.OF_STAMP, stamp_hash=_hash(stamp))
    if row is None or row.put_out_at is not None:
        return Out.TAKEN_OFF
    is_closed = row.closed_at is not None or row.club_closed_at is not None
    return Out.CLOSED if is_closed else Out.OVER


def still_in(store: Store, stamp: str) -> PhoneIn | None:
    """The phone of a cookie; None once it is put out, or its station or its club is closed."""
    row = store.row(kept_stations.OF_STAMP, stamp_hash=_hash(stamp))
    if row is None or row.put_out_at is not None or row.club_closed_at is not None:
        return None
    if row.closed_at is not None or utc_now() >= row.until:
        return None
    return PhoneIn(
        phone_id=row.phone_id,
        station_id=row.station_id,
        club_id=row.club_id,
        session_id=row.session_id,
        apparatus_id=row.apparatus_id,
        until=row.until,
        length_unit=Unit(row.length_unit),
        shown_name=row.shown_name,
        stamp=stamp,
        revision=Revision.of(row),
    )


def _read(meet: Meet, row: kept_stations.Station) -> Station:
    return Station(
        id=row.id,
        meet_id=meet.id,
        meet=meet.facts.name,
        session=meet.session(row.session_id),
        apparatus_id=row.apparatus_id,
        piece=meet.piece(row.apparatus_id).piece,
        opened_at=row.opened_at,
        opened_by=row.opened_by,
        until=row.until,
        closed_at=row.closed_at,
        closed_by=row.closed_by,
        phones=tuple(
            PhoneLine(phone.id, phone.shown_name, phone.let_in_at, phone.put_out_at)
            for phone in row.phones
        ),
    )


def _phone_in(session: ClubSession, row: kept_stations.StationPhone, stamp: str) -> PhoneIn:
    club = kept_clubs.club_by_id(session, row.club_id)
    return PhoneIn(
        phone_id=row.id,
        station_id=row.station_id,
        club_id=row.club_id,
        session_id=row.station.session_id,
        apparatus_id=row.station.apparatus_id,
        until=row.station.until,
        length_unit=Unit(club.length_unit),
        shown_name=row.shown_name,
        stamp=stamp,
        revision=Revision.of(club),
    )


def _long_code(code_key: CodeKey, key: str) -> str:
    return card_code(code_key.secret, f"station {key}")


def _short_code(code_key: CodeKey, key: str) -> str:
    return short_code(code_key.secret, f"station {key}")


def _hash(stamp: str) -> str:
    return sha256(stamp.encode()).hexdigest()


class NoSuchStation(SettingsDeskError):
    """A code that lets nobody in: unknown, or of what is closed; never says which."""

    sentence = Sentence(
        "No station that is open has this code. Compare it with the sheet; if it is right, the"
        " station was closed: ask the coach in charge"
    )


class StationClosed(SettingsDeskError):
    """A station's codes were asked for that is not open any more."""

    sentence = Sentence("This station is closed: open it again, it then has a new code")


class StationIsFull(SettingsDeskError):
    """More phones than any apparatus needs."""

    def __str__(self) -> str:
        return Sentence(
            "%(most)s phones have joined this station already: ask the coach in charge to put some"
            " out, or to open it again with a new code",
            most=MOST_PHONES,
        )


class VolunteerUnnamed(SettingsDeskError):
    """A phone was to be let in under no name, or under a very long one."""

    def __str__(self) -> str:
        return Sentence(
            "Enter the name by which the others call you, at most %(most)s characters: it stands"
            " beside what you confirm",
            most=LONGEST_NAME,
        )


class HoursNotPossible(SettingsDeskError):
    """A station that would be open for no time, or for more than a day of competition."""

    def __str__(self) -> str:
        return f"A station is open for 1 to {LONGEST_HOURS} hours"
