"""A desk that is worked at in any order, beside a plain model of what it should hold.

The tests of a run try a few evenings; ``--hypothesis-profile=long`` tries hundreds, each longer and
different every time.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from hypothesis import settings
from hypothesis.stateful import RuleBasedStateMachine, run_state_machine_as_test

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.databases import here

PEOPLE = ("Runa", "Bo", "Ivo (station)")


class AtRandom(RuleBasedStateMachine):
    """One evening at the desk; what stands on it and what the model says must agree."""

    def __init__(self, club: DemoClub) -> None:
        super().__init__()
        self.club = club

    @contextmanager
    def writing(self, by: str = "Runa") -> Iterator[ClubSession]:
        """A unit of work in which somebody changes something."""
        with self.club.work(by=by, writes=True) as session:
            yield session

    def refused(
        self, by: str, does: Callable[[ClubSession], object], *refusals: type[SettingsDeskError]
    ) -> SettingsDeskError:
        """What somebody is told who must not be able to do that; nothing is kept of it."""
        with pytest.raises(refusals) as refused, self.writing(by) as session:
            does(session)
        return refused.value


def work_at_random(
    club: DemoClub, evening: Callable[[DemoClub], AtRandom], share: float = 0.05, steps: int = 40
) -> None:
    """Many evenings, each at the desk as it is now; ``share`` of the examples that are usual."""
    club.store.close()
    kept, before = here(), club.data.path.with_name("before")
    as_now = kept.copied(club.data.where, before)

    def begin() -> AtRandom:
        club.store.close()
        kept.copied(as_now, club.data.database)
        return evening(club)

    usual = settings.default
    assert usual is not None
    is_long = not usual.derandomize
    run_state_machine_as_test(
        begin,
        settings=settings(
            usual,
            max_examples=max(1, round(usual.max_examples * share)),
            stateful_step_count=4 * steps if is_long else steps,
            database=None,
        ),
    )
