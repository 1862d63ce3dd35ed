"""The demo club is whole, and is put on an empty desk only."""

from pathlib import Path

from settingsdesk.desk.accounts.accounts import sign_in
from settingsdesk.desk.accounts.clubs import is_empty
from settingsdesk.desk.clock import today
from settingsdesk.desk.demo import meet as desk_meet
from settingsdesk.desk.hall import apparatus, rule_books
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.meet_day import transfers as desk_transfers
from settingsdesk.desk.meets import entries, start_numbers, start_orders
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.resources import folder
from settingsdesk.store.work import Store
from tests.conftest import DEMO_PASSWORD, DemoClub
from tests.databases import Databases, Where


class TestTheDemoClub:
    def test_its_coach_can_sign_in(self, demo_club: DemoClub) -> None:
        coach = sign_in(demo_club.store, "Runa", DEMO_PASSWORD)

        assert coach is not None
        assert coach.club_name == "Quillmoor Gymnastics Club"

    def test_every_kind_of_apparatus_stands_somewhere(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            pieces = apparatus.all_pieces(session)

        assert len({piece.model.kind.key for piece in pieces}) == 7
        assert all(piece.setup is not None for piece in pieces)

    def test_tonights_rotations_are_ordered_and_proven(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            for line in desk_rotation.recent(session):
                view = desk_rotation.rotation(session, line.id)
                assert view.ordered is not None
                assert view.ordered.proven

    def test_every_athlete_has_a_setting(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            assert all(settings.current(session, member.id) for member in athletes.find(session))

    def test_bringing_in_its_sheet_again_changes_nothing(self, demo_club: DemoClub) -> None:
        content = (folder("seed") / "squad.csv").read_bytes()
        with demo_club.work() as session:
            seen = coach_lists.look(session, Squad(session), content, "squad.csv")

        assert seen.is_whole
        assert seen.changing_rows == set()
        assert seen.unchanged_rows == len(content.splitlines()) - 1

    def test_its_rule_books_name_their_sources(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            books = rule_books.all_books(session)

        assert len(books) == 3
        assert all(rule.source and rule.edition for book in books for rule in book.rules)


class TestItsMeet:
    def test_two_clubs_and_the_host_come_with_settings_and_start_orders(
        self, demo_club: DemoClub
    ) -> None:
        meet = desk_meet.hold(demo_club.store, demo_club.account.club_id, folder("seed"))
        with demo_club.work() as session:
            entrants = entries.entrants(session, meet.id)
            lines = start_orders.orders_at(session, meet)
            twice = start_numbers.given_twice(entries.clubs(session, meet.id))
            orders = [start_orders.start_order(session, line.rotation_id) for line in lines]
            found = desk_transfers.transfers(session, desk_transfers.grounds(session, meet))

        assert len({one.from_club for one in entrants}) == 3
        assert sum(one.is_guest for one in entrants) == 10
        assert twice == []
        assert {line.came_by for line in lines} == {"typed", "drawn"}
        assert all(order.view.ordered and not order.elsewhere for order in orders)
        assert found.nowhere == ()

    def test_it_is_to_come_and_something_is_to_be_settled_before(self, demo_club: DemoClub) -> None:
        """Or nobody who tries the demo would see what that list is for."""
        meet = desk_meet.hold(demo_club.store, demo_club.account.club_id, folder("seed"))
        with demo_club.work() as session:
            found = desk_transfers.transfers(session, desk_transfers.grounds(session, meet))

        assert meet.facts.begins_on > today()
        assert 0 < len(found.to_settle) < len(found.lines)


class TestAnEmptyDesk:
    def test_tables_without_a_club_are_empty(
        self, empty_database: Where, tmp_path: Path, databases: Databases
    ) -> None:
        store = Store(databases.copied(empty_database, tmp_path / "desk.sqlite3"))

        assert is_empty(store)
        store.close()

    def test_the_desk_of_the_demo_is_not(self, demo_club: DemoClub) -> None:
        assert not is_empty(demo_club.store)
