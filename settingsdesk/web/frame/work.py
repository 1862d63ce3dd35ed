"""What a view needs of the desk: its store, who is signed in, and a unit of work for their club."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import cast

from flask import current_app, g, request, url_for

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.accounts.failed_tries import Attempts, FailedTries
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.cards.code_address import CodeKey, Reach
from settingsdesk.desk.rotations.searches import Searches
from settingsdesk.desk.stations.stations import PhoneIn
from settingsdesk.desk.workers import Workers
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.units import Unit
from settingsdesk.store.work import ClubSession, Store
from settingsdesk.web.frame.kept import Kept
from settingsdesk.web.frame.paces import Load

OURS = "settingsdesk"


@dataclass(frozen=True, slots=True)
class Desk:
    """What one running application keeps for all its requests."""

    store: Store
    data: DataFolder
    workers: Workers
    attempts: Attempts
    failed: FailedTries
    reach: Reach
    searches: Searches
    kept: Kept
    load: Load


def desk() -> Desk:
    """The desk behind this request."""
    return cast("Desk", current_app.extensions[OURS])


def coach() -> SignedIn:
    """Who is signed in; only for views that need a sign-in, which is all but the open ones."""
    return cast("SignedIn", g.coach)


def other_clubs() -> list[tuple[int, str]]:
    """The clubs that who is signed in may act for besides this one; asks for them where any are."""
    reader: SignedIn | None = g.get("coach")
    if reader is None or not reader.clubs_elsewhere:
        return []
    return sign_ins.other_clubs(desk().store, reader)


def phone() -> PhoneIn:
    """The phone that was let in to a station; only for the views of the station."""
    return cast("PhoneIn", g.phone)


def code_key() -> CodeKey:
    """What makes the codes of cards and stations on this installation."""
    return card_keys.code_key(desk().data, desk().reach.url)


def told(refusal: SettingsDeskError) -> str:
    """A refusal in the unit that the reader's club reads; a stranger reads centimetres."""
    reader = g.get("coach") or g.get("phone")
    return refusal.told(reader.length_unit if reader else Unit.CENTIMETRE)


@contextmanager
def work(*, writes: bool = False) -> Iterator[ClubSession]:
    """One unit of work inside the club of who is signed in.

    With ``writes`` all of it is kept when the block ends, or nothing when it raises.
    """
    reader = coach()
    store, by, account = desk().store, reader.shown_name, reader.account_id
    with store.work(reader.club_id, by=by, account=account, writes=writes) as session:
        yield session


def first_page() -> str:
    """The address of the room where a day at the desk begins; a volunteer's is the station."""
    if g.get("phone") and not g.get("coach"):
        return url_for("station.now")
    return f"{request.script_root}/"
