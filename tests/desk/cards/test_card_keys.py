"""The key of the cards: missed when it is gone, told from another, and changed on purpose."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from settingsdesk.config import CardKeyGone
from settingsdesk.desk.cards import card_keys, in_hand
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.card_keys import CardKeyIsAnother, CardKeyLost, DayIsOver
from settingsdesk.desk.cards.in_hand import CardHasEnded, NoSuchCard
from settingsdesk.desk.clock import today
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.domain.base.codes import read_short_code
from settingsdesk.domain.settings.card import Card
from settingsdesk.store import card_keys as kept
from tests.conftest import DemoClub

HERE = "http://desk.example:5000"
IN_A_WEEK = timedelta(days=7)


def issue(club: DemoClub, *, how_many: int = 12) -> list[Card]:
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        ids = [member.id for member in view.listed[:how_many]]
        key = card_keys.code_key(club.data, HERE)
        return desk_issued.issue(session, key, view.piece.id, ids)


def scan(club: DemoClub, card: Card) -> str:
    return in_hand.holder_of(club.store, card.url.rpartition("/")[2]).card_id


def type_in(club: DemoClub, card: Card) -> str:
    key = card_keys.code_key(club.data, HERE)
    code = read_short_code(card.short_code)
    return in_hand.holder_of_typed(club.store, key, code).card_id


def key_file(club: DemoClub) -> Path:
    return club.data.path / "card.key"


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch):
    """Moves the day on which cards are looked up."""

    def at(day: date) -> None:
        for module in (in_hand, card_keys):
            monkeypatch.setattr(module, "today", lambda: day)

    return at


@pytest.fixture
def printed(demo_club: DemoClub) -> list[Card]:
    """Twelve cards, of a desk that was started."""
    card_keys.must_fit(demo_club.store, demo_club.data)
    return issue(demo_club)


class TestTheKeyOfADesk:
    def test_the_first_start_makes_it_and_keeps_its_fingerprint(self, demo_club: DemoClub) -> None:
        card_keys.must_fit(demo_club.store, demo_club.data)

        with demo_club.store.installation(writes=False) as session:
            present = kept.present(session)
        assert present.fingerprint == card_keys.fingerprint(demo_club.data.card_key())
        assert present.fingerprint != demo_club.data.card_key().hex()

    def test_every_start_after_it_changes_nothing(self, demo_club: DemoClub, printed) -> None:
        key = demo_club.data.card_key()
        card_keys.must_fit(demo_club.store, demo_club.data)

        assert demo_club.data.card_key() == key
        assert issue(demo_club) == printed

    def test_a_desk_from_before_has_its_own_key_written_down(self, demo_club: DemoClub) -> None:
        """After an upgrade nobody has to do anything."""
        demo_club.data.card_key()
        cards = issue(demo_club)

        card_keys.must_fit(demo_club.store, demo_club.data)
        assert issue(demo_club) == cards


class TestALostKey:
    def test_a_key_that_is_gone_is_missed_with_the_way_out(
        self, demo_club: DemoClub, printed
    ) -> None:
        """Twelve cards were printed whose codes opened nothing."""
        key_file(demo_club).unlink()

        with pytest.raises(CardKeyLost) as refused:
            card_keys.must_fit(demo_club.store, demo_club.data)
        assert str(key_file(demo_club)) in str(refused.value)
        assert "Put the copy of it back" in str(refused.value)
        assert "settingsdesk card-key change --until DAY" in str(refused.value)
        assert not key_file(demo_club).exists()

    def test_another_ones_key_is_told_from_it(self, demo_club: DemoClub, printed) -> None:
        """Somebody put back the folder of last year, or the demo's."""
        key_file(demo_club).write_text("ab" * 32)

        with pytest.raises(CardKeyIsAnother):
            card_keys.must_fit(demo_club.store, demo_club.data)
        assert key_file(demo_club).read_text() == "ab" * 32

    def test_it_is_missed_also_where_no_fingerprint_is_kept_yet(self, demo_club: DemoClub) -> None:
        """Whoever lost it before the upgrade has the same cards."""
        demo_club.data.card_key()
        issue(demo_club)
        key_file(demo_club).unlink()
        with pytest.raises(CardKeyLost):
            card_keys.must_fit(demo_club.store, demo_club.data)

        demo_club.data.card_key()
        with pytest.raises(CardKeyIsAnother):
            card_keys.must_fit(demo_club.store, demo_club.data)

    def test_put_back_all_is_as_it_was(self, demo_club: DemoClub, printed) -> None:
        copy = key_file(demo_club).read_text()
        key_file(demo_club).write_text("ab" * 32)
        with pytest.raises(CardKeyIsAnother):
            card_keys.must_fit(demo_club.store, demo_club.data)

        key_file(demo_club).write_text(copy)
        card_keys.must_fit(demo_club.store, demo_club.data)
        assert issue(demo_club) == printed

    def test_one_that_goes_while_the_desk_serves_is_not_made_anew(
        self, demo_club: DemoClub, printed
    ) -> None:
        key_file(demo_club).unlink()

        with pytest.raises(CardKeyGone):
            card_keys.code_key(demo_club.data, HERE)

    def test_without_a_copy_a_new_one_is_made_and_cards_are_scanned_until_the_day(
        self, demo_club: DemoClub, printed, later
    ) -> None:
        """The way out that the refusal names."""
        key_file(demo_club).unlink()
        last_day = today() + IN_A_WEEK
        done = card_keys.change(demo_club.store, demo_club.data, last_day, "Runa")
        card_keys.must_fit(demo_club.store, demo_club.data)

        assert not done.old_is_kept
        assert scan(demo_club, printed[0])
        with pytest.raises(NoSuchCard):
            type_in(demo_club, printed[0])
        [again] = issue(demo_club, how_many=1)
        assert (again.version, again.counts_until) == (2, None)
        later(last_day + timedelta(days=1))
        with pytest.raises(CardHasEnded):
            scan(demo_club, printed[0])
        assert scan(demo_club, again) == type_in(demo_club, again)

    def test_a_wrong_one_is_put_aside_and_not_deleted(self, demo_club: DemoClub, printed) -> None:
        key_file(demo_club).write_text("ab" * 32)
        card_keys.change(demo_club.store, demo_club.data, today(), "Runa")

        assert (demo_club.data.path / "card.key.put-aside").read_text() == "ab" * 32

    def test_one_that_is_not_whole_can_be_changed_too(self, demo_club: DemoClub, printed) -> None:
        key_file(demo_club).write_text("ab")
        assert not card_keys.change(demo_club.store, demo_club.data, today(), "Runa").old_is_kept
        card_keys.must_fit(demo_club.store, demo_club.data)


