"""What is well with an installation and what is not, each with what to do; nothing is changed."""

import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from importlib.metadata import version

from settingsdesk.config import KNOWS_RIGHTS, DataFolder
from settingsdesk.desk.backups.standing import standing
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.cards.code_address import reach
from settingsdesk.desk.clock import local_date, now, today
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import migrate
from settingsdesk.store.engine import damage_of
from settingsdesk.store.erased_numbers import FILE, ErasedNumbers
from settingsdesk.store.migrate import State
from settingsdesk.store.server import served_elsewhere
from settingsdesk.store.work import Store

MOST_FILES = 5
CLOCK_SECONDS = 300
"""By so much clocks of one network differ at most."""
ANSWER_SECONDS = 5
RELEASED = date(2026, 11, 1)
"""No desk was at work before."""


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that was looked at."""

    is_well: bool
    words: str


def examine(data: DataFolder) -> list[Point]:
    """Everything there is to look at in that folder."""
    points = [*_rights(data), *_database(data), *_clock(data)]
    if data.has_database():
        points += [*_backups(data), *_copies(data)]
    return [*points, *_address(data)]


def _rights(data: DataFolder) -> Iterator[Point]:
    if not KNOWS_RIGHTS:
        return
    found = data.open_to_others()
    if not found:
        yield Point(True, f"{data.path}: only its owner can look into it")
        return
    named = ", ".join(str(file) for file in found[:MOST_FILES])
    more = f" and {len(found) - MOST_FILES} more" if len(found) > MOST_FILES else ""
    yield Point(
        False, f"Others can read {named}{more}. Close the folder: chmod -R go= '{data.path}'"
    )


def _database(data: DataFolder) -> Iterator[Point]:
    try:
        data.must_be_kept_so()
        state = migrate.state(data.where)
    except SettingsDeskError as refusal:
        yield Point(False, str(refusal))
        return
    if state is State.EMPTY:
        yield Point(False, 'There is no club here yet: settingsdesk init "Name of the club"')
    elif state is State.OLDER:
        yield Point(False, "The database is of an earlier version: settingsdesk upgrade")
    elif state is State.NEWER:
        yield Point(False, "The database is of a newer version: install that version")
    else:
        yield Point(True, f"The database is of this version, {version('settingsdesk')}")
        if not data.server and (damage := damage_of(data.database)):
            yield Point(
                False,
                f"The database is damaged ({damage}). Stop the desk, keep the folder, and restore"
                " the last good backup: settingsdesk restore FILE",
            )
            return
        if data.server and (other := served_elsewhere(data.server, data.own_home)):
            yield Point(
                False,
                f"The database is served from another folder or machine now ({other}): one desk at"
                " a time may serve it",
            )
        yield from _opened(Store(data.where, folder=data.path), data)


def _opened(store: Store, data: DataFolder) -> Iterator[Point]:
    """What can be asked of a database of this version."""
    try:
        yield _card_key(store, data)
        if others := migrate.tables_of_others(store):
            named = ", ".join(others[:MOST_FILES])
            yield Point(True, f"Tables of other programs beside the desk's are left alone: {named}")
        count = sum(1 for _ in ErasedNumbers.beside(store).all())
        yield Point(True, f"{count} erasures are remembered for older copies that are put back")
    finally:
        store.close()


def _card_key(store: Store, data: DataFolder) -> Point:
    try:
        card_keys.must_be_ours(store, data)
    except SettingsDeskError as refusal:
        return Point(False, str(refusal))
    former = len(data.former_card_keys(today()))
    until = f", and of {former} before it whose cards count yet" if former else ""
    return Point(True, f"The key of the cards is there{until}: keep a copy of it with the backup")


def _backups(data: DataFolder) -> Iterator[Point]:
    stands = standing(data.backup_notes())
    if stands.is_well:
        yield Point(True, f"{stands.words}, {data.backup_notes().file}")
    else:
        yield Point(
            False,
            f"{stands.words}. Make one now: settingsdesk backup FILE; one a day: settingsdesk serve"
            " --backups FOLDER",
        )


def _clock(data: DataFolder) -> Iterator[Point]:
    """By what the desk did last: nothing it did can be still to come."""
    moment = now()
    said = f"{day_in_words(local_date(moment))}, {moment.astimezone():%H:%M}"
    newest = max((file.stat().st_mtime for file in data.path.iterdir()), default=0.0)
    if newest > moment.timestamp() + CLOCK_SECONDS or moment.date() < RELEASED:
        yield Point(
            False,
            f"The clock of this machine says {said}, and settingsdesk was at work later than that."
            " Set the clock: days of cards and checks go by it",
        )
    else:
        yield Point(True, f"The clock says {said}")


def _address(data: DataFolder) -> Iterator[Point]:
    """Whether the address on cards is answered, asked as a phone would ask it."""
    served = data.last_served()
    if served is None:
        return
    where = reach(data.public_url(), *served)
    try:
        with urllib.request.urlopen(f"{where.url}/health", timeout=ANSWER_SECONDS) as answer:  # noqa: S310
            answered, why = answer.status == 200, str(answer.status)
    except (OSError, ValueError) as error:
        answered, why = False, str(getattr(error, "reason", error))
    if not answered:
        yield Point(
            False,
            f"Nobody answers at {where.url}, the address on cards ({why}). Start the desk; where"
            " phones reach it at another address, serve with --public-url",
        )
    elif not where.from_phones:
        yield Point(False, where.in_words)
    else:
        yield Point(True, f"{where.url}, the address on cards, is answered")
    if where.url.startswith("https://") and not data.front().https:
        yield Point(False, "Everybody comes by https: serve with --https, so that no cookie leaks")


def _copies(data: DataFolder) -> Iterator[Point]:
    """Those from before the last erasure."""
    erased = data.path / FILE
    if not erased.exists():
        return
    last = erased.stat().st_mtime
    copies = [file for file in data.copies() if file.stat().st_mtime < last]
    if copies:
        named = ", ".join(file.name for file in copies[:MOST_FILES])
        yield Point(
            False,
            f"{named}: who was erased since is still in there. Delete what is needed no more",
        )
