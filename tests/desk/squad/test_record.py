"""A coach reads who changed what; the names are those of now, and none is kept."""

from settingsdesk.desk.meets import erasing
from settingsdesk.desk.squad import athletes, record
from settingsdesk.desk.squad.athletes import Person
from tests.conftest import DemoClub


class TestReading:
    def test_the_present_name_stands_beside_the_number(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Zorn", "Lova"))
        with demo_club.work(writes=True) as session:
            athletes.change(session, one.id, Person("Zorn", "Lova", group_name="Girls 2"))
        with demo_club.work() as session:
            changed, added, *_ = record.latest(session)

        assert added.lines == ("athlete added (Zorn, Lova)",)
        assert changed.lines == ("athlete changed, group name (Zorn, Lova)",)

    def test_of_whoever_is_erased_there_is_the_number(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Zorn", "Lova"))
        with demo_club.work(writes=True) as session:
            erasing.erase(session, one.id)
        with demo_club.work() as session:
            told = [line for change in record.latest(session) for line in change.lines]

        assert f"athlete added (athlete {one.id})" in told
        assert f"athlete erased (athlete {one.id})" in told
        assert "Zorn" not in str(told)

    def test_older_ones_follow_where_the_page_ends(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            newest, second, *_ = record.latest(session)
            assert record.latest(session, newest.id)[0] == second
