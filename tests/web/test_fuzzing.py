"""A few hundred requests that nobody means to send; ``scripts/bench/fuzz.py`` sends thousands."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from tests.conftest import Clock, DemoClub, new_app
from tests.web.another_club import WORD
from tests.web.everybody import Hall
from tests.web.fuzzing import WHO, Fuzz, everybody
from tests.web.pages import Reader
from tests.web.whole_desk import one_of_everything

REQUESTS = 250


@pytest.fixture
def fuzz(demo_club: DemoClub, clock: Clock, tmp_path: Path) -> Fuzz:
    """Everybody at a desk with one of everything, and another club beside it."""
    app = new_app(demo_club.data, demo_club.store, clock)
    hall = Hall(one_of_everything(demo_club, app, tmp_path), Reader)
    return replace(everybody(hall, clock, seed=1), looked_at=0.1)


class TestWhateverIsSent:
    def test_it_is_answered_changes_nothing_by_asking_and_shows_nothing_of_others(
        self, fuzz: Fuzz
    ) -> None:
        """By a stranger, a helper, a coach, an owner, or a phone at a station."""
        fuzz.go(REQUESTS)

        assert fuzz.faults == []
        assert fuzz.counted.total() == REQUESTS
        assert {who for who, _, _ in fuzz.counted} == set(WHO)
        self.what_is_wrong_is_seen(fuzz)

    def what_is_wrong_is_seen(self, fuzz: Fuzz) -> None:
        """Or nothing would be found: a fault, a word of others, an asking that writes."""

        def asked_by_the_coach(view: Callable[[], str]) -> str:
            fuzz.app.view_functions["meets.index"] = view
            for _ in range(50):  # a head sent along at times is refused before any view
                fuzz.request(Role.COACH.value, "GET", "/meets/")
                if fuzz.faults:
                    break
            [fault] = fuzz.faults
            fuzz.faults.clear()
            return fault

        def fails() -> str:
            raise ZeroDivisionError

        def writes() -> str:
            with fuzz.hall.desk.club.work(writes=True) as session:
                athletes.add(session, Person("Neu", "Ana"))
            return ""

        fuzz.looked_at = 0.0
        assert "ZeroDivisionError" in asked_by_the_coach(fails)
        assert asked_by_the_coach(lambda: WORD).endswith("a word of another club's")
        assert asked_by_the_coach(writes).endswith("changed the database")
