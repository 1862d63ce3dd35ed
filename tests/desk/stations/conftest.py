"""The station at which cards are held out."""

import pytest

from tests.conftest import DemoClub
from tests.desk.stations.held_out import Hall, opened
from tests.made_once import made_once


@pytest.fixture
def hall(demo_club: DemoClub) -> Hall:
    told = made_once(demo_club.store, "cards and a phone in", lambda: opened(demo_club))
    return Hall(demo_club, *told)
