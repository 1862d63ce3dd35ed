"""What many tests put into their desk before they begin: made once in a process, then copied."""

from collections.abc import Callable, Hashable
from hashlib import sha256
from typing import TypeVar

from settingsdesk.store.engine import database_file
from settingsdesk.store.work import Store

T = TypeVar("T")


def made_once(store: Store, what: Hashable, make: Callable[[], T]) -> T:
    """What ``make`` makes of the database and gives, which ``what`` names.

    To a database with the same content the same is done by copying what came of the first; so
    what it gives is the same for all of them, and nobody may change it.
    """
    file = database_file(store.address)
    if file is None:
        return make()  # a server's database is not copied while others work there
    store.close()  # what was kept is in the one file then
    key = what, sha256(file.read_bytes()).digest()
    if key not in _MADE:
        given = make()
        store.close()
        _MADE[key] = given, file.read_bytes()
    else:
        file.write_bytes(_MADE[key][1])
    return _MADE[key][0]


_MADE: dict[tuple[Hashable, bytes], tuple[object, bytes]] = {}
