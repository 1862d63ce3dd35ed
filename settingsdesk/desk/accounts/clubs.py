"""The clubs of a desk: made, closed and opened again by who owns the installation.

Owning the installation opens no club: what a club keeps is for its own people.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy.orm import Session

from settingsdesk.cards.lettering import lettered
from settingsdesk.desk.accounts import invitations
from settingsdesk.desk.accounts.accounts import NoSuchAccount
from settingsdesk.desk.accounts.invitations import Invited, MemberAlready
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import rule_books
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import so_many
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rule_books as kept_rule_books
from settingsdesk.store.base import utc_now
from settingsdesk.store.clubs import (
    Club,
    Membership,
    account_by_id,
    account_by_sign_in_name,
    all_clubs,
    club_by_id,
    installation_owners,
    memberships_of_club,
    numbers_of_people,
    sign_in_key,
    this_club,
)
from settingsdesk.store.invitations import last_invited
from settingsdesk.store.sign_ins import end_of_club
from settingsdesk.store.work import ClubSession, Store

LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class ClubLine:
    """What whoever owns the installation sees of a club, and nothing that it keeps."""

    id: int
    name: str
    people: int
    """How many may sign in for it."""
    created_at: datetime
    closed_at: datetime | None
    links: tuple[Invited, ...] = ()
    """By which its first owner comes in, where nobody has yet."""

    @property
    def people_in_words(self) -> str:
        """How many may sign in for it: "3 people"."""
        if not self.people:
            return "Nobody yet"
        return "1 person" if self.people == 1 else f"{self.people} people"


def make_club(store: Store, name: str, unit: Unit) -> int:
    """Make the desk's first club; gives its number. ``ClubUnnamed``, or ``OneClubOnly`` after it.

    ``unit`` is the one in which its people read and type lengths. ``CharacterNotInFont`` where
    cards could not carry the name.
    """
    with store.installation(writes=True) as session:
        for present in all_clubs(session):
            if not _is_half_made(session, present, name):
                raise OneClubOnly(present.name)
        return _new(session, name, unit)


def add_club(store: Store, name: str, unit: Unit, books: Path, by: str) -> int:
    """Make one more club, with the rule books of that file; gives its number.

    ``ClubUnnamed``, ``ClubNameTaken``, ``CharacterNotInFont``.
    """
    with store.installation(writes=True) as session:
        club_id = _new(session, name, unit)
    with store.work(club_id, by=by, writes=True) as session:
        rule_books.keep_shipped(session, books)
    return club_id


def rename(store: Store, session: ClubSession, name: str) -> None:
    """Another name for the club, also in its entries for meets that are not over.

    What is printed keeps the name that it was printed with. ``ClubUnnamed``, ``ClubNameTooLong``,
    ``CharacterNotInFont``, or ``ClubNameTaken`` where another club of the desk is called so.
    """
    club = this_club(session)
    before, named = club.name, _named(name)
    with store.installation(writes=False) as of_desk:
        for present in all_clubs(of_desk):
            if present.id != club.id and sign_in_key(present.name) == sign_in_key(named):
                raise ClubNameTaken(present.name)
    club.name = named
    kept_meets.enter_as(session, before, named, today())
    session.flush()


def facts(session: ClubSession) -> dict[str, str]:
    """The club's ``name``, and the ``unit`` in which it reads and types lengths."""
    club = this_club(session)
    return {"name": club.name, "unit": club.length_unit}


def read_in(session: ClubSession, unit: Unit) -> None:
    """From now on the club reads and types lengths in that unit; nothing that is kept changes."""
    this_club(session).length_unit = unit.value
    session.flush()


