"""The demo's seasons: one of each thing that a coach is asked about, and one that is not."""

import pytest

from settingsdesk.desk.demo import season
from settingsdesk.desk.squad import athletes, settings, still_right
from settingsdesk.desk.squad.settings import SettingVersion
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
