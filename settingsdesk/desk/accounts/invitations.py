"""Links by which people get an account of a club, or a new password; nobody else learns either.

A link's code is worked out from the installation's key, so that an owner can look at it again
until it was used; the database holds nothing that opens it.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from settingsdesk.desk.accounts import passwords, sign_ins
from settingsdesk.desk.accounts.accounts import OUR_NAME, CoachUnnamed, new_account, new_password
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.domain.base.codes import card_code, code_hash
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import invitations as kept_invitations
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import (
    Membership,
    account_by_id,
    club_by_id,
    membership_by_id,
    open_memberships,
)
from settingsdesk.store.invitations import Invitation
from settingsdesk.store.sign_ins import end_all
from settingsdesk.store.work import ClubSession, Store

OPEN_FOR = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Invited:
    """What a link is for; ``sign_in_name`` only where it is for a new password."""

    id: int
    code: str
    club_name: str
    role: Role
    shown_name: str
    sign_in_name: str
    made_by: str
    until: datetime


class InvitationOver(SettingsDeskError):
    """A link that was used, taken back, has ended, or is of a closed club (a page answers 410)."""

    sentence = (
        "This link works once, for seven days, and it was used or has ended. Ask an owner of the"
        " club for another one"
    )


class NoSuchInvitation(SettingsDeskError):
    """No link has that code (a page answers 404)."""

    sentence = "No link has this address. Compare it with the message that it came in"


class ActsElsewhere(SettingsDeskError):
    """A new password for an account that acts for another club too is no single club's matter."""

    def __init__(self, shown_name: str):
        self.shown_name = shown_name

    def __str__(self) -> str:
        return (
            f"{self.shown_name} signs in for another club on this desk too. Whoever looks after the"
            " installation gives the new password: settingsdesk coach password"
        )


class MemberAlready(SettingsDeskError):
    """Somebody was to join a club that they are in."""

    sentence = "You are in this club already. Sign out first, if the link is for somebody else"


def invite(session: ClubSession, secret: bytes, role: Role, shown_name: str) -> str:
    """Invite somebody into the club; the code of their link. ``CoachUnnamed`` without a name."""
    if not shown_name.strip():
        raise CoachUnnamed
    return _keep(session, secret, session.club_id, session.by, role, shown_name.strip())


def offer_new_password(store: Store, secret: bytes, owner: SignedIn, membership_id: int) -> str:
    """A link by which somebody who lost their password chooses a new one; its code.

    ``NotInThisClub``, ``ActsElsewhere``.
    """
    with store.installation(writes=True) as session:
        row = membership_by_id(session, owner.club_id, membership_id)
        if len(row.account.memberships) > 1:
            raise ActsElsewhere(row.shown_name)
        role = Role(row.role)
        return _keep(session, secret, owner.club_id, owner.shown_name, role, row.shown_name, row.id)


def waiting(session: ClubSession, secret: bytes) -> list[Invited]:
    """The links of the club that nobody has used yet, the newest first."""
    club_name = club_by_id(session, session.club_id).name
    return [
        _read(row, _code(secret, row), club_name)
        for row in kept_invitations.waiting(session, utc_now())
    ]


def take_back(session: ClubSession, invitation_id: int) -> None:
    """End a link now; ``NotInThisClub``."""
    kept_invitations.by_id(session, invitation_id).until = utc_now()


def look(store: Store, code: str) -> Invited:
    """What a link is for; ``InvitationOver``, ``NoSuchInvitation``."""
    with store.installation(writes=False) as session:
        row = _open(session, code)
        name = ""
        if row.membership_id is not None:
            member = membership_by_id(session, row.club_id, row.membership_id)
            name = member.account.sign_in_name
        return _read(row, code, club_by_id(session, row.club_id).name, name)