def invite_owner(store: Store, secret: bytes, club_id: int, by: str, shown_name: str = "") -> str:
    """A link by which the first owner of a club comes in; its code.

    Without a name it is for whom the link before was for. ``CoachUnnamed`` where there was none,
    ``ClubHasPeople`` once anybody is in, ``NotInThisClub``.
    """
    with store.installation(writes=False) as session:
        club = club_by_id(session, club_id)
        if memberships_of_club(session, club_id):
            raise ClubHasPeople(club.name)
    with store.work(club_id, by=by, writes=True) as session:
        name = shown_name or last_invited(session)
        return invitations.invite(session, secret, Role.OWNER, name)


def own_it(store: Store, club_id: int, maker: SignedIn) -> None:
    """Make who made a club its first owner. ``ClubHasPeople``, ``MemberAlready``."""
    with store.installation(writes=True) as session:
        present = memberships_of_club(session, club_id)
        if any(one.account_id == maker.account_id for one in present):
            raise MemberAlready
        if present:
            raise ClubHasPeople(club_by_id(session, club_id).name)
        account = account_by_id(session, maker.account_id)
        session.add(
            Membership(
                club_id=club_id,
                account=account,
                role=Role.OWNER.value,
                shown_name=maker.shown_name,
            )
        )


def clubs(store: Store, secret: bytes) -> list[ClubLine]:
    """Every club in order of its name, those that are closed last."""
    with store.installation(writes=False) as session:
        people = numbers_of_people(session)
        rows = sorted(all_clubs(session), key=lambda club: club.closed_at is not None)
    return [
        ClubLine(
            club.id,
            club.name,
            people.get(club.id, 0),
            club.created_at,
            club.closed_at,
            _links(store, secret, club.id) if not people.get(club.id) else (),
        )
        for club in rows
    ]


def close(store: Store, club_id: int, closer: SignedIn | None = None) -> str:
    """Close a club: nobody signs in for it, its cards, stations and links open nothing.

    Nothing is deleted, and what its time is over for goes as before (``retention``). Without a
    ``closer``, for the command line. Gives its name. ``ClosesOwnClub``, ``NotInThisClub``.
    """
    with store.installation(writes=True) as session:
        club = club_by_id(session, club_id)
        if closer is not None and closer.club_id == club_id:
            raise ClosesOwnClub(club.name)
        if club.closed_at is None:
            club.closed_at = utc_now()
        end_of_club(session, club_id)
        return club.name


def open_again(store: Store, club_id: int) -> str:
    """Open a closed club again, as it was; gives its name. ``NotInThisClub``."""
    with store.installation(writes=True) as session:
        club = club_by_id(session, club_id)
        club.closed_at = None
        return club.name


def owners(store: Store) -> list[str]:
    """The sign-in names of who owns the installation, in order."""
    with store.installation(writes=False) as session:
        return [account.sign_in_name for account in installation_owners(session)]


def give_installation(store: Store, sign_in_name: str) -> None:
    """Let somebody make and close clubs too; ``NoSuchAccount``."""
    with store.installation(writes=True) as session:
        account = account_by_sign_in_name(session, sign_in_name)
        if account is None:
            raise NoSuchAccount(sign_in_name)
        account.owns_installation = True


def take_installation(store: Store, sign_in_name: str) -> None:
    """Let somebody make and close clubs no more. ``LastInstallationOwner``, ``NoSuchAccount``."""
    with store.installation(writes=True) as session:
        present = installation_owners(session)
        account = next(
            (one for one in present if one.sign_in_name == sign_in_key(sign_in_name)), None
        )
        if account is None:
            raise NoSuchAccount(sign_in_name)
        if len(present) == 1:
            raise LastInstallationOwner(account.sign_in_name)
        account.owns_installation = False


def is_empty(store: Store) -> bool:
    """Whether nobody has put a club on this desk yet."""
    with store.installation(writes=False) as session:
        return not all_clubs(session)


def only_club(store: Store) -> int:
    """The number of the desk's club: the open one, where others are closed.

    ``NoClubYet``, or ``WhichClub`` where several are open.
    """
    with store.installation(writes=False) as session:
        present = all_clubs(session)
    open_ones = [club for club in present if club.closed_at is None]
    if len(open_ones) > 1:
        raise WhichClub([club.name for club in open_ones])
    for club in open_ones or present:
        return club.id
    raise NoClubYet


