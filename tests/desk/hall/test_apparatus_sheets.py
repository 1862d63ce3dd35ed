"""A hall's apparatus on its way to a visiting club, whose cards then say the same marks."""

from pathlib import Path

import pytest

from settingsdesk.desk.hall import apparatus, apparatus_sheets, models
from settingsdesk.desk.hall.apparatus_sheets import NoneChosen
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.store.work import Store
from tests.conftest import Account, DemoClub
from tests.databases import Databases, Where


@pytest.fixture
def visitor(one_club: tuple[Where, Account], tmp_path: Path, databases: Databases):
    """Another club, on a desk of its own, with nothing on it."""
    store = Store(databases.copied(one_club[0], tmp_path / "visitor.sqlite3"))
    yield store, one_club[1].club_id
    store.close()


@pytest.fixture
def content(demo_club: DemoClub) -> bytes:
    with demo_club.work() as session:
        numbers = [piece.id for piece in apparatus.all_pieces(session)]
        return apparatus_sheets.file_of(apparatus_sheets.export(session, numbers, "Sports centre"))


class TestTaking:
    def test_the_visitors_marks_are_the_hosts(
        self, demo_club: DemoClub, visitor: tuple[Store, int], content: bytes
    ) -> None:
        """To the stop and the tenth of a millimetre, calibrations included."""
        store, club_id = visitor
        with demo_club.work() as session:
            home = {one.name: one for one in apparatus.all_pieces(session)}
            wanted = settings.current(session, athletes.find(session)[0].id)
        with store.work(club_id, by="Edda", writes=True) as session:
            apparatus_sheets.take(session, content)
            away = {one.name: one for one in apparatus.all_pieces(session)}
            guest = athletes.add(session, Person("Ravn", "Liv"))
            assert set(away) == set(home)
            for name, piece in away.items():
                assert (piece.mat_mm, piece.scale_used) == (
                    home[name].mat_mm,
                    home[name].scale_used,
                )
                assert piece.model == home[name].model
            for version in wanted:
                named = {one.model.name: one.id for one in models.all_models(session)}
                model_id = named[version.model_name]
                settings.keep_setting(session, guest.id, model_id, version.setting)
            there = {
                one.piece.name: one.transfer.best.setup
                for one in settings.on_every_piece(session, settings.current(session, guest.id))
            }
        with demo_club.work() as session:
            first = athletes.find(session)[0].id
            here = {
                one.piece.name: one.transfer.best.setup
                for one in settings.on_every_piece(session, settings.current(session, first))
            }
        assert there == here

    def test_taken_twice_it_changes_nothing(
        self, visitor: tuple[Store, int], content: bytes
    ) -> None:
        store, club_id = visitor
        with store.work(club_id, by="Edda", writes=True) as session:
            assert apparatus_sheets.look(session, content).changes
            apparatus_sheets.take(session, content)
            assert not apparatus_sheets.look(session, content).changes
            before = len(apparatus.all_pieces(session))
            apparatus_sheets.take(session, content)
            assert len(apparatus.all_pieces(session)) == before

    def test_a_model_of_that_name_that_means_something_else_stays_as_it_is(
        self, demo_club: DemoClub, visitor: tuple[Store, int], content: bytes
    ) -> None:
        store, club_id = visitor
        with demo_club.work() as session:
            other = {one.model.name: one.model for one in models.all_models(session)}
        mine = other["Travel frame B"].__class__(
            **{
                **{
                    name: getattr(other["Travel frame B"], name)
                    for name in other["Travel frame B"].__dataclass_fields__
                },
                "name": "Hall frame A",
            }
        )
        with store.work(club_id, by="Edda", writes=True) as session:
            models.add_model(session, mine)
            apparatus_sheets.take(session, content)
            known = {one.model.name: one.model for one in models.all_models(session)}
        assert known["Hall frame A"] == mine
        assert "Hall frame A (Sports centre)" in known

    def test_a_sheet_of_nothing_is_refused(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session, pytest.raises(NoneChosen):
            apparatus_sheets.export(session, [], "Hall")