def accept(store: Store, code: str, sign_in_name: str, password: str, device: str = "") -> SignedIn:
    """Use a link: make the account, or give it its new password, and sign in on this device.

    Who has a second factor is about to sign in only.

    ``sign_in_name`` counts for a new account only. Raises what ``look`` raises, and
    ``CoachUnnamed``, ``SignInNameTaken``, ``PasswordNotAccepted``: the link can be used again then.
    """
    invited = look(store, code)
    if invited.sign_in_name:
        return _with_new_password(store, code, password, device)
    if not sign_in_name.strip():
        raise CoachUnnamed
    passwords.accept(password, [OUR_NAME, invited.club_name, sign_in_name, invited.shown_name])
    kept = passwords.keep(password)
    with store.installation(writes=True) as session:
        row = _used(session, code)
        role = Role(row.role)
        member = new_account(session, row.club_id, sign_in_name, row.shown_name, kept, role)
        row.membership_id = member.id
        return sign_ins.begin(session, member, device)


def join(store: Store, code: str, signed_in: SignedIn, device: str = "") -> SignedIn:
    """Use a link with the account that one has already, and act for that club on this device.

    Raises what ``look`` raises, and ``MemberAlready``.
    """
    with store.installation(writes=True) as session:
        row = _used(session, code)
        account = account_by_id(session, signed_in.account_id)
        if row.membership_id or any(one.club_id == row.club_id for one in account.memberships):
            raise MemberAlready
        member = Membership(
            club_id=row.club_id, account=account, role=row.role, shown_name=row.shown_name
        )
        session.add(member)
        session.flush()
        row.membership_id = member.id
        return sign_ins.begin(session, member, device)


def _with_new_password(store: Store, code: str, password: str, device: str) -> SignedIn:
    with store.installation(writes=False) as session:
        row = _open(session, code)
        account_id = membership_by_id(session, row.club_id, row.membership_id or 0).account_id
    kept = new_password(store, account_id, password)
    with store.installation(writes=True) as session:
        row = _used(session, code)
        members = open_memberships(session, account_id)
        acting = next((one for one in members if one.club_id == row.club_id), None)
        if acting is None:
            raise InvitationOver  # disabled since it was made
        account = account_by_id(session, account_id)
        account.password_hash = kept
        end_all(session, account_id)
        waits = account.second_factor_salt is not None
        return sign_ins.begin(session, acting, device, waits_for_code=waits)


def _keep(
    session: Session,
    secret: bytes,
    club_id: int,
    by: str,
    role: Role,
    shown_name: str,
    membership_id: int | None = None,
) -> str:
    made_at = utc_now()
    row = Invitation(
        club_id=club_id,
        role=role.value,
        shown_name=shown_name,
        code_hash="",
        made_at=made_at,
        made_by=by,
        until=made_at + OPEN_FOR,
        membership_id=membership_id,
    )
    session.add(row)
    session.flush()
    code = _code(secret, row)
    row.code_hash = code_hash(code)
    session.flush()
    return code


def _code(secret: bytes, row: Invitation) -> str:
    """128 bits that nobody works out without the installation's key."""
    return card_code(secret, f"invitation/{row.club_id}/{row.id}/{row.made_at.timestamp()}")


def _open(session: Session, code: str) -> Invitation:
    row = kept_invitations.by_code_hash(session, code_hash(code.strip().upper()))
    if row is None:
        raise NoSuchInvitation
    if row.used_at is not None or utc_now() >= row.until:
        raise InvitationOver
    if club_by_id(session, row.club_id).closed_at is not None:
        raise InvitationOver
    return row


def _used(session: Session, code: str) -> Invitation:
    """The invitation, which is used up by that; whoever raises after it leaves it open."""
    row = _open(session, code)
    row.used_at = utc_now()
    return row


def _read(row: Invitation, code: str, club_name: str, sign_in_name: str = "") -> Invited:
    return Invited(
        id=row.id,
        code=code,
        club_name=club_name,
        role=Role(row.role),
        shown_name=row.shown_name,
        sign_in_name=sign_in_name,
        made_by=row.made_by,
        until=row.until,
    )
