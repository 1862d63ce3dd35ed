"""One desk at a time serves a data folder, and where a server keeps its database that one too.

Two folders that name the same database, on one machine or on two, would each count, keep and clear
up for themselves, and a backup put in the place of one would be put under the other.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager

from settingsdesk.config import DataFolder
from settingsdesk.desk.rounds import Rounds
from settingsdesk.folder_lock import FolderLock
from settingsdesk.store.server import DatabaseLock

log = logging.getLogger(__name__)

LOOKS_EVERY_SECONDS = 10.0


@contextmanager
def alone_with(data: DataFolder, what_for: str) -> Iterator[DatabaseLock | None]:
    """The right to be the only one that serves or replaces a desk, for the time of a block.

    Gives what holds the database on a server, None where the folder has it. ``FolderInUse`` and
    ``DatabaseInUse`` tell what the other one is there for, and ``DatabaseDoesNotAnswer``.
    """
    with FolderLock(data.path, what_for):
        if not data.server:
            yield None
            return
        with DatabaseLock(data.server, data.own_home, what_for) as held:
            yield held


class StaysAlone(Rounds):
    """Looks every ten seconds whether the database is still this desk's: a server may be restarted.

    Where another desk was quicker then, it is told in the log, and by the doctor.
    """

    def __init__(self, held: DatabaseLock):
        def look() -> None:
            other = held.taken_by()
            if other is not None:
                log.error("another settingsdesk serves this database too: stop one of the two")

        super().__init__("the database's lock", look, LOOKS_EVERY_SECONDS)
