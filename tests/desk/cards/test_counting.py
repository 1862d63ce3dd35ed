"""Whether a card still says what counts, and why not: one verdict on every page."""

from dataclasses import replace
from datetime import date

import pytest

from settingsdesk.desk.cards import in_hand
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.in_hand import ScannedCard
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day.cards import ChangedCard, Choice
from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.meets.meets import MeetFacts
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import settings
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store import card_keys as kept_keys
from tests.conftest import DemoClub
from tests.desk.cards.scanning import scanned
from tests.desk.sample_meet import BARS, CODE_KEY


class Squad:
    """One of the squad, entered for two meets, with a card for training."""

    def __init__(self, club: DemoClub) -> None:
        self.club = club
        with club.work(writes=True) as session:
            self.athlete_id = desk_rotation.rotation(session, 1).listed[0].id
            self.apparatus_id = next(
                one.id for one in apparatus.all_pieces(session) if one.name == BARS
            )
            self.here = self._meet(session, "Falkenmoor Cup", date(2026, 12, 5), "12")
            self.there = self._meet(session, "Other Cup", date(2026, 12, 12), "7")
        self.training = self.train()

    def _meet(self, session, name: str, day: date, number: str) -> int:
        until = MeetFacts.usual_end_of_cards(day)
        meet = meets.add_meet(session, MeetFacts(name, "", day, day, until, ""))
        meets.put_apparatus(session, meet.id, self.apparatus_id)
        entries.enter_own(session, meet.id, self.athlete_id, number)
        return meet.id

    def train(self) -> Card:
        with self.club.work(writes=True) as session:
            ids = [self.athlete_id]
            return desk_issued.issue(session, CODE_KEY, self.apparatus_id, ids)[0]

    def want_other(self, spread_mm: int = 1550) -> None:
        """Another rail spread."""
        with self.club.work(writes=True) as session:
            piece = apparatus.piece(session, self.apparatus_id)
            own = settings.on_piece(session, [self.athlete_id], piece)[self.athlete_id].version
            wanted = Setting(
                own.setting.kind, {**own.setting.axes, "spread": Wanted(spread_mm, 10)}
            )
            settings.keep_setting(session, self.athlete_id, own.model_id, wanted)

    def issue(self, meet_id: int) -> Card:
        with self.club.work(writes=True) as session:
            return desk_cards.issue(session, CODE_KEY, meet_id, Choice()).groups[0][1][0]

    def changed(self, meet_id: int) -> list[ChangedCard]:
        with self.club.work() as session:
            meet = meets.meet(session, meet_id)
            return desk_cards.changed(session, meet, entries.entrants(session, meet_id))

    def page(self, card: Card) -> ScannedCard:
        return scanned(self.club, card.url[-26:])

    def outdated(self) -> int:
        with self.club.work() as session:
            return len(in_hand.outdated_of(session, self.athlete_id))


@pytest.fixture
def squad(demo_club: DemoClub) -> Squad:
    return Squad(demo_club)


class TestCardsOfOtherEvents:
    def test_a_card_for_training_is_not_outdated_by_a_meet(self, squad: Squad) -> None:
        assert squad.changed(squad.here) == []
        squad.issue(squad.here)
        assert squad.page(squad.training).current
        assert squad.outdated() == 0
        assert squad.changed(squad.here) == []

    def test_nor_the_card_of_one_meet_by_another(self, squad: Squad) -> None:
        here = squad.issue(squad.here)
        squad.issue(squad.there)
        assert squad.page(here).current
        assert squad.changed(squad.here) == squad.changed(squad.there) == []
        assert squad.outdated() == 0

    def test_each_is_given_again_as_it_was_printed(self, squad: Squad) -> None:
        """Nobody carries four codes because two meets and the training were printed twice."""
        here, there = squad.issue(squad.here), squad.issue(squad.there)
        assert squad.issue(squad.here).url == here.url
        assert squad.issue(squad.there).url == there.url
        assert squad.train().url == squad.training.url
        assert (here.start_number, there.start_number) == ("12", "7")

    def test_another_setting_outdates_all_of_them_on_all_pages(self, squad: Squad) -> None:
        here, there = squad.issue(squad.here), squad.issue(squad.there)
        squad.want_other()
        for card in (squad.training, here, there):
            assert not squad.page(card).current
        assert squad.outdated() == 3
        assert [one.why for one in squad.changed(squad.here)] == [
            one.why for one in squad.changed(squad.there)
        ]


class TestWhatElseACardSays:
    def test_another_start_number_outdates_the_card_of_that_meet_alone(self, squad: Squad) -> None:
        here, there = squad.issue(squad.here), squad.issue(squad.there)
        with squad.club.work(writes=True) as session:
            (entrant,) = entries.entrants(session, squad.here)
            entries.number_entries(session, squad.here, {entrant.entry_id: "13"})
        seen = squad.page(here)
        assert (seen.current, seen.marks_hold) == (False, True)
        assert [(one.axis, one.printed, one.now) for one in seen.differences] == [
            ("Start number", "12", "13")
        ]
        assert [one.why for one in squad.changed(squad.here)] == ["Start number changed"]
        assert squad.outdated() == 1
        assert squad.page(there).current
        assert squad.page(squad.training).current

    def test_a_meet_that_was_put_off_outdates_its_cards(self, squad: Squad) -> None:
        """They would stop counting in the middle of it."""
        squad.issue(squad.here)
        with squad.club.work(writes=True) as session:
            facts = meets.meet(session, squad.here).facts
            later = date(2027, 3, 6)
            until = MeetFacts.usual_end_of_cards(later)
            facts = replace(facts, begins_on=later, ends_on=later, cards_until=until)
            meets.change_meet(session, squad.here, facts)
        assert [one.why for one in squad.changed(squad.here)] == ["Counts until changed"]


