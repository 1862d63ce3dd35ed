"""A family sees everything that is kept, and can take it along."""

import json

from sqlalchemy import inspect

from settingsdesk.desk.meets.kept_about import HEADINGS, kept_about
from settingsdesk.domain.base.units import Unit
from settingsdesk.store.base import Base
from settingsdesk.store.of_one_athlete import ITS_OWN
from tests.conftest import DemoClub
from tests.desk.meets.test_erasing import FAMILY, put_everywhere
from tests.desk.sample_meet import hold


class TestWhatIsKept:
    def test_it_has_every_sort_with_what_was_written_elsewhere(self, demo_club: DemoClub) -> None:
        athlete_id = put_everywhere(demo_club)
        with demo_club.work() as session:
            seen = kept_about(session, athlete_id)

        assert [part.heading for part in seen.parts(Unit.CENTIMETRE)] == [
            "The person",
            "Settings, every version",
            "What each setting wants",
            "Cards that were printed",
            "Remarks about cards",
            "Places on lists of rotations",
            "Turns at the bars, with the marks",
            "Where somebody wrote the name",
        ]
        words = str(seen.parts(Unit.CENTIMETRE))
        for kept in (FAMILY, "B-4711", "Girls 1", "felt high", "The pin was bent"):
            assert kept in words
        assert "('wanted', '170.0 cm')" in words
        assert " mm" not in words

    def test_a_family_reads_no_key_of_the_program(self, demo_club: DemoClub) -> None:
        """What a printed card says is kept as it was, by the program's own names."""
        athlete_id = put_everywhere(demo_club)
        with demo_club.work() as session:
            cards = str(
                next(
                    part.lines
                    for part in kept_about(session, athlete_id).parts(Unit.CENTIMETRE)
                    if part.heading == "Cards that were printed"
                )
            )

        assert "kind uneven bars" in cards
        assert "adjustment Low rail height" in cards
        assert "axis" not in cards

    def test_the_file_has_the_same_and_no_code(self, demo_club: DemoClub) -> None:
        """Whoever finds the file must not be able to open the card with it."""
        athlete_id = put_everywhere(demo_club)
        with demo_club.work() as session:
            told = json.loads(json.dumps(kept_about(session, athlete_id).to_data()))

        assert told["kept"]["athlete"][0]["family_name"] == FAMILY
        assert len(told["kept"]["setting_value"]) >= 3
        assert "code_hash" not in str(told)
        assert all("id" not in card for card in told["kept"]["card"])

    def test_a_guests_entry_is_in_it(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work() as session:
            told = kept_about(session, held.guests[0].member.id).to_data()["kept"]

        [entry] = told["entry"]
        assert (entry["meet"], entry["from_club"]) == ("Lantern Cup", "Tarn Hollow GC")

    def test_every_table_that_refers_to_an_athlete_is_in_it(self) -> None:
        """A table that is added tomorrow must not be forgotten, here and in an erasure."""
        refers = {
            mapper.local_table.name
            for mapper in Base.registry.mappers
            if any(key.target_fullname == "athlete.id" for key in mapper.local_table.foreign_keys)
        }
        own = {inspect(entity).local_table.name for entity in ITS_OWN}
        assert refers == own | {"athlete", "rotation_turn"}
        assert own <= HEADINGS.keys()
