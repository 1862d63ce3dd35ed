"""What is looked at whenever a desk is opened."""

from pathlib import Path

import pytest

from settingsdesk.desk import opening
from settingsdesk.desk.cards.card_keys import CardKeyLost
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.squad import athletes
from tests.conftest import DemoClub
from tests.databases import Databases


class TestOpening:
    def test_a_copy_from_before_an_erasure_has_it_done_again(
        self, demo_club: DemoClub, tmp_path: Path, databases: Databases
    ) -> None:
        opening.make_ready(demo_club.store, demo_club.data)
        demo_club.store.leave_no_traces()
        demo_club.store.close()
        copy = databases.copied(demo_club.data.where, tmp_path / "copy")
        with demo_club.work(writes=True) as session:
            erasing.erase(session, 1)
        demo_club.store.close()
        databases.copied(copy, demo_club.data.database)

        opening.make_ready(demo_club.store, demo_club.data)
        with demo_club.work() as session:
            assert athletes.find(session, "Jagna") == []

    def test_without_the_key_of_the_cards_it_is_refused(self, demo_club: DemoClub) -> None:
        opening.make_ready(demo_club.store, demo_club.data)
        (demo_club.data.path / "card.key").unlink()

        with pytest.raises(CardKeyLost):
            opening.make_ready(demo_club.store, demo_club.data)
