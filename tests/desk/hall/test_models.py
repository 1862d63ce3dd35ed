"""Apparatus models: kept version by version, so that nothing once known is lost."""

from dataclasses import replace

import pytest

from settingsdesk.desk.hall import models
from settingsdesk.desk.hall.models import KindIsFixed, NameTaken
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account
from tests.desk.sample_hall import BY, Hall, furnish


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


class TestVersions:
    def test_a_change_is_a_further_version_with_its_reason(self, store: Store, hall: Hall) -> None:
        """Whoever asks why the heights moved finds who changed what, and why."""
        number = hall.models["Beam A"]
        with store.work(hall.club_id, by=BY, writes=True) as session:
            present = models.model(session, number).model
            models.change_model(session, number, replace(present, name="Beam B"), " retyped ", 1)
            history = models.history(session, number)

        assert [(one.version, one.model.name, one.reason) for one in history] == [
            (2, "Beam B", "retyped"),
            (1, "Beam A", ""),
        ]

    def test_saving_what_is_there_already_makes_no_version(self, store: Store, hall: Hall) -> None:
        number = hall.models["Beam A"]
        with store.work(hall.club_id, by=BY, writes=True) as session:
            present = models.model(session, number)
            assert models.change_model(session, number, present.model, "again", 1) == present
            assert len(models.history(session, number)) == 1


class TestNamesAndKinds:
    def test_a_name_is_given_once(self, store: Store, hall: Hall) -> None:
        with store.work(hall.club_id, by=BY, writes=True) as session:
            beam = models.model(session, hall.models["Beam A"]).model
            with pytest.raises(NameTaken, match="choose another name"):
                models.add_model(session, beam)
            renamed = replace(beam, name="Table A")
            with pytest.raises(NameTaken):
                models.change_model(session, hall.models["Beam A"], renamed, "x", 1)

    def test_a_model_does_not_turn_into_another_kind(self, store: Store, hall: Hall) -> None:
        """Settings were recorded for it: they would be of axes that are no more."""
        with store.work(hall.club_id, by=BY, writes=True) as session:
            rings = models.model(session, hall.models["Ring frame A"]).model
            with pytest.raises(KindIsFixed, match="cannot become rings: add a new model"):
                models.change_model(session, hall.models["Beam A"], rings, "x", 1)

    def test_the_seed_has_a_model_of_every_kind(self, store: Store, hall: Hall) -> None:
        with store.work(hall.club_id, writes=False) as session:
            kinds = {version.model.kind.key for version in models.all_models(session)}

        assert kinds == set(KINDS)

    def test_another_clubs_model_is_not_there(self, store: Store, hall: Hall) -> None:
        theirs = new_account(store, "Hillside", "bo", "Bo Lark")
        with (
            store.work(theirs.club_id, writes=False) as session,
            pytest.raises(NotInThisClub, match="no apparatus model"),
        ):
            models.model(session, hall.models["Beam A"])
