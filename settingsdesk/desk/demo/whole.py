"""The demo as a whole: the club and its meet are on the desk together, or neither is."""

import tempfile
from pathlib import Path

from settingsdesk.config import DataFolder
from settingsdesk.desk.alone import alone_with
from settingsdesk.desk.demo import club, meet, season
from settingsdesk.desk.demo.club import Demo
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.store.engine import UNFINISHED, write_through
from settingsdesk.store.migrate import put_on_server, upgraded


def put(data: DataFolder, seed: Path, password: str) -> tuple[Demo, Meet]:
    """Put the demo club into a folder whose desk is empty and open nowhere, with a coach.

    It is made beside it and moved in: where that is cut off, the desk is empty still, and the demo
    can be begun again. Raises what ``alone_with`` does.
    """
    with (
        alone_with(data, "making the demo"),
        tempfile.TemporaryDirectory(dir=data.path, suffix=UNFINISHED) as beside,
    ):
        database = Path(beside) / data.database.name
        store = upgraded(database)
        made = club.load(store, seed, password)
        club.say_where_marks_are_read(store, made.club_id, seed)
        held = meet.hold(store, made.club_id, seed)
        season.look_back(store, made.club_id, seed)
        store.close()
        if data.server:
            put_on_server(database, data.server)
            return made, held
        write_through(database)
        database.replace(data.database)
        write_through(data.path)
    return made, held
