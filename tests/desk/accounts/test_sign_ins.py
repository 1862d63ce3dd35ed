"""Who is signed in on which device."""

from datetime import timedelta

from sqlalchemy import func, select, update

from settingsdesk.desk.accounts.accounts import add_account, set_password, sign_in
from settingsdesk.desk.accounts.sign_ins import (
    LONGEST,
    LONGEST_UNSEEN,
    SEEN_AGAIN,
    SignedIn,
    note_visit,
    sign_out,
    still_signed_in,
)
from settingsdesk.store.base import utc_now
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store
from tests.conftest import Account

ANOTHER = "nine quiet otters juggling"


def let_in(store: Store, account: Account) -> SignedIn:
    """Sign in on one more device."""
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    return known


def began_ago(store: Store, ago: timedelta) -> None:
    """Every sign-in so far began so long ago."""
    with store.installation(writes=True) as session:
        session.execute(update(SignIn).values(began_at=utc_now() - ago))


def seen_ago(store: Store, ago: timedelta) -> None:
    """Every device was seen last so long ago."""
    with store.installation(writes=True) as session:
        session.execute(update(SignIn).values(seen_at=utc_now() - ago))


class TestASignIn:
    def test_lasts_from_page_to_page(self, store: Store, account: Account) -> None:
        known = let_in(store, account)

        assert still_signed_in(store, known.stamp) == known

    def test_ends_on_the_device_where_the_coach_signs_out(
        self, store: Store, account: Account
    ) -> None:
        """The telephone at the bars goes on when the computer in the office is left."""
        office, telephone = let_in(store, account), let_in(store, account)

        sign_out(store, office.stamp)

        assert still_signed_in(store, office.stamp) is None
        assert still_signed_in(store, telephone.stamp) == telephone

    def test_may_be_ended_twice(self, store: Store, account: Account) -> None:
        """Two windows of one browser, and the button pressed in both."""
        known = let_in(store, account)

        sign_out(store, known.stamp)
        sign_out(store, known.stamp)

        assert still_signed_in(store, known.stamp) is None

    def test_ends_on_every_device_with_a_new_password(self, store: Store, account: Account) -> None:
        """And for that coach only: it is nobody else's business."""
        add_account(store, account.club_id, "bo", "Bo Larch", ANOTHER)
        colleague = sign_in(store, "bo", ANOTHER)
        office, telephone = let_in(store, account), let_in(store, account)

        set_password(store, "edda", ANOTHER)

        assert still_signed_in(store, office.stamp) is None
        assert still_signed_in(store, telephone.stamp) is None
        assert colleague is not None
        assert still_signed_in(store, colleague.stamp) == colleague

    def test_lasts_thirty_days_at_most(self, store: Store, account: Account) -> None:
        """Even for who comes by every day."""
        known = let_in(store, account)

        began_ago(store, LONGEST - timedelta(minutes=1))
        assert still_signed_in(store, known.stamp) == known

        began_ago(store, LONGEST)
        assert still_signed_in(store, known.stamp) is None

    def test_ends_after_seven_days_without_a_visit(self, store: Store, account: Account) -> None:
        """ASVS 5.0.0, 7.3.1: whatever the browser has kept."""
        known = let_in(store, account)

        seen_ago(store, LONGEST_UNSEEN - timedelta(minutes=1))
        assert still_signed_in(store, known.stamp) == known

        seen_ago(store, LONGEST_UNSEEN)
        assert still_signed_in(store, known.stamp) is None

    def test_knows_about_when_it_was_seen_last(self, store: Store, account: Account) -> None:
        """To the quarter of an hour: not every page that is looked at writes."""
        stamp = let_in(store, account).stamp
        for ago, noted in ((SEEN_AGAIN / 2, False), (SEEN_AGAIN, True)):
            seen_ago(store, ago)
            before = still_signed_in(store, stamp)
            assert before is not None

            note_visit(store, before)

            after = still_signed_in(store, stamp)
            assert after is not None
            assert (after.seen_at > before.seen_at) is noted

    def test_leaves_nothing_behind_once_it_is_too_old(self, store: Store, account: Account) -> None:
        """A desk runs for years."""
        let_in(store, account)
        began_ago(store, LONGEST + timedelta(seconds=1))

        let_in(store, account)

        with store.installation(writes=False) as session:
            assert session.scalar(select(func.count(SignIn.id))) == 1


class TestTheStamp:
    def test_cannot_be_guessed(self, store: Store, account: Account) -> None:
        """128 random bits (OWASP ASVS 5.0.0, 7.2.3), others on every device."""
        stamps = {let_in(store, account).stamp for _ in range(3)}

        assert [len(bytes.fromhex(stamp)) for stamp in stamps] == [16] * 3

    def test_is_not_in_the_database(self, store: Store, account: Account) -> None:
        """A copy of the database signs nobody in."""
        known = let_in(store, account)

        with store.installation(writes=False) as session:
            (kept,) = session.scalars(select(SignIn.stamp_hash)).all()
        assert known.stamp not in kept
        assert still_signed_in(store, kept) is None

    def test_that_nobody_was_given_signs_nobody_in(self, store: Store) -> None:
        assert still_signed_in(store, "0" * 32) is None