class TestChangingIt:
    def test_cards_from_before_and_after_open_side_by_side_until_the_day(
        self, demo_club: DemoClub, printed, later
    ) -> None:
        last_day = today() + IN_A_WEEK
        assert card_keys.change(demo_club.store, demo_club.data, last_day, "Runa").old_is_kept
        card_keys.must_fit(demo_club.store, demo_club.data)
        new = issue(demo_club, how_many=6)

        for card in (*printed, *new):
            assert scan(demo_club, card) == type_in(demo_club, card)
        later(last_day)
        assert scan(demo_club, printed[-1])
        later(last_day + timedelta(days=1))
        for card in printed:
            with pytest.raises(CardHasEnded):
                scan(demo_club, card)
            with pytest.raises(NoSuchCard):
                type_in(demo_club, card)
        for card in new:
            assert scan(demo_club, card) == type_in(demo_club, card)

    def test_a_card_from_before_is_printed_again_with_its_own_code(
        self, demo_club: DemoClub, printed
    ) -> None:
        """Whoever prints the same paper again must not get one that opens nothing."""
        card_keys.change(demo_club.store, demo_club.data, today(), "Runa")
        with demo_club.work() as session:
            view = desk_rotation.rotation(session, 1)
            key = card_keys.code_key(demo_club.data, HERE)
            ids = [member.id for member in view.listed]
            again = desk_issued.printed(session, key, view.piece.id, ids)

        assert [card.url for card in again] == [card.url for card in printed]
        assert all(scan(demo_club, card) for card in again)

    def test_it_can_be_changed_twice(self, demo_club: DemoClub, printed) -> None:
        last_day = today() + IN_A_WEEK
        card_keys.change(demo_club.store, demo_club.data, last_day, "Runa")
        second = issue(demo_club, how_many=1)
        card_keys.change(demo_club.store, demo_club.data, last_day, "Runa")
        card_keys.must_fit(demo_club.store, demo_club.data)

        for card in (*printed, *second):
            assert scan(demo_club, card) == type_in(demo_club, card)

    def test_one_that_was_interrupted_is_finished_at_the_next_start(
        self, demo_club: DemoClub, printed, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The power went between the database and the file."""
        with monkeypatch.context() as cut:
            cut.setattr(type(demo_club.data), "go_to_next_card_key", lambda *_: None)
            card_keys.change(demo_club.store, demo_club.data, today() + IN_A_WEEK, "Runa")

        card_keys.must_fit(demo_club.store, demo_club.data)
        [new] = issue(demo_club, how_many=1)
        assert type_in(demo_club, new)
        assert type_in(demo_club, printed[0])

    def test_a_day_that_is_over_is_refused(self, demo_club: DemoClub, printed) -> None:
        with pytest.raises(DayIsOver):
            card_keys.change(
                demo_club.store, demo_club.data, datetime.now(UTC).date() - IN_A_WEEK, "Runa"
            )
        assert issue(demo_club) == printed
