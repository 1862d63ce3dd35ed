"""Spare parts: counted, and missed before they are needed."""

import pytest

from settingsdesk.desk.checks import parts
from settingsdesk.desk.checks.parts import NotANumberOfParts, PartWithoutName
from settingsdesk.desk.hall.models import NameTaken
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import BY, furnish


@pytest.fixture
def session(store: Store, account: Account):
    furnish(store, account.club_id)
    with store.work(account.club_id, by=BY, writes=True) as opened:
        yield opened


class TestParts:
    def test_one_that_nobody_counted_is_short(self, session):
        """A rail that is only believed to be there is no spare rail."""
        assert parts.add_part(session, "Spare rail", "uneven_bars", 1).short == 1

    def test_the_last_count_counts_and_the_others_stay(self, store: Store, account: Account):
        with store.work(account.club_id, by=BY, writes=True) as session:
            part = parts.add_part(session, "Pin", "", 2)
            parts.count_part(session, part.id, 5)
        with store.work(account.club_id, by="Odo", writes=True) as session:
            part = parts.count_part(session, part.id, 1, "one used")
        assert part.short == 1
        assert [(one.counted, one.by, one.remark) for one in part.counts] == [
            (1, "Odo", "one used"),
            (5, BY, ""),
        ]
        assert parts.change_minimum(session, part.id, 1).short == 0

    def test_what_usually_lies_there_is_suggested_for_the_kinds_in_this_hall(self, session):
        names = [one.name for one in parts.suggestions(session)]
        assert names == ["Spare rail, uneven bars", "Quick-release pin"]
        parts.add_part(session, names[0], "uneven_bars", 1)
        assert [one.name for one in parts.suggestions(session)] == names[1:]

    def test_no_name_a_taken_name_and_impossible_numbers_are_refused(self, session):
        part = parts.add_part(session, "Pin", "", 2)
        with pytest.raises(NameTaken):
            parts.add_part(session, " Pin ", "", 2)
        with pytest.raises(PartWithoutName):
            parts.add_part(session, "  ", "", 2)
        with pytest.raises(NotANumberOfParts):
            parts.count_part(session, part.id, -1)
