"""Accounts: signing in, being added, changing the password."""

import logging

from sqlalchemy.orm import Session

from settingsdesk.desk.accounts import passwords, sign_ins
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.clubs import (
    Account,
    Membership,
    account_by_id,
    account_by_sign_in_name,
    club_by_id,
    in_closed_clubs,
    installation_owners,
    memberships_of_club,
    open_memberships,
    sign_in_key,
)
from settingsdesk.store.sign_ins import end_all
from settingsdesk.store.work import Store

OUR_NAME = "settingsdesk"

log = logging.getLogger(__name__)


class CoachUnnamed(SettingsDeskError):
    """Somebody was given no name to sign in with, or none that others see."""

    sentence = "Give a sign-in name and a name that others see"


class SignInNameTaken(SettingsDeskError):
    """Somebody else of this installation signs in by that name."""

    def __init__(self, sign_in_name: str):
        self.sign_in_name = sign_in_name

    def __str__(self) -> str:
        return f"Somebody signs in as '{self.sign_in_name}' already; choose another sign-in name"


class NoSuchAccount(SettingsDeskError):
    """Nobody signs in by that name."""

    def __init__(self, sign_in_name: str):
        self.sign_in_name = sign_in_name

    def __str__(self) -> str:
        return f"Nobody signs in as '{self.sign_in_name}' here; compare the spelling"


class OldPasswordNotRight(SettingsDeskError):
    """The present password, asked for before it is changed, was not right."""

    sentence = "The present password is not right; nothing was changed. Type it again"


class ClubIsClosed(SettingsDeskError):
    """The password was right, and the only club of its account is closed."""

    def __init__(self, club_name: str):
        self.club_name = club_name

    def __str__(self) -> str:
        return (
            f"{self.club_name} is closed here: nobody signs in for it. What it kept is still there;"
            " ask whoever looks after the installation to open it again"
        )


def sign_in(store: Store, sign_in_name: str, password: str, device: str = "") -> SignedIn | None:
    """Who signs in, or None; with a second factor, who is about to.

    An unknown name takes as long as a wrong password.

    None too for an account that is disabled wherever it belongs; ``ClubIsClosed`` where nothing
    but a closed club is left.
    """
    known = _known(store, sign_in_name, password)
    if known is None:
        return None
    outdated = passwords.is_outdated(known.password_hash)
    kept = passwords.keep(password) if outdated else known.password_hash
    with store.installation(writes=True) as session:
        account = account_by_id(session, known.id)
        memberships = open_memberships(session, account.id)
        if account.password_hash != known.password_hash:
            return None  # changed since it was compared, and every device signed out
        if not memberships:
            for closed in in_closed_clubs(session, account.id):
                raise ClubIsClosed(closed)
            return None
        account.password_hash = kept
        log.info("account %s signed in", account.id)
        waits = account.second_factor_salt is not None
        return sign_ins.begin(session, memberships[0], device, waits_for_code=waits)


def add_account(
    store: Store,
    club_id: int,
    sign_in_name: str,
    shown_name: str,
    password: str,
    role: Role | None = None,
) -> int:
    """Let somebody sign in for the club; gives the account's number.

    Without a role the first of a club is its owner, and everybody else a coach. The first owner of
    all owns the installation too. Raises
    ``CoachUnnamed``, ``SignInNameTaken``, ``PasswordNotAccepted``, or ``NotInThisClub`` for an
    unknown club.
    """
    if not sign_in_name.strip() or not shown_name.strip():
        raise CoachUnnamed
    with store.installation(writes=False) as session:
        club_name = club_by_id(session, club_id).name
    passwords.accept(password, [OUR_NAME, club_name, sign_in_name, shown_name])
    kept = passwords.keep(password)
    with store.installation(writes=True) as session:
        if role is None:
            role = Role.COACH if memberships_of_club(session, club_id) else Role.OWNER
        account = new_account(session, club_id, sign_in_name, shown_name, kept, role).account
        if role is Role.OWNER and not installation_owners(session):
            account.owns_installation = True
        return account.id


def new_account(
    session: Session,
    club_id: int,
    sign_in_name: str,
    shown_name: str,
    password_hash: str,
    role: Role,
) -> Membership:
    """An account and what it is in the club; ``SignInNameTaken``."""
    if account_by_sign_in_name(session, sign_in_name):
        raise SignInNameTaken(sign_in_key(sign_in_name))
    account = Account(sign_in_name=sign_in_name, password_hash=password_hash)
    membership = Membership(
        club_id=club_id, account=account, role=role.value, shown_name=shown_name.strip()
    )
    session.add(membership)
    session.flush()
    return membership


def change_password(
    store: Store, signed_in: SignedIn, present: str, new: str, device: str = ""
) -> SignedIn:
    """Change it and sign out on every device but the one that goes on with what is given back.

    Raises ``OldPasswordNotRight``, ``PasswordNotAccepted``.
    """
    known = _known(store, signed_in.sign_in_name, present)
    if known is None:
        raise OldPasswordNotRight
    kept = new_password(store, known.id, new)
    with store.installation(writes=True) as session:
        account = account_by_id(session, known.id)
        memberships = open_memberships(session, account.id)
        acting = next((one for one in memberships if one.club_id == signed_in.club_id), None)
        if account.password_hash != known.password_hash or acting is None:
            raise OldPasswordNotRight  # changed, or disabled, since it was compared
        account.password_hash = kept
        end_all(session, account.id)
        return sign_ins.begin(session, acting, device)


def set_password(store: Store, sign_in_name: str, new: str) -> None:
    """Give somebody who lost the old one a new password, and sign them out on every device.

    For whoever runs the installation. Raises ``NoSuchAccount``, ``PasswordNotAccepted``.
    """
    account_id = account_named(store, sign_in_name).id
    kept = new_password(store, account_id, new)
    with store.installation(writes=True) as session:
        account_by_id(session, account_id).password_hash = kept
        end_all(session, account_id)


def sign_out_everywhere(store: Store, sign_in_name: str) -> None:
    """End every sign-in of an account; ``NoSuchAccount``."""
    account_id = account_named(store, sign_in_name).id
    with store.installation(writes=True) as session:
        end_all(session, account_id)


def account_named(store: Store, sign_in_name: str) -> Account:
    """The account that signs in by that name; ``NoSuchAccount``."""
    with store.installation(writes=False) as session:
        account = account_by_sign_in_name(session, sign_in_name)
    if account is None:
        raise NoSuchAccount(sign_in_name)
    return account


def new_password(store: Store, account_id: int, new: str) -> str:
    """What is kept of a new password; ``PasswordNotAccepted`` where all know what it says."""
    with store.installation(writes=False) as session:
        account = account_by_id(session, account_id)
        known = [OUR_NAME, account.sign_in_name]
        for membership in account.memberships:
            known += [membership.shown_name, club_by_id(session, membership.club_id).name]
    passwords.accept(new, known)
    return passwords.keep(new)


def _known(store: Store, sign_in_name: str, password: str) -> Account | None:
    """The account whose password that is. A refusal is logged without what was typed."""
    with store.installation(writes=False) as session:
        account = account_by_sign_in_name(session, sign_in_name)
    if not passwords.matches(account.password_hash if account else None, password):
        log.warning("sign-in refused")
        return None
    return account
