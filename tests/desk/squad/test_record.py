"""A coach reads who changed what; the names are those of now, and none is kept."""

from settingsdesk.desk.checks import parts
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.squad import athletes, record
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store import record as kept_record
from settingsdesk.store.base import Base
from tests.conftest import DemoClub


def in_words(changed: record.Changed) -> tuple[str, ...]:
    return tuple(line.in_words for line in changed.lines)


class TestReading:
    def test_the_present_name_stands_beside_the_number(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Zorn", "Lova"))
        with demo_club.work(writes=True) as session:
            athletes.change(session, one.id, Person("Zorn", "Lova", group_name="Girls 2"))
        with demo_club.work() as session:
            changed, added, *_ = record.latest(session)

        assert in_words(added) == ("athlete added (Zorn, Lova)",)
        assert in_words(changed) == ("athlete changed, group name (Zorn, Lova)",)

    def test_of_whoever_is_erased_there_is_the_number(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Zorn", "Lova"))
        with demo_club.work(writes=True) as session:
            erasing.erase(session, one.id)
        with demo_club.work() as session:
            told = [line for change in record.latest(session) for line in in_words(change)]

        assert f"athlete added (athlete {one.id})" in told
        assert f"athlete erased (athlete {one.id})" in told
        assert "Zorn" not in str(told)

    def test_several_of_one_sort_are_told_in_plain_words(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            athletes.add_all(session, [Person("Zorn", "Lova"), Person("Zorn", "Ida")])
        with demo_club.work() as session:
            newest = record.latest(session)[0]

        assert in_words(newest) == ("2 athletes added (Zorn, Lova; Zorn, Ida)",)

    def test_every_table_on_record_is_called_in_words(self) -> None:
        """Nobody reads "12 × card added" aloud."""
        entities = (mapper.class_.__tablename__ for mapper in Base.registry.mappers)
        for table in set(entities) - kept_record.NOT_ON_RECORD:
            one, many = record.NAMES.get(table, (table, f"{table}s"))
            assert "_" not in one + many

    def test_what_was_changed_is_named_while_it_is_there(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            part = parts.add_part(session, "Spare pins", "uneven_bars", 4)
        with demo_club.work() as session:
            there = record.latest(session)[0].lines[0]
        with demo_club.work(writes=True) as session:
            parts.take_away(session, part.id)
        with demo_club.work() as session:
            gone = [line for change in record.latest(session)[:2] for line in change.lines]

        assert (there.table, there.number) == ("part", part.id)
        assert [line.number for line in gone] == [None, None]

    def test_older_ones_follow_where_the_page_ends(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            newest, second, *_ = record.latest(session)
            assert record.latest(session, newest.id)[0] == second
