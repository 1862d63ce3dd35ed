"""The demo's seasons: one of each thing that a coach is asked about, and one that is not."""

import pytest

from settingsdesk.desk.clock import today
from settingsdesk.desk.demo import season
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.squad import athletes, settings, still_right
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.settings.purposes import Purpose
from settingsdesk.resources import folder
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub


@pytest.fixture
def looked_back(demo_club: DemoClub) -> DemoClub:
    season.look_back(demo_club.store, demo_club.account.club_id, folder("seed"))
    return demo_club


def settings_of(session: ClubSession, text: str) -> list[SettingVersion]:
    [member] = athletes.find(session, text)
    return settings.history(session, member.id)


class TestTheSeasons:
    def test_ask_about_who_has_grown_and_whom_nobody_has_looked_at(
        self, looked_back: DemoClub
    ) -> None:
        with looked_back.work() as session:
            narrowed = still_right.to_whom_it_asks(still_right.season(session))
            found = athletes.page(session, narrowed=narrowed).members
        assert [member.person.given_name for member in found] == ["Ebba", "Caoimhe", "Adaeze"]

    def test_have_somebody_who_begins_with_a_squad_mates(self, looked_back: DemoClub) -> None:
        with looked_back.work() as session:
            begun, of_the_hall = settings_of(session, "adaeze")[::-1]
        assert (begun.untried, of_the_hall.untried) == (True, False)

    def test_have_one_for_training_and_one_for_learning_and_a_rotation_for_training(
        self, looked_back: DemoClub
    ) -> None:
        with looked_back.work() as session:
            purposes = {
                name: {one.purpose for one in settings_of(session, name)}
                for name in ("tuva", "viktorie")
            }
            view = next(one for one in rotation.on_day(session, today()) if one.usual_instead)
        assert Purpose.TRAINING in purposes["tuva"]
        assert Purpose.LEARNING in purposes["viktorie"]
        [names] = view.usual_instead.values()
        assert (view.asked.purpose, len(names)) == (Purpose.TRAINING, 3)
        assert len(view.not_tried) == 1
        assert view.ordered is not None
        assert not view.ordered.outdated

    def test_have_versions_of_the_past_one_of_them_confirmed(self, looked_back: DemoClub) -> None:
        with looked_back.work() as session:
            newest, *before = (
                version
                for version in settings_of(session, "caoimhe")
                if version.model_name == "Travel frame B"
            )
            [confirmed] = [version for version in before if version.confirmed_at]
        assert (newest.version, len(before), confirmed.version) == (3, 2, 1)
        assert confirmed.confirmed_at is not None
        assert before[-1].recorded_at < confirmed.confirmed_at < before[0].recorded_at
