"""Rows as JSON and lists as rows, alike on every database."""

from sqlalchemy import select

from settingsdesk.store.athletes import Athlete
from settingsdesk.store.json_sql import ListOf, ObjectOf, numbers_given
from settingsdesk.store.work import Store


class TestRowsAsOneValue:
    def test_are_an_object_and_a_list(self, store: Store, ours, theirs) -> None:
        names = ObjectOf(Athlete.given_name, Athlete.id)
        with store.installation(writes=False) as session:
            found = session.execute(select(names, ListOf(Athlete.id))).one()
        assert found[0] == {"Harbour": ours.athlete, "Hillside": theirs.athlete}
        assert sorted(found[1]) == sorted([ours.athlete, theirs.athlete])

    def test_are_nothing_where_there_is_none(self, store: Store, ours) -> None:
        none = Athlete.id < 0
        asked = select(ObjectOf(Athlete.given_name, Athlete.id), ListOf(Athlete.id)).where(none)
        with store.installation(writes=False) as session:
            assert not any(session.execute(asked).one())


class TestAListAsRows:
    def test_has_each_number_as_often_as_it_was_given(self, store: Store, ours) -> None:
        rows = select(numbers_given("those").c.value)
        with store.installation(writes=False) as session:
            assert sorted(session.scalars(rows, {"those": [7, 3, 7]})) == [3, 7, 7]
            assert session.scalars(rows, {"those": []}).all() == []
