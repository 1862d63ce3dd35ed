"""Who is signed in, on which device: from a password that was right until signing out there."""

import secrets
from dataclasses import dataclass, field
from datetime import timedelta
from hashlib import sha256

from sqlalchemy.orm import Session

from settingsdesk.domain.base.units import Unit
from settingsdesk.store import sign_ins as kept_sign_ins
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import Club, Coach, Revision, club_by_id
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store

LONGEST = timedelta(days=30)
"""After so long a coach signs in again even when coming by every day."""


@dataclass(frozen=True, slots=True)
class SignedIn:
    """The coach behind a request and the club they work for."""

    coach_id: int
    club_id: int
    club_name: str
    length_unit: Unit
    sign_in_name: str
    shown_name: str
    stamp: str
    """What this device's cookie holds: no other device has the same."""
    revision: Revision = field(compare=False)
    """The club's, as it was when this device asked."""


def begin(session: Session, coach: Coach) -> SignedIn:
    """Sign the coach in on one more device."""
    kept_sign_ins.end_older(session, utc_now() - LONGEST)
    stamp = secrets.token_hex(16)
    session.add(SignIn(club_id=coach.club_id, coach_id=coach.id, stamp_hash=_hash(stamp)))
    return _signed_in(coach, club_by_id(session, coach.club_id), stamp)


def still_signed_in(store: Store, stamp: str) -> SignedIn | None:
    """The coach of a device's cookie, or None where its sign-in has ended."""
    found = store.row(kept_sign_ins.OF_STAMP, stamp_hash=_hash(stamp))
    if found is None or utc_now() - found.began_at > LONGEST:
        return None
    return SignedIn(
        coach_id=found.coach_id,
        club_id=found.club_id,
        club_name=found.club_name,
        length_unit=Unit(found.length_unit),
        sign_in_name=found.sign_in_name,
        shown_name=found.shown_name,
        stamp=stamp,
        revision=Revision.of(found),
    )


def sign_out(store: Store, stamp: str) -> None:
    """End the sign-in of one device, for every copy of its cookie too (ASVS 5.0.0, 7.4.1)."""
    with store.installation(writes=True) as session:
        kept_sign_ins.end_one(session, _hash(stamp))


def _hash(stamp: str) -> str:
    return sha256(stamp.encode()).hexdigest()


def _signed_in(coach: Coach, club: Club, stamp: str) -> SignedIn:
    return SignedIn(
        coach_id=coach.id,
        club_id=club.id,
        club_name=club.name,
        length_unit=Unit(club.length_unit),
        sign_in_name=coach.sign_in_name,
        shown_name=coach.shown_name,
        stamp=stamp,
        revision=Revision.of(club),
    )
