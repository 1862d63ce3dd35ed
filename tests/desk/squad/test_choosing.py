"""Choosing athletes out of a squad of any size."""

from collections.abc import Iterator

import pytest
from sqlalchemy.orm import Session

from settingsdesk.desk.clock import today
from settingsdesk.desk.meets import entries
from settingsdesk.desk.squad import athletes, choosing
from settingsdesk.desk.squad.choosing import Sought
from settingsdesk.domain.base.kinds import kind_of
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet, hold
from tests.desk.sample_squad import join

BARS = kind_of("uneven_bars")
EVERYBODY = Sought(most=1000)


@pytest.fixture
def crowd(demo_club: DemoClub) -> list[int]:
    return join(demo_club, 70)


@pytest.fixture
def session(demo_club: DemoClub, crowd: list[int]) -> Iterator[Session]:
    with demo_club.work(writes=True) as opened:
        yield opened


class TestThoseWithASetting:
    def test_everybody_is_either_found_or_without(self, session: Session) -> None:
        """Nobody is lost between the two."""
        offer = choosing.for_kind_or_lacking(session, BARS, EVERYBODY)

        both = {one.id for one in (*offer.found, *offer.without)}
        assert both == {one.id for one in athletes.find(session)}
        assert len(both) == len(offer.found) + len(offer.without)

    def test_pages_follow_each_other_without_a_gap(self, session: Session) -> None:
        whole = choosing.for_kind(session, BARS, EVERYBODY).found

        first = choosing.for_kind(session, BARS, Sought(most=50))
        second = choosing.for_kind(session, BARS, Sought(most=50, after=50))

        assert (first.further, second.further) == (True, False)
        assert first.found + second.found == whole

    def test_exactly_as_many_as_fit_are_no_reason_to_go_on(self, session: Session) -> None:
        whole = choosing.for_kind(session, BARS, EVERYBODY).found

        assert not choosing.for_kind(session, BARS, Sought(most=len(whole))).further

    def test_whoever_is_ticked_comes_along_by_name(
        self, session: Session, crowd: list[int]
    ) -> None:
        offer = choosing.for_kind(
            session, BARS, Sought(words="jagna"), [crowd[60], crowd[2], crowd[60]]
        )

        assert [one.id for one in offer.ticked] == [crowd[2], crowd[60]]
        assert [one.listed_name for one in offer.members] == [
            "Zorn 002, Ada",
            "Zorn 060, Ada",
            "Bąkiewicz, Jagna",
        ]

    def test_who_cannot_be_chosen_is_not_ticked_whatever_is_sent(
        self, session: Session, crowd: list[int]
    ) -> None:
        """Somebody who has left meanwhile, somebody without a setting, and nobody at all."""
        athletes.leave(session, crowd[0], today())
        without = choosing.for_kind_or_lacking(session, BARS, EVERYBODY).without[0].id

        ticked = choosing.for_kind(session, BARS, EVERYBODY, [crowd[0], without, 10**6]).ticked

        assert ticked == ()

    def test_a_group_is_only_its_own(self, session: Session) -> None:
        """Crowd 6 is no part of Crowd 60."""
        found = choosing.for_kind(session, BARS, Sought(group="Crowd 6")).found

        assert {one.person.group_name for one in found} == {"Crowd 6"}
        assert len(found) == 10


class TestThoseNotEntered:
    def test_the_entered_are_not_found_and_stay_where_they_were_ticked(
        self, demo_club: DemoClub, crowd: list[int]
    ) -> None:
        """A second press is no fault of whoever was entered by the first."""
        held: SmallMeet = hold(demo_club)
        with demo_club.work(writes=True) as session:
            before = choosing.not_entered(session, held.meet_id, EVERYBODY)
            entries.enter_squad(session, held.meet_id, crowd[:3])
            offer = choosing.not_entered(session, held.meet_id, EVERYBODY, crowd[2:4])

        gone = {one.id for one in before.found} - {one.id for one in offer.found}
        assert gone == set(crowd[:3])
        assert [one.id for one in offer.ticked] == crowd[2:4]
