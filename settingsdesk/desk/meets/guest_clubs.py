"""Guests of a meet on the same desk: a club is invited by a link that works once, and says yes.

Whoever coaches there says yes: neither club finds out what other clubs are here. The moment in
which the guest says yes is the only one that is about two clubs at once.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.clock import day_after
from settingsdesk.desk.meets import meets as desk_meets
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.squad.athletes import must_be_printable
from settingsdesk.domain.base.codes import card_code, code_hash
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import so_many
from settingsdesk.store import guest_clubs as kept
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import club_by_id
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.guest_clubs import MeetAway, MeetDelivery, MeetGuest
from settingsdesk.store.work import ClubSession, Store

OPEN_FOR = timedelta(days=14)
"""So long a link waits for the guest, but not after the meet."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """What came at one press: athletes that were new, settings, and places left open."""

    at: datetime
    in_words: str


@dataclass(frozen=True, slots=True)
class GuestClub:
    """A club that the host has invited; ``code`` opens its link while nobody has used it."""

    id: int
    entered_as: str
    code: str
    until: datetime
    accepted_at: datetime | None
    ended_at: datetime | None
    deliveries: tuple[Delivery, ...]


@dataclass(frozen=True, slots=True)
class Offered:
    """What a link is for: whose meet, and under which name the club would be entered."""

    host_name: str
    facts: MeetFacts
    entered_as: str


@dataclass(frozen=True, slots=True)
class Away:
    """A meet elsewhere that this club enters for from here."""

    id: int
    host_id: int
    guest: int
    host_name: str
    meet_name: str
    ends_on: date


def invite(session: ClubSession, secret: bytes, meet_id: int, entered_as: str) -> str:
    """Invite a club to the host's meet; the code of its link.

    ``entered_as`` is the club's name among the entries: what it entered by files stays the same
    club's. ``GuestUnnamed``, ``NameTooLong``, ``NameNotPrintable``, ``NotInThisClub``,
    ``MeetIsOver``.
    """
    named = " ".join(entered_as.split())
    if not named:
        raise GuestUnnamed
    must_be_printable(named)
    facts = desk_meets.announced(session, meet_id)
    made_at = utc_now()
    over = day_after(facts.ends_on)
    if over <= made_at:
        raise MeetIsOver(facts.name)
    row = MeetGuest(
        meet_id=meet_id,
        entered_as=named,
        code_hash="",
        made_at=made_at,
        made_by=session.by,
        until=min(made_at + OPEN_FOR, over),
    )
    session.add(row)
    session.flush()
    code = _code(secret, row)
    row.code_hash = code_hash(code)
    session.flush()
    return code


def guest_clubs(session: ClubSession, secret: bytes, meet_id: int) -> list[GuestClub]:
    """Every club that was invited to the host's meet, and what came from it when."""
    return [
        GuestClub(
            row.id,
            row.entered_as,
            _code(secret, row) if _waits(row) else "",
            row.until,
            row.accepted_at,
            row.ended_at,
            tuple(_delivery(one) for one in row.deliveries),
        )
        for row in kept.of_meet(session, meet_id)
    ]


def end(session: ClubSession, meet_id: int, guest: int) -> str:
    """Take an invitation back, or let a club hand over no more; its entries stay. Its name.

    ``NotInThisClub``.
    """
    row = kept.by_id(session, guest)
    if row.meet_id != meet_id:
        raise NotInThisClub(MeetGuest.spoken(), guest)
    if row.ended_at is None:
        row.ended_at = utc_now()
    return row.entered_as


def offered(store: Store, code: str) -> Offered:
    """What a link is for; ``NoSuchGuestLink`` where it is used, taken back, over or none."""
    host_id, guest, host_name = _of_link(store, code)
    with store.work(host_id, writes=False) as session:
        row = kept.by_id(session, guest)
        return Offered(host_name, desk_meets.announced(session, row.meet_id), row.entered_as)


def accept(store: Store, code: str, who: SignedIn) -> int:
    """Say yes for the club that one acts for; the number of the meet elsewhere.

    ``NoSuchGuestLink``, ``OwnMeet``.
    """
    offer = offered(store, code)
    with store.installation(writes=True) as session:
        row = kept.by_code_hash(session, _hashed(code))
        if row is None or not _waits(row):
            raise NoSuchGuestLink
        if row.club_id == who.club_id:
            raise OwnMeet
        row.guest_club, row.accepted_at = who.club_id, utc_now()
        away_row = MeetAway(
            club_id=who.club_id,
            host_club=row.club_id,
            meet_guest=row.id,
            host_name=offer.host_name,
            meet_name=offer.facts.name,
            ends_on=offer.facts.ends_on,
        )
        session.add(away_row)
        session.flush()
        return away_row.id


def all_away(session: ClubSession) -> list[Away]:
    """The meets elsewhere that this club enters for from here, the latest first."""
    return [away_of(row) for row in kept.all_away(session)]


def away(session: ClubSession, meet_away_id: int) -> Away:
    """One of them; ``NotInThisClub``."""
    return away_of(kept.away(session, meet_away_id))


def _of_link(store: Store, code: str) -> tuple[int, int, str]:
    """The host, the number of the guest there, and the host's name."""
    with store.installation(writes=False) as session:
        row = kept.by_code_hash(session, _hashed(code))
        if row is None or not _waits(row):
            raise NoSuchGuestLink
        host = club_by_id(session, row.club_id)
        if host.closed_at is not None:
            raise NoSuchGuestLink
        return row.club_id, row.id, host.name


def _waits(row: MeetGuest) -> bool:
    return row.accepted_at is None and row.ended_at is None and utc_now() < row.until


def _hashed(code: str) -> str:
    return code_hash(code.strip().upper())


def _code(secret: bytes, row: MeetGuest) -> str:
    """128 bits that nobody works out without the installation's key."""
    return card_code(secret, f"meet guest/{row.club_id}/{row.id}/{row.made_at.timestamp()}")


def away_of(row: MeetAway) -> Away:
    """A kept row as such a meet."""
    return Away(row.id, row.host_club, row.meet_guest, row.host_name, row.meet_name, row.ends_on)


def _delivery(row: MeetDelivery) -> Delivery:
    left = f", {so_many(row.left_out, 'place')} to settle" if row.left_out else ""
    new, settings = so_many(row.entered, "new athlete"), so_many(row.settings, "setting")
    return Delivery(row.at, f"{new}, {settings}{left}")


class GuestUnnamed(SettingsDeskError):
    """A club was invited under no name."""

    sentence = "Enter the club's name as it stands in the entries"


class MeetIsOver(SettingsDeskError):
    """A club was to be invited to a meet of days before."""

    def __init__(self, meet: str) -> None:
        self.meet = meet

    def __str__(self) -> str:
        return f"{self.meet} is over: if it is still to come, put its days right first"


class NoSuchGuestLink(SettingsDeskError):
    """A link that opens nothing: never made, used, taken back or over (a page answers 404)."""

    sentence = (
        "No invitation to a meet has this address, or it was used or has ended. Compare it with the"
        " message that it came in, or ask the host for another one"
    )


class OwnMeet(SettingsDeskError):
    """The host opened its own link."""

    sentence = "This is your own club's meet: send the link to the guest, or switch to that club"
