"""The club of a desk."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from settingsdesk.desk.accounts.clubs import (
    ClubUnnamed,
    NoClubYet,
    OneClubOnly,
    is_empty,
    make_club,
    only_club,
)
from settingsdesk.domain.base.units import Unit
from settingsdesk.store.clubs import club_by_id
from settingsdesk.store.work import Store


@pytest.fixture
def empty(empty_database: Path, tmp_path: Path) -> Iterator[Store]:
    """A desk on which nobody has made a club."""
    store = Store(shutil.copy(empty_database, tmp_path / "desk.sqlite3"))
    yield store
    store.close()


class TestMakingTheClub:
    def test_it_has_its_name_and_its_unit_and_is_the_desks_club(self, empty: Store) -> None:
        assert is_empty(empty)
        club_id = make_club(empty, " Harbour Gymnastics ", Unit.INCH)

        assert only_club(empty) == club_id
        with empty.installation(writes=False) as session:
            club = club_by_id(session, club_id)
        assert (club.name, club.length_unit) == ("Harbour Gymnastics", "in")

    def test_it_needs_a_name(self, empty: Store) -> None:
        with pytest.raises(ClubUnnamed):
            make_club(empty, "  ", Unit.CENTIMETRE)

        assert is_empty(empty)

    def test_a_second_one_is_refused_with_the_way_out(self, store: Store) -> None:
        """Otherwise nobody could tell which of them a command means."""
        with pytest.raises(OneClubOnly) as refused:
            make_club(store, "Another club", Unit.CENTIMETRE)

        assert "Harbour Gymnastics is on this desk already" in str(refused.value)
        assert "SETTINGSDESK_DATA" in str(refused.value)

    def test_without_one_the_ways_to_one_are_named(self, empty: Store) -> None:
        with pytest.raises(NoClubYet, match="settingsdesk init NAME, or settingsdesk demo"):
            only_club(empty)
