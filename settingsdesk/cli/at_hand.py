"""What every command works on: the data folder, its desk, and the club that is meant."""

from collections.abc import Iterator
from contextlib import contextmanager

import click

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts.clubs import club_named, only_club
from settingsdesk.desk.backups import begun
from settingsdesk.store.work import ClubSession, Store

BY = "command line"
"""Who recorded what a command changes."""


def data_folder() -> DataFolder:
    """The folder that the environment names."""
    return DataFolder.from_environment()


def opened(data: DataFolder) -> Store:
    """The desk in that folder, ready for work until the command has ended."""
    store = begun.opened(data)
    click.get_current_context().call_on_close(store.close)
    return store


def club_meant(store: Store) -> int:
    """The number of the club that was named before the command, or of the only one."""
    named = click.get_current_context().find_root().obj
    return only_club(store) if named is None else club_named(store, named)


@contextmanager
def work(*, writes: bool = False) -> Iterator[ClubSession]:
    """One unit of work in the club that is meant."""
    store = opened(data_folder())
    with store.work(club_meant(store), by=BY, writes=writes) as session:
        yield session
