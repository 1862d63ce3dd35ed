"""Coaches' accounts: signing in, being added, changing the password, ending all sessions."""

import logging
import secrets
from dataclasses import dataclass

from sqlalchemy.orm import Session

from settingsdesk.desk import passwords
from settingsdesk.domain.errors import SettingsDeskError
from settingsdesk.domain.figures import Unit
from settingsdesk.store.clubs import (
    Coach,
    club_by_id,
    coach_by_id,
    coach_by_sign_in_name,
    sign_in_key,
)
from settingsdesk.store.work import Store

OUR_NAME = "settingsdesk"

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class SignedIn:
    """The coach behind a request and the club they work for."""

    coach_id: int
    club_id: int
    club_name: str
    length_unit: Unit
    sign_in_name: str
    shown_name: str
    session_stamp: str


class SignInNameTaken(SettingsDeskError):
    """Another coach of this installation signs in by that name."""

    def __init__(self, sign_in_name: str):
        self.sign_in_name = sign_in_name

    def __str__(self) -> str:
        return f"Somebody signs in as '{self.sign_in_name}' already; choose another sign-in name"


class NoSuchCoach(SettingsDeskError):
    """Nobody signs in by that name."""

    def __init__(self, sign_in_name: str):
        self.sign_in_name = sign_in_name

    def __str__(self) -> str:
        return f"Nobody signs in as '{self.sign_in_name}' here; compare the spelling"


class OldPasswordNotRight(SettingsDeskError):
    """The present password, asked for before it is changed, was not right."""

    def __str__(self) -> str:
        return "The present password is not right; nothing was changed. Type it again"


class CoachGone(SettingsDeskError):
    """The account was removed while somebody was signed in with it."""

    def __str__(self) -> str:
        return "This account is no longer there. Ask another coach of the club"


def check_password(store: Store, sign_in_name: str, password: str) -> SignedIn | None:
    """Who signs in, or None. An unknown name takes as long as a wrong password."""
    with store.installation(writes=False) as session:
        coach = coach_by_sign_in_name(session, sign_in_name)
        known = _signed_in(session, coach) if coach else None
    if not passwords.matches(coach.password_hash if coach else None, password):
        log.warning("sign-in refused")
        return None
    if coach and passwords.is_outdated(coach.password_hash):
        kept = passwords.keep(password)
        with store.installation(writes=True) as session:
            _coach(session, coach.id).password_hash = kept
    log.info("coach %s signed in", coach.id if coach else None)
    return known


def still_signed_in(store: Store, coach_id: int, session_stamp: str) -> SignedIn | None:
    """The coach of a session, or None where it has been ended or the coach is gone."""
    with store.installation(writes=False) as session:
        coach = coach_by_id(session, coach_id)
        if coach is None or not secrets.compare_digest(coach.session_stamp, session_stamp):
            return None
        return _signed_in(session, coach)


def add_coach(store: Store, club_id: int, sign_in_name: str, shown_name: str, password: str) -> int:
    """Let somebody sign in for the club; gives the coach's number.

    Raises ``SignInNameTaken``, ``PasswordNotAccepted``, or ``NotInThisClub`` for an unknown club.
    """
    with store.installation(writes=False) as session:
        club_name = club_by_id(session, club_id).name
    passwords.accept(password, [OUR_NAME, club_name, sign_in_name, shown_name])
    kept = passwords.keep(password)
    with store.installation(writes=True) as session:
        if coach_by_sign_in_name(session, sign_in_name):
            raise SignInNameTaken(sign_in_key(sign_in_name))
        coach = Coach(
            club_id=club_id,
            sign_in_name=sign_in_name,
            shown_name=shown_name,
            password_hash=kept,
            session_stamp=_new_stamp(),
        )
        session.add(coach)
        session.flush()
        return coach.id


def change_password(store: Store, coach: SignedIn, present: str, new: str) -> SignedIn:
    """Change it and end every session but the one that goes on with what is given back.

    Raises ``OldPasswordNotRight``, ``PasswordNotAccepted``, ``CoachGone``.
    """
    if check_password(store, coach.sign_in_name, present) is None:
        raise OldPasswordNotRight
    passwords.accept(new, [OUR_NAME, coach.club_name, coach.sign_in_name, coach.shown_name])
    kept = passwords.keep(new)
    with store.installation(writes=True) as session:
        row = _coach(session, coach.coach_id)
        row.password_hash, row.session_stamp = kept, _new_stamp()
        return _signed_in(session, row)


def set_password(store: Store, sign_in_name: str, new: str) -> None:
    """Give a coach who lost the old one a new password, and end every session of theirs.

    For whoever runs the installation. Raises ``NoSuchCoach``, ``PasswordNotAccepted``.
    """
    with store.installation(writes=False) as session:
        coach = coach_by_sign_in_name(session, sign_in_name)
        if coach is None:
            raise NoSuchCoach(sign_in_name)
        names = [OUR_NAME, coach.sign_in_name, coach.shown_name]
    passwords.accept(new, names)
    kept = passwords.keep(new)
    with store.installation(writes=True) as session:
        row = _coach(session, coach.id)
        row.password_hash, row.session_stamp = kept, _new_stamp()


def end_sessions(store: Store, coach_id: int) -> None:
    """End every session of the coach, on all devices. Raises ``CoachGone``."""
    with store.installation(writes=True) as session:
        _coach(session, coach_id).session_stamp = _new_stamp()


def _coach(session: Session, coach_id: int) -> Coach:
    coach = coach_by_id(session, coach_id)
    if coach is None:
        raise CoachGone
    return coach


def _new_stamp() -> str:
    return secrets.token_hex(16)


def _signed_in(session: Session, coach: Coach) -> SignedIn:
    club = club_by_id(session, coach.club_id)
    return SignedIn(
        coach_id=coach.id,
        club_id=club.id,
        club_name=club.name,
        length_unit=Unit(club.length_unit),
        sign_in_name=coach.sign_in_name,
        shown_name=coach.shown_name,
        session_stamp=coach.session_stamp,
    )
