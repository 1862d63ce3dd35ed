"""What is well with an installation and what is not, each with what to do; nothing is changed."""

from collections.abc import Iterator
from dataclasses import dataclass

from settingsdesk.config import KNOWS_RIGHTS, DataFolder
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.clock import today
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store import migrate
from settingsdesk.store.erased_numbers import FILE, ErasedNumbers
from settingsdesk.store.migrate import State
from settingsdesk.store.work import Store

MOST_FILES = 5


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that was looked at."""

    is_well: bool
    words: str


def examine(data: DataFolder) -> list[Point]:
    """Everything there is to look at in that folder."""
    return [*_rights(data), *_database(data), *_copies(data)]


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
        state = migrate.state(data.database)
    except SettingsDeskError as refusal:
        yield Point(False, str(refusal))
        return
    if state is State.EMPTY:
        yield Point(False, 'No club is on this desk yet: settingsdesk init "Name of the club"')
    elif state is State.OLDER:
        yield Point(False, "The database is of an earlier version: settingsdesk upgrade")
    elif state is State.NEWER:
        yield Point(False, "The database is of a newer version: install that version")
    else:
        yield Point(True, "The database is of this version")
        yield from _opened(Store(data.database), data)


def _opened(store: Store, data: DataFolder) -> Iterator[Point]:
    """What can be asked of a database of this version."""
    try:
        yield _card_key(store, data)
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
