"""What is fenced in by hand: an erasure in one club touches no row of another."""

from datetime import date

import pytest
from sqlalchemy import select

from settingsdesk.store import erasing
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, ClubOwned
from settingsdesk.store.errors import OpenedForReading
from settingsdesk.store.findings import Finding
from settingsdesk.store.work import Store
from tests.store.test_clubs_apart import OWNED

TODAY = date(2026, 12, 5)


def rows(store: Store, club: int) -> dict[str, list[dict[str, object]]]:
    """Everything of one club."""
    with store.work(club, writes=False) as session:
        return {
            entity.__name__: [
                {name: value for name, value in vars(row).items() if not name.startswith("_")}
                for row in session.scalars(select(entity))
            ]
            for entity in OWNED
        }


class TestTheFence:
    def test_another_clubs_athlete_of_the_same_name_keeps_everything(
        self, store: Store, ours, theirs
    ) -> None:
        """Both clubs are furnished alike, and each has written the name in a finding."""
        with store.work(ours.club, writes=False) as session:
            name = session.get(Athlete, ours.athlete).family_name
        for club in (ours, theirs):
            with store.work(club.club, by="coach", writes=True) as session:
                session.add(
                    Finding(
                        apparatus_id=club.apparatus,
                        item="",
                        words=f"{name} saw it",
                        withdraws=False,
                        press_key="name",
                        recorded_by="coach",
                    )
                )
        before = rows(store, theirs.club)

        with store.work(ours.club, by="coach", writes=True) as session:
            athlete = session.get(Athlete, ours.athlete)
            erasing.take_out(session, athlete, "Athlete 1", TODAY)

        assert rows(store, theirs.club) == before
        assert name not in str(rows(store, ours.club))

    def test_a_unit_of_work_for_reading_erases_nobody(self, store: Store, ours) -> None:
        with store.work(ours.club, writes=False) as session, pytest.raises(OpenedForReading):
            erasing.take_out(session, session.get(Athlete, ours.athlete), "Athlete 1", TODAY)


class TestWhatIsSearched:
    def test_a_column_without_names_is_one_that_there_is(self) -> None:
        """A name in that list that fits no column would hide a slip in another."""
        columns = {
            column.name
            for mapper in Base.registry.mappers
            if issubclass(mapper.class_, ClubOwned)
            for column in mapper.local_table.columns
        }
        assert columns >= erasing.NO_NAMES
