"""What goes on beside the pages while a process serves them, and ends with it."""

from collections.abc import Iterator
from contextlib import contextmanager

from settingsdesk.desk.alone import StaysAlone
from settingsdesk.desk.backups.daily import DailyBackups
from settingsdesk.desk.lists.uploads import Sweeping
from settingsdesk.desk.meets.retention import Clearing
from settingsdesk.store.server import DatabaseLock
from settingsdesk.web.frame.work import Desk


@contextmanager
def rounds_of(
    desk: Desk, passphrase: str | None, held: DatabaseLock | None = None
) -> Iterator[None]:
    """Go the rounds of a desk, unless another worker does; at the end the searches end too.

    With a ``passphrase`` the day's backup is locked. What holds the database on a server is
    ``held``.
    """
    rounds = (
        Clearing(desk.store, desk.kept.forget),
        DailyBackups(desk.data, passphrase),
        Sweeping(desk.data),
        *([StaysAlone(held)] if held else []),
    )
    for one in rounds:
        one.start(desk.workers.is_first)
    try:
        yield
    finally:
        for one in rounds:
            one.close()
        desk.searches.close()
