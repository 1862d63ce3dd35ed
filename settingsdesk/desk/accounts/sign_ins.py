"""Who is signed in, on which device: from a password that was right until signing out there."""

import contextlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy.orm import Session

from settingsdesk.desk.accounts.roles import Role
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import sign_ins as kept_sign_ins
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import (
    Club,
    Membership,
    Revision,
    account_by_id,
    club_by_id,
    clubs_open_to,
)
from settingsdesk.store.errors import DeskIsBusy, NoRoomLeft, NotInThisClub
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store

LONGEST = timedelta(days=30)
"""After so long somebody signs in again even when coming by every day."""
LONGEST_UNSEEN = timedelta(days=7)
"""After so long without a visit too, whatever the browser has kept."""
SEEN_AGAIN = timedelta(minutes=15)
"""So old the moment may be at which a device was seen: not every page writes."""
LONGEST_DEVICE = 60


@dataclass(frozen=True, slots=True)
class SignedIn:
    """The person behind a request, and the club they act for."""

    account_id: int
    club_id: int
    club_name: str
    length_unit: Unit
    paper_language: str
    """The tag of the language that the club prints in."""
    sign_in_name: str
    shown_name: str
    role: Role
    stamp: str
    """What this device's cookie holds: no other device has the same."""
    revision: Revision = field(compare=False)
    """The club's, as it was when this device asked."""
    seen_at: datetime = field(compare=False)
    waits_for_code: bool = False
    """Whether the second factor is still to come: nobody is signed in before."""
    lacks_second_factor: bool = False
    """Whether the club needs one that the account has not."""
    owns_installation: bool = False
    """Whether they make and close clubs here, whatever they are in this one."""
    season_days: int | None = field(default=None, compare=False)
    """After how many days the club asks about a setting; 0 or None for no age."""
    clubs_elsewhere: int = field(default=0, compare=False)
    """For how many other clubs they may act."""


@dataclass(frozen=True, slots=True)
class Device:
    """One device on which somebody is signed in; ``is_this`` where it is the one that asks."""

    id: int
    words: str
    began_at: datetime
    seen_at: datetime
    is_this: bool


def begin(
    session: Session, membership: Membership, device: str = "", *, waits_for_code: bool = False
) -> SignedIn:
    """Sign an account in on one more device, for the club of that membership.

    With ``waits_for_code`` it counts for nothing before ``finish``.
    """
    kept_sign_ins.end_older(session, utc_now() - LONGEST)
    stamp = secrets.token_hex(16)
    row = SignIn(
        club_id=membership.club_id,
        account_id=membership.account_id,
        stamp_hash=_hash(stamp),
        device=device[:LONGEST_DEVICE],
        waits_for_code=waits_for_code,
    )
    session.add(row)
    session.flush()
    club = club_by_id(session, membership.club_id)
    return _signed_in(membership, club, stamp, row)


def waiting(session: Session, stamp: str) -> SignIn | None:
    """The sign-in of a cookie that waits for its code."""
    row = kept_sign_ins.by_stamp_hash(session, _hash(stamp))
    return row if row is not None and row.waits_for_code else None


def finish(session: Session, row: SignIn) -> SignedIn:
    """Let a sign-in count that waited for its code; the device has another stamp from now on."""
    stamp = secrets.token_hex(16)
    row.stamp_hash, row.waits_for_code = _hash(stamp), False
    account = account_by_id(session, row.account_id)
    membership = next(one for one in account.memberships if one.club_id == row.club_id)
    return _signed_in(membership, club_by_id(session, row.club_id), stamp, row)


