"""Who may sign in for a club, as its owners see and change it."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from settingsdesk.desk.accounts.accounts import NoSuchAccount
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import Device, SignedIn, as_devices
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import sign_ins as kept_sign_ins
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import Membership, membership_by_id, memberships_of_club, sign_in_key
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may sign in for the club; ``devices`` are those on which they act for it."""

    id: int
    account_id: int
    sign_in_name: str
    shown_name: str
    role: Role
    disabled_at: datetime | None
    has_second_factor: bool
    devices: tuple[Device, ...]
    is_oneself: bool

    @property
    def seen_at(self) -> datetime | None:
        """When they were here last; None where they are signed in nowhere."""
        return max((device.seen_at for device in self.devices), default=None)


class LastOwner(SettingsDeskError):
    """The only owner of a club was to be none any more."""

    def __init__(self, shown_name: str):
        self.shown_name = shown_name

    def __str__(self) -> str:
        return (
            f"{self.shown_name} is the only owner: somebody has to say who may sign in."
            " Make somebody else an owner first"
        )


def people(store: Store, reader: SignedIn) -> list[Person]:
    """Everybody of the reader's club in order of their names."""
    return people_of(store, reader.club_id, reader)


def people_of(store: Store, club_id: int, reader: SignedIn | None = None) -> list[Person]:
    """Everybody of a club; without a reader, for whoever runs the installation."""
    with store.installation(writes=False) as session:
        rows = memberships_of_club(session, club_id)
        signed_in = kept_sign_ins.of_club(session, club_id)
    return [
        _person(row, [one for one in signed_in if one.account_id == row.account_id], reader)
        for row in rows
    ]


def membership_named(store: Store, club_id: int, sign_in_name: str) -> int:
    """What somebody is in a club, by their sign-in name; ``NoSuchAccount``."""
    with store.installation(writes=False) as session:
        for row in memberships_of_club(session, club_id):
            if row.account.sign_in_name == sign_in_key(sign_in_name):
                return row.id
    raise NoSuchAccount(sign_in_name)


def person(store: Store, reader: SignedIn, membership_id: int) -> Person:
    """One of them; ``NotInThisClub``."""
    with store.installation(writes=False) as session:
        row = membership_by_id(session, reader.club_id, membership_id)
        signed_in = kept_sign_ins.of_club(session, reader.club_id)
    return _person(row, [one for one in signed_in if one.account_id == row.account_id], reader)


def set_role(store: Store, club_id: int, membership_id: int, role: Role) -> None:
    """Change what somebody is, from their next page on. ``LastOwner``, ``NotInThisClub``."""
    with _one(store, club_id, membership_id) as (session, row):
        if role is not Role.OWNER:
            _must_leave_an_owner(session, row)
        row.role = role.value


def disable(store: Store, club_id: int, membership_id: int) -> None:
    """Let somebody sign in for the club no more, and sign them out of it on every device at once.

    ``LastOwner``, ``NotInThisClub``.
    """
    with _one(store, club_id, membership_id) as (session, row):
        _must_leave_an_owner(session, row)
        if row.disabled_at is None:
            row.disabled_at = utc_now()
        kept_sign_ins.end_all(session, row.account_id, club_id=club_id)


def enable(store: Store, club_id: int, membership_id: int) -> None:
    """Let somebody sign in again, with the password they had. ``NotInThisClub``."""
    with _one(store, club_id, membership_id) as (_, row):
        row.disabled_at = None


def end_device(store: Store, club_id: int, sign_in_id: int) -> int:
    """End one sign-in of the club; the number of the person. ``NotInThisClub``."""
    with store.installation(writes=True) as session:
        row = session.get(SignIn, sign_in_id)
        if row is None or row.club_id != club_id:
            raise NotInThisClub(SignIn.spoken(), sign_in_id)
        session.delete(row)
        everybody = memberships_of_club(session, club_id)
        return next(one.id for one in everybody if one.account_id == row.account_id)


@contextmanager
def _one(store: Store, club_id: int, membership_id: int) -> Iterator[tuple[Session, Membership]]:
    with store.installation(writes=True) as session:
        yield session, membership_by_id(session, club_id, membership_id)


def _must_leave_an_owner(session: Session, row: Membership) -> None:
    """Raise ``LastOwner`` where nobody else of the club who may sign in is one."""
    owners = {
        one.id
        for one in memberships_of_club(session, row.club_id)
        if Role(one.role) is Role.OWNER and one.disabled_at is None
    }
    if owners == {row.id}:
        raise LastOwner(row.shown_name)


def _person(row: Membership, signed_in: list[SignIn], reader: SignedIn | None) -> Person:
    return Person(
        id=row.id,
        account_id=row.account_id,
        sign_in_name=row.account.sign_in_name,
        shown_name=row.shown_name,
        role=Role(row.role),
        disabled_at=row.disabled_at,
        has_second_factor=row.account.second_factor_salt is not None,
        devices=tuple(as_devices(signed_in, reader.stamp if reader else "")),
        is_oneself=reader is not None and row.account_id == reader.account_id,
    )
