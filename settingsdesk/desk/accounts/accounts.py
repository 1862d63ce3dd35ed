"""Coaches' accounts: signing in, being added, changing the password."""

import logging

from settingsdesk.desk.accounts import passwords, sign_ins
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.clubs import (
    Coach,
    club_by_id,
    coach_by_id,
    coach_by_sign_in_name,
    sign_in_key,
)
from settingsdesk.store.sign_ins import end_all
from settingsdesk.store.work import Store

OUR_NAME = "settingsdesk"

log = logging.getLogger(__name__)


class CoachUnnamed(SettingsDeskError):
    """A coach was given no name to sign in with, or none that others see."""

    sentence = "Give the coach a sign-in name and a name that others see"


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

    sentence = "The present password is not right; nothing was changed. Type it again"


def sign_in(store: Store, sign_in_name: str, password: str) -> SignedIn | None:
    """Who signs in, or None. An unknown name takes as long as a wrong password."""
    coach = _known(store, sign_in_name, password)
    if coach is None:
        return None
    outdated = passwords.is_outdated(coach.password_hash)
    kept = passwords.keep(password) if outdated else coach.password_hash
    with store.installation(writes=True) as session:
        row = coach_by_id(session, coach.id)
        if row.password_hash != coach.password_hash:
            return None  # changed since it was compared, and every device signed out
        row.password_hash = kept
        log.info("coach %s signed in", row.id)
        return sign_ins.begin(session, row)


def add_coach(store: Store, club_id: int, sign_in_name: str, shown_name: str, password: str) -> int:
    """Let somebody sign in for the club; gives the coach's number.

    Raises ``CoachUnnamed``, ``SignInNameTaken``, ``PasswordNotAccepted``, or ``NotInThisClub`` for
    an unknown club.
    """
    if not sign_in_name.strip() or not shown_name.strip():
        raise CoachUnnamed
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
            shown_name=shown_name.strip(),
            password_hash=kept,
        )
        session.add(coach)
        session.flush()
        return coach.id


def change_password(store: Store, coach: SignedIn, present: str, new: str) -> SignedIn:
    """Change it and sign out on every device but the one that goes on with what is given back.

    Raises ``OldPasswordNotRight``, ``PasswordNotAccepted``.
    """
    known = _known(store, coach.sign_in_name, present)
    if known is None:
        raise OldPasswordNotRight
    passwords.accept(new, [OUR_NAME, coach.club_name, coach.sign_in_name, coach.shown_name])
    kept = passwords.keep(new)
    with store.installation(writes=True) as session:
        row = coach_by_id(session, coach.coach_id)
        if row.password_hash != known.password_hash:
            raise OldPasswordNotRight
        row.password_hash = kept
        end_all(session, row.id)
        return sign_ins.begin(session, row)


def set_password(store: Store, sign_in_name: str, new: str) -> None:
    """Give a coach who lost the old one a new password, and sign them out on every device.

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
        coach_by_id(session, coach.id).password_hash = kept
        end_all(session, coach.id)


def _known(store: Store, sign_in_name: str, password: str) -> Coach | None:
    """The coach whose password that is. A refusal is logged without what was typed."""
    with store.installation(writes=False) as session:
        coach = coach_by_sign_in_name(session, sign_in_name)
    if not passwords.matches(coach.password_hash if coach else None, password):
        log.warning("sign-in refused")
        return None
    return coach