def still_signed_in(store: Store, stamp: str) -> SignedIn | None:
    """Who is behind a device's cookie, or None where its sign-in has ended."""
    found = store.row(kept_sign_ins.OF_STAMP, stamp_hash=_hash(stamp))
    now = utc_now()
    if found is None or found.disabled_at is not None or found.waits_for_code:
        return None
    if found.closed_at is not None:
        return None
    if now - found.began_at > LONGEST or now - found.seen_at > LONGEST_UNSEEN:
        return None
    return SignedIn(
        account_id=found.account_id,
        club_id=found.club_id,
        club_name=found.club_name,
        length_unit=Unit(found.length_unit),
        paper_language=found.paper_language,
        sign_in_name=found.sign_in_name,
        shown_name=found.shown_name,
        role=Role(found.role),
        stamp=stamp,
        revision=Revision.of(found),
        seen_at=found.seen_at,
        lacks_second_factor=found.second_factor_needed and found.second_factor_salt is None,
        owns_installation=found.owns_installation,
        season_days=found.season_days,
        clubs_elsewhere=found.clubs_elsewhere,
    )


def note_visit(store: Store, signed_in: SignedIn) -> None:
    """Note that the device was seen, where that is not noted for just now.

    It is of no weight: where the desk is busy or full, the next page does it.
    """
    if utc_now() - signed_in.seen_at < SEEN_AGAIN:
        return
    with (
        contextlib.suppress(DeskIsBusy, NoRoomLeft),
        store.installation(writes=True) as session,
    ):
        kept_sign_ins.was_seen(session, _hash(signed_in.stamp), utc_now())


def sign_out(store: Store, stamp: str) -> None:
    """End the sign-in of one device, for every copy of its cookie too (ASVS 5.0.0, 7.4.1)."""
    with store.installation(writes=True) as session:
        kept_sign_ins.end_one(session, _hash(stamp))


def devices(store: Store, signed_in: SignedIn) -> list[Device]:
    """Every device on which the account is signed in, the last seen first."""
    with store.installation(writes=False) as session:
        rows = kept_sign_ins.of_account(session, signed_in.account_id)
    return as_devices(rows, signed_in.stamp)


def as_devices(rows: Sequence[SignIn], stamp: str) -> list[Device]:
    """Rows as they are shown to whom that stamp belongs."""
    here = _hash(stamp)
    return [
        Device(row.id, row.device, row.began_at, row.seen_at, row.stamp_hash == here)
        for row in rows
    ]


def end_device(store: Store, signed_in: SignedIn, sign_in_id: int) -> None:
    """End one sign-in of one's own; ``NotInThisClub`` where it is nobody's or another's."""
    with store.installation(writes=True) as session:
        row = session.get(SignIn, sign_in_id)
        if row is None or row.account_id != signed_in.account_id:
            raise NotInThisClub(SignIn.spoken(), sign_in_id)
        session.delete(row)


def other_clubs(store: Store, signed_in: SignedIn) -> list[tuple[int, str]]:
    """The number and name of every other club that the account may act for."""
    with store.installation(writes=False) as session:
        return [
            (club.id, club.name)
            for club in clubs_open_to(session, signed_in.account_id)
            if club.id != signed_in.club_id
        ]


def act_for(store: Store, signed_in: SignedIn, club_id: int) -> None:
    """Act for another club on this device from now on; ``NotInThisClub`` where one may not."""
    with store.installation(writes=True) as session:
        if club_id not in {club.id for club in clubs_open_to(session, signed_in.account_id)}:
            raise NotInThisClub(Club.spoken(), club_id)
        row = kept_sign_ins.by_stamp_hash(session, _hash(signed_in.stamp))
        if row is not None:
            row.club_id = club_id


def _hash(stamp: str) -> str:
    return sha256(stamp.encode()).hexdigest()


def _signed_in(membership: Membership, club: Club, stamp: str, row: SignIn) -> SignedIn:
    account = membership.account
    return SignedIn(
        account_id=account.id,
        club_id=club.id,
        club_name=club.name,
        length_unit=Unit(club.length_unit),
        paper_language=club.paper_language,
        sign_in_name=account.sign_in_name,
        shown_name=membership.shown_name,
        role=Role(membership.role),
        stamp=stamp,
        revision=Revision.of(club),
        seen_at=row.seen_at,
        waits_for_code=row.waits_for_code,
        lacks_second_factor=club.second_factor_needed and account.second_factor_salt is None,
        owns_installation=account.owns_installation,
        season_days=club.season_days,
    )
