"""A desk that is killed in the middle of a meet loses nothing that a phone was told is saved."""

import random

from flask import Flask

from settingsdesk.desk.stations import stations
from tests.conftest import DemoClub
from tests.databases import of_files
from tests.web.stations.killed_desk import KilledDesk


@of_files  # on a server: tests/web/test_workers.py
def test_each_press_of_two_phones_counts_once_however_often_the_desk_is_killed(
    demo_app: Flask, demo_club: DemoClub, codes: stations.StationCodes
) -> None:
    """Somebody pulls the plug. `scripts/bench/kills.py` does it some hundred times more."""
    demo_club.store.close()
    chance = random.Random(1)  # noqa: S311 -- no secret
    killed = KilledDesk(demo_club.data, demo_app, codes, chance)
    killed.play(most_kills=8, most_seconds=0.4)

    assert killed.kills > 2
    assert killed.kinds == {"Begun": 1, "AllDone": 3, "Rechecked": 3, "TurnOver": 3}