def club_named(store: Store, name: str) -> int:
    """The number of the club of that name, open or closed, its letters cased as one likes.

    ``NoSuchClub``.
    """
    with store.installation(writes=False) as session:
        for club in all_clubs(session):
            if sign_in_key(club.name) == sign_in_key(name):
                return club.id
    raise NoSuchClub(name)


def _new(session: Session, name: str, unit: Unit) -> int:
    named = _named(name)
    for present in all_clubs(session):
        if _is_half_made(session, present, named):
            present.length_unit = unit.value
            return present.id
        if sign_in_key(present.name) == sign_in_key(named):
            raise ClubNameTaken(present.name)
    club = Club(name=named, length_unit=unit.value)
    session.add(club)
    session.flush()
    return club.id


def _named(name: str) -> str:
    named = " ".join(name.split())
    if not named:
        raise ClubUnnamed
    if len(named) > LONGEST_NAME:
        raise ClubNameTooLong
    lettered(named)
    return named


def _is_half_made(session: Session, club: Club, name: str) -> bool:
    """Whether a club of that name was cut off before its rule books: its making goes on then."""
    return (
        sign_in_key(club.name) == sign_in_key(name)
        and not memberships_of_club(session, club.id)
        and not kept_rule_books.has_any(session, club.id)
    )


def _links(store: Store, secret: bytes, club_id: int) -> tuple[Invited, ...]:
    with store.work(club_id, writes=False) as session:
        return tuple(invitations.waiting(session, secret))


class ClubUnnamed(SettingsDeskError):
    """A club was given no name."""

    sentence = "Give the club a name: it stands on every page and, if you like, on the cards"


class ClubNameTooLong(SettingsDeskError):
    """A name that fits on no page and no card."""

    sentence = f"The name of a club has at most {LONGEST_NAME} characters"


class ClubNameTaken(SettingsDeskError):
    """Two clubs of one name: nobody could tell for which of them they act."""

    def __init__(self, present: str) -> None:
        self.present = present

    def __str__(self) -> str:
        return f"{self.present} is here already, open or closed; give the other club another name"


class ClubHasPeople(SettingsDeskError):
    """The first owner of a club was to come in, and somebody is in it."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} has people who may sign in: its owners invite everybody else"


class ClosesOwnClub(SettingsDeskError):
    """Whoever closes a club would be signed out by it."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"You are in {self.name} now, and closing it would sign you out. Switch to another club"
            " first, or use the command line: settingsdesk club close"
        )


class LastInstallationOwner(SettingsDeskError):
    """The only one who makes and closes clubs was to do so no more."""

    def __init__(self, sign_in_name: str) -> None:
        self.sign_in_name = sign_in_name

    def __str__(self) -> str:
        return (
            f"'{self.sign_in_name}' is the only owner of the installation: name somebody else first"
        )


class OneClubOnly(SettingsDeskError):
    """The first club was to be made where one is: nothing there may be taken for another's."""

    def __init__(self, present: str) -> None:
        self.present = present

    def __str__(self) -> str:
        return (
            f"{self.present} is on this desk already; nothing was changed. One more club beside it:"
            " settingsdesk club add NAME. With data of its own: name another folder by"
            " SETTINGSDESK_DATA"
        )


class WhichClub(SettingsDeskError):
    """A command needs a club and there are several."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = names

    def __str__(self) -> str:
        return (
            f"{so_many(len(self.names), 'club')} are here: {', '.join(self.names)}. Say which:"
            " settingsdesk --club NAME, before the command"
        )


class NoSuchClub(SettingsDeskError):
    """No club here has that name."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"No club here is called '{self.name}'; settingsdesk club list has their names"


class NoClubYet(SettingsDeskError):
    """A command needs a club and the desk has none."""

    sentence = "There is no club on this desk yet: settingsdesk init NAME, or settingsdesk demo"
