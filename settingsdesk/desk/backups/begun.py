"""Opening a desk: first what was begun and cut off is ended, then it is seen that all is there."""

from settingsdesk.config import DataFolder
from settingsdesk.desk import opening
from settingsdesk.desk.backups import moving, restoring
from settingsdesk.store.migrate import upgraded
from settingsdesk.store.work import Store


def end(data: DataFolder) -> None:
    """End a restoring or a move that was cut off; ``FolderInUse`` where somebody is at it."""
    restoring.go_on(data)
    moving.go_on(data)


def opened(data: DataFolder) -> Store:
    """The desk of that folder, ready for work.

    Raises ``DatabaseIsOnServer`` or ``DatabaseIsInFolder``, and what ``migrate.upgrade`` and
    ``opening.make_ready`` refuse.
    """
    end(data)
    data.must_be_kept_so()
    store = upgraded(data.where, data.path)
    try:
        opening.make_ready(store, data)
    except BaseException:
        store.close()
        raise
    return store