class TestScratched:
    def test_the_cards_own_page_says_so_and_only_that_meets(self, squad: Squad) -> None:
        here, there = squad.issue(squad.here), squad.issue(squad.there)
        with squad.club.work(writes=True) as session:
            (entrant,) = entries.entrants(session, squad.here)
            entries.withdraw_entry(session, entrant.entry_id)
        assert squad.page(here).scratched
        assert not squad.page(there).scratched
        assert not squad.page(squad.training).scratched


class TestWhatToDo:
    """One line for a family, true in whichever state the card is."""

    NEW = "Ask the coach for a new card, and set nothing by this one."

    def told(
        self, squad: Squad, card: Card, *, waits: bool = False, is_stopped: bool = False
    ) -> str:
        return squad.page(card).to_do(waits_for_answer=waits, is_stopped=is_stopped)

    def test_nothing_with_a_card_that_counts_also_beside_a_newer_one(self, squad: Squad) -> None:
        here = squad.issue(squad.here)
        assert (
            self.told(squad, here)
            == self.told(squad, squad.training)
            == ("Nothing to do: it counts.")
        )

    def test_a_new_one_where_the_marks_have_changed_printed_or_not(self, squad: Squad) -> None:
        squad.want_other()
        assert self.told(squad, squad.training) == self.NEW
        new = squad.train()
        assert self.told(squad, squad.training, waits=True) == (
            "Use the newer card, version 2, and set nothing by this one. If you do not have it, ask"
            " the coach."
        )
        assert self.told(squad, new) == "Nothing to do: it counts."

    def test_a_new_one_where_the_newest_is_out_of_date_too(self, squad: Squad) -> None:
        """Nobody looks for a card that would be as wrong as this one."""
        squad.want_other()
        new = squad.train()
        squad.want_other(1720)
        page = squad.page(squad.training)
        assert (page.newest_version, page.newest_counts, page.replaced_by) == (2, False, None)
        assert self.told(squad, squad.training) == self.told(squad, new) == self.NEW

    def test_a_new_one_where_the_newest_was_cancelled(self, squad: Squad) -> None:
        squad.want_other()
        new = squad.train()
        with squad.club.work(writes=True) as session:
            found = in_hand.find(session, CODE_KEY, new.short_code)
            desk_issued.revoke(session, found.id)
        assert self.told(squad, squad.training) == self.NEW

    def test_nothing_while_nothing_may_be_set_there_at_all(self, squad: Squad) -> None:
        assert self.told(squad, squad.training, is_stopped=True) == (
            "Nothing to do: it counts, once the apparatus may be used again."
        )

    def test_the_coach_is_asked_where_a_card_that_counts_is_further_off_than_accepted(
        self, squad: Squad
    ) -> None:
        """It counts, and says what the apparatus does not reach."""
        squad.want_other(2600)
        new = squad.train()
        assert self.told(squad, new) == self.told(squad, new, is_stopped=True)
        assert self.told(squad, new) == (
            "Ask the coach before anybody goes up: these marks are further off than is accepted."
        )

    def test_a_new_one_with_the_same_marks_where_something_else_has(self, squad: Squad) -> None:
        here = squad.issue(squad.here)
        with squad.club.work(writes=True) as session:
            (entrant,) = entries.entrants(session, squad.here)
            entries.number_entries(session, squad.here, {entrant.entry_id: "13"})
        assert self.told(squad, here) == (
            "Ask the coach for a new card; its marks will be the same."
        )

    def test_nothing_where_the_entry_was_taken_back_whatever_has_changed(
        self, squad: Squad
    ) -> None:
        here = squad.issue(squad.here)
        squad.want_other()
        with squad.club.work(writes=True) as session:
            (entrant,) = entries.entrants(session, squad.here)
            entries.withdraw_entry(session, entrant.entry_id)
        assert self.told(squad, here).startswith("Nothing to do: the entry was taken back.")
        assert self.told(squad, squad.training) == self.NEW

    def test_to_wait_where_somebody_said_that_something_is_wrong(self, squad: Squad) -> None:
        assert "before the coach has answered" in self.told(squad, squad.training, waits=True)

    def test_nothing_once_the_meet_is_over_but_not_for_a_card_that_ended_otherwise(
        self, squad: Squad, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The key of the codes was changed: a card for training is needed as before."""
        here = squad.issue(squad.here)
        key_before = date(2026, 12, 1)
        with squad.club.store.installation(writes=True) as session:
            kept_keys.end_cards(session, key_before)
        with squad.club.work() as session:
            over = {
                card.url: in_hand.meet_is_over(
                    session, in_hand.find(session, CODE_KEY, card.short_code).id
                )
                for card in (here, squad.training)
            }
        assert over == {here.url: False, squad.training.url: False}
        monkeypatch.setattr(in_hand, "today", lambda: date(2027, 12, 1))
        with squad.club.work() as session:
            card_id = in_hand.find(session, CODE_KEY, here.short_code).id
            assert in_hand.meet_is_over(session, card_id)
            card_id = in_hand.find(session, CODE_KEY, squad.training.short_code).id
            assert not in_hand.meet_is_over(session, card_id)
