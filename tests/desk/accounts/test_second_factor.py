"""A code from the phone after the password."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pyotp import TOTP
from sqlalchemy import update

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts import people, second_factor
from settingsdesk.desk.accounts.accounts import NoSuchAccount, add_account, sign_in
from settingsdesk.desk.accounts.invitations import ActsElsewhere, invite, join
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.second_factor import CodeNotRight, WaitedTooLong
from settingsdesk.desk.accounts.sign_ins import SignedIn, still_signed_in
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account

KEY = b"k" * 32
BOS = "nine quiet otters juggling"


class Phone:
    """An app for one-time codes, and a clock that passes only when a test says so."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now = datetime(2026, 3, 1, 18, 0, 10, tzinfo=UTC)
        self.secret = ""
        monkeypatch.setattr(second_factor, "utc_now", lambda: self.now)

    def code(self, steps: int = 0) -> str:
        """What it shows now, or some steps of thirty seconds aside."""
        return str(TOTP(self.secret).at(self.now, counter_offset=steps))

    def wait(self, steps: int = 1) -> None:
        self.now += timedelta(seconds=30 * steps)


@pytest.fixture
def phone(monkeypatch: pytest.MonkeyPatch) -> Phone:
    return Phone(monkeypatch)


@pytest.fixture
def edda(store: Store, account: Account) -> SignedIn:
    """The owner, signed in by the password alone."""
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    return known


@pytest.fixture
def recovery(store: Store, edda: SignedIn, phone: Phone) -> list[str]:
    """The recovery codes of a second factor that has just been turned on."""
    return turned_on(store, edda, phone)


def turned_on(store: Store, who: SignedIn, phone: Phone) -> list[str]:
    salt = second_factor.new_salt()
    phone.secret = second_factor.offer(KEY, who, salt).typed.replace(" ", "")
    codes = second_factor.turn_on(store, KEY, who, salt, phone.code())
    phone.wait()
    return codes


def waiting(store: Store, account: Account, phone: Phone) -> str:
    """The stamp of a device on which the password was right."""
    known = sign_in(store, account.sign_in_name, account.password)
    assert known is not None
    assert known.waits_for_code
    with store.installation(writes=True) as session:
        session.execute(update(SignIn).where(SignIn.waits_for_code).values(began_at=phone.now))
    return known.stamp


class TestSettingItUp:
    def test_needs_a_code_that_shows_that_the_phone_has_it(
        self, store: Store, account: Account, edda: SignedIn, phone: Phone
    ) -> None:
        """Whoever scanned nothing would lock themselves out."""
        with pytest.raises(CodeNotRight):
            second_factor.turn_on(store, KEY, edda, second_factor.new_salt(), "123456")

        again = sign_in(store, account.sign_in_name, account.password)
        assert again is not None
        assert not again.waits_for_code

    def test_keeps_who_is_in_signed_in(
        self, store: Store, edda: SignedIn, recovery: list[str]
    ) -> None:
        assert still_signed_in(store, edda.stamp) is not None
        assert len(set(recovery)) == 8

    def test_leaves_nothing_in_the_database_that_makes_a_code(
        self, store: Store, data: DataFolder, phone: Phone, recovery: list[str]
    ) -> None:
        """ASVS 5.0.0, 6.5.2: neither the secret nor a recovery code stands in the file."""
        store.close()
        kept = b"".join(Path(one).read_bytes() for one in data.path.glob("settingsdesk.sqlite3*"))
        for told in (phone.secret, *recovery, *(code.replace(" ", "") for code in recovery)):
            assert told.encode() not in kept


class TestSigningIn:
    @pytest.mark.usefixtures("recovery")
    def test_is_done_by_password_and_code_and_not_by_one_of_them(
        self, store: Store, account: Account, phone: Phone
    ) -> None:
        stamp = waiting(store, account, phone)
        assert still_signed_in(store, stamp) is None

        known = second_factor.finish(store, KEY, stamp, phone.code())

        assert still_signed_in(store, stamp) is None  # a new one: ASVS 5.0.0, 7.2.4
        assert second_factor.is_on(store, known)
        with pytest.raises(WaitedTooLong):
            second_factor.finish(store, KEY, "0" * 32, phone.code())

    @pytest.mark.usefixtures("recovery")
    def test_a_code_counts_once_and_none_before_it(
        self, store: Store, account: Account, phone: Phone
    ) -> None:
        """ASVS 5.0.0, 6.5.1: who looked over the shoulder is too late."""
        code, before = phone.code(), phone.code(-1)
        second_factor.finish(store, KEY, waiting(store, account, phone), code)

        for used in (code, before):
            with pytest.raises(CodeNotRight):
                second_factor.finish(store, KEY, waiting(store, account, phone), used)

    @pytest.mark.parametrize(("aside", "counts"), [(-2, False), (-1, True), (1, True), (2, False)])
    @pytest.mark.usefixtures("recovery")
    def test_a_phones_clock_may_be_half_a_minute_off(
        self, store: Store, account: Account, phone: Phone, aside: int, counts: bool
    ) -> None:
        phone.wait(5)
        stamp = waiting(store, account, phone)
        if counts:
            assert second_factor.finish(store, KEY, stamp, phone.code(aside))
        else:
            with pytest.raises(CodeNotRight):
                second_factor.finish(store, KEY, stamp, phone.code(aside))

    @pytest.mark.parametrize("typed", ["", "abcdef", "12345", "1234567", "٣٤٥٦٧٨", "A" * 24])
    @pytest.mark.usefixtures("recovery")
    def test_anything_else_is_not_right(
        self, store: Store, account: Account, phone: Phone, typed: str
    ) -> None:
        with pytest.raises(CodeNotRight):
            second_factor.finish(store, KEY, waiting(store, account, phone), typed)

    @pytest.mark.usefixtures("recovery")
    def test_the_password_waits_ten_minutes(
        self, store: Store, account: Account, phone: Phone
    ) -> None:
        stamp = waiting(store, account, phone)
        phone.now += timedelta(minutes=10, seconds=1)

        with pytest.raises(WaitedTooLong):
            second_factor.finish(store, KEY, stamp, phone.code())


class TestWithoutThePhone:
    def test_a_recovery_code_signs_in_once(
        self, store: Store, account: Account, phone: Phone, recovery: list[str]
    ) -> None:
        """However it is spelt; the others go on counting."""
        typed = recovery[0].lower().replace(" ", "-")
        assert second_factor.finish(store, KEY, waiting(store, account, phone), typed)

        with pytest.raises(CodeNotRight):
            second_factor.finish(store, KEY, waiting(store, account, phone), recovery[0])
        assert second_factor.finish(store, KEY, waiting(store, account, phone), recovery[1])

    def test_another_owner_takes_it_off(self, store: Store, edda: SignedIn, phone: Phone) -> None:
        add_account(store, edda.club_id, "bo", "Bo Larch", BOS)
        bo = sign_in(store, "bo", BOS)
        assert bo is not None
        turned_on(store, bo, phone)
        [row] = [one for one in people.people(store, edda) if one.has_second_factor]

        second_factor.take_off(store, edda, row.id)

        again = sign_in(store, "bo", BOS)
        assert again is not None
        assert not again.waits_for_code

    def test_an_owner_does_not_where_it_guards_another_club_too(
        self, store: Store, edda: SignedIn
    ) -> None:
        new_account(store, "Hillside", "cy", "Cy Moor")
        cy = sign_in(store, "cy", "lanterns over seven wet cy roofs")
        assert cy is not None
        with pytest.raises(NotInThisClub):
            second_factor.take_off(store, edda, 2)
        with store.work(edda.club_id, by="Edda", writes=True) as session:
            code = invite(session, KEY, Role.COACH, "Cy Moor")
        join(store, code, cy)
        [joined] = [one.id for one in people.people(store, edda) if one.sign_in_name == "cy"]

        with pytest.raises(ActsElsewhere):
            second_factor.take_off(store, edda, joined)

    @pytest.mark.usefixtures("recovery")
    def test_the_command_line_takes_it_off(self, store: Store, account: Account) -> None:
        second_factor.take_off_named(store, "Edda")

        again = sign_in(store, account.sign_in_name, account.password)
        assert again is not None
        assert not again.waits_for_code
        with pytest.raises(NoSuchAccount):
            second_factor.take_off_named(store, "nobody")

    def test_it_is_turned_off_by_a_code_alone(
        self, store: Store, edda: SignedIn, recovery: list[str]
    ) -> None:
        """A phone left unlocked on the bench must not cost it."""
        with pytest.raises(CodeNotRight):
            second_factor.turn_off(store, KEY, edda, "000000")
        assert second_factor.is_on(store, edda)

        second_factor.turn_off(store, KEY, edda, recovery[0])
        assert not second_factor.is_on(store, edda)


class TestAClubThatAsksForIt:
    def test_finds_who_has_none(self, store: Store, edda: SignedIn, phone: Phone) -> None:
        second_factor.need(store, edda.club_id, needed=True)
        lacking = still_signed_in(store, edda.stamp)
        assert lacking is not None
        assert lacking.lacks_second_factor

        turned_on(store, edda, phone)
        having = still_signed_in(store, edda.stamp)
        assert having is not None
        assert not having.lacks_second_factor
        with store.work(edda.club_id, writes=False) as session:
            assert second_factor.is_needed(session)
