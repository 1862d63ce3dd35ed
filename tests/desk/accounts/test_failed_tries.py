"""How often somebody may try in vain."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import select

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts.failed_tries import (
    MOST_KEYS,
    MOST_KEYS_IN_COMMON,
    PASSWORDS,
    PASSWORDS_OF_KNOWN,
    REMARKS,
    SHORT_CODES,
    Attempts,
    FailedTries,
    TooManyAttempts,
    whence,
)
from settingsdesk.desk.workers import SeveralWorkers
from settingsdesk.store.clubs import Revision, club_by_id
from settingsdesk.store.failed_tries import FailedTry
from settingsdesk.store.work import Store
from tests.conftest import Account, Clock

HALL, HOME = "192.0.2.7", "198.51.100.9"  # addresses for documentation (RFC 5737)


AnyCount = Attempts | FailedTries
SECRET = b"k" * 32


@pytest.fixture(params=["in memory", "in memory of all workers", "in the database"])
def attempts(request: pytest.FixtureRequest, clock: Clock, tmp_path: Path) -> AnyCount:
    """Nothing counted yet; what holds for one way to count is tried with all."""
    if request.param == "in memory":
        return Attempts(SECRET, clock)
    if request.param == "in memory of all workers":
        return Attempts(SECRET, clock, SeveralWorkers(tmp_path / "workers"))
    return FailedTries(request.getfixturevalue("store"), SECRET, clock)


def fail(attempts: AnyCount, times: int, name: str = "edda", address: str = HALL) -> None:
    """Try in vain so many times."""
    for _ in range(times):
        attempts.begin(name, address, PASSWORDS)


class TestOneNameAtOneAddress:
    def test_the_eleventh_try_must_wait_until_the_first_is_a_quarter_of_an_hour_old(
        self, attempts: AnyCount, clock: Clock
    ) -> None:
        """Nobody guesses a password by trying."""
        fail(attempts, 10)
        clock.seconds += 60

        with pytest.raises(TooManyAttempts) as refused:
            fail(attempts, 1)

        assert refused.value.wait_seconds == 14 * 60
        assert str(refused.value) == (
            "There were too many tries that did not succeed. Wait 14 minutes, then try again"
        )

    def test_after_the_wait_it_goes_on(self, attempts: AnyCount, clock: Clock) -> None:
        """A coach who mistyped is not shut out for the day."""
        fail(attempts, 10)
        clock.seconds += 15 * 60

        fail(attempts, 10)

    def test_waiting_is_not_prolonged_by_trying_meanwhile(
        self, attempts: AnyCount, clock: Clock
    ) -> None:
        """What is refused is not counted."""
        fail(attempts, 10)
        for _ in range(5):
            with pytest.raises(TooManyAttempts):
                fail(attempts, 1)
        clock.seconds += 15 * 60

        fail(attempts, 1)

    def test_success_forgets_the_failures(self, attempts: AnyCount) -> None:
        """Nine slips, then the right one: the next nine slips are allowed again."""
        for _ in range(3):
            fail(attempts, 9)
            attempts.begin("edda", HALL, PASSWORDS)
            attempts.succeeded("edda", HALL, PASSWORDS)

    def test_the_coach_gets_in_from_elsewhere(self, attempts: AnyCount) -> None:
        """A joker in the hall cannot lock the coach out at home."""
        fail(attempts, 10, address=HALL)

        fail(attempts, 1, address=HOME)

    def test_many_at_once_cannot_slip_through(self, attempts: AnyCount) -> None:
        """Each try is counted before it is made."""

        def one_try(_: int) -> bool:
            try:
                attempts.begin("edda", HALL, PASSWORDS)
            except TooManyAttempts:
                return False
            return True

        with ThreadPoolExecutor(16) as threads:
            made = sum(threads.map(one_try, range(200)))

        assert made == 10


class TestOneAddress:
    def test_it_may_fail_sixty_times_over_all_names(self, attempts: AnyCount) -> None:
        """Trying one password with many names is guessing too."""
        for number in range(60):
            fail(attempts, 1, name=f"coach {number}")

        with pytest.raises(TooManyAttempts):
            fail(attempts, 1, name="another")
        fail(attempts, 1, name="another", address=HOME)

    def test_coaches_who_sign_in_rightly_are_not_counted(self, attempts: AnyCount) -> None:
        """A whole club shares the address of its hall."""
        for number in range(100):
            attempts.begin(f"coach {number}", HALL, PASSWORDS)
            attempts.succeeded(f"coach {number}", HALL, PASSWORDS)


class TestOneName:
    def test_it_may_be_tried_a_hundred_times_from_everywhere(self, attempts: AnyCount) -> None:
        """Guessing from many addresses is guessing."""
        for number in range(100):
            fail(attempts, 1, address=f"address {number}")

        with pytest.raises(TooManyAttempts):
            fail(attempts, 1, address="another")


class TestShortCodes:
    """Codes that people type are short, so guessing them is slowed down."""

    def test_ten_wrong_ones_a_minute_from_one_address(
        self, attempts: AnyCount, clock: Clock
    ) -> None:
        """A volunteer who mixed two sheets up waits a minute, not a quarter of an hour."""
        for _ in range(10):
            attempts.begin("codes", HALL, SHORT_CODES)
        with pytest.raises(TooManyAttempts) as refused:
            attempts.begin("codes", HALL, SHORT_CODES)

        assert refused.value.wait_seconds == 60
        clock.seconds += 60
        attempts.begin("codes", HALL, SHORT_CODES)

    def test_a_hundred_an_hour_from_everywhere(self, attempts: AnyCount, clock: Clock) -> None:
        for number in range(100):
            attempts.begin("codes", f"address {number}", SHORT_CODES)
        clock.seconds += 59 * 60
        with pytest.raises(TooManyAttempts):
            attempts.begin("codes", HOME, SHORT_CODES)

        clock.seconds += 60
        attempts.begin("codes", HOME, SHORT_CODES)

    def test_they_keep_no_coach_of_the_same_hall_from_signing_in(self, attempts: AnyCount) -> None:
        for number in range(90):
            attempts.begin(f"codes {number}", HALL, SHORT_CODES)

        fail(attempts, 1)


class TestRemarks:
    """What a whole hall says about its cards comes from one address, and none of it has failed."""

    def test_those_about_one_card_wait_and_those_about_others_do_not(
        self, attempts: AnyCount
    ) -> None:
        for _ in range(10):
            attempts.begin("remark about one", HALL, REMARKS)
        with pytest.raises(TooManyAttempts):
            attempts.begin("remark about one", HALL, REMARKS)

        for number in range(200):
            attempts.begin(f"remark about {number}", HALL, REMARKS)

    def test_they_keep_no_coach_of_the_same_hall_from_signing_in(self, attempts: AnyCount) -> None:
        for number in range(200):
            attempts.begin(f"remark about {number}", HALL, REMARKS)

        fail(attempts, 1)


class TestAKnownDevice:
    """On which somebody was let in before."""

    def test_is_counted_by_itself(self, attempts: AnyCount) -> None:
        """Whatever others try: nobody keeps the coach out from elsewhere."""
        for number in range(100):
            fail(attempts, 1, address=f"address {number}")

        for _ in range(10):
            attempts.begin("edda", "device 1", PASSWORDS_OF_KNOWN)
        with pytest.raises(TooManyAttempts):
            attempts.begin("edda", "device 1", PASSWORDS_OF_KNOWN)
        attempts.begin("edda", "device 2", PASSWORDS_OF_KNOWN)


class TestAWrongClock:
    def test_that_was_ahead_keeps_nobody_out(self, attempts: AnyCount, clock: Clock) -> None:
        """A computer begins in another year, counts, and is put right."""
        clock.seconds += 10**8
        fail(attempts, 10)
        clock.seconds -= 10**8

        fail(attempts, 10)


class TestTheDatabase:
    @pytest.fixture
    def counts(self, store: Store, clock: Clock) -> FailedTries:
        return FailedTries(store, SECRET, clock)

    def test_counts_for_every_worker_and_over_restarts(
        self, counts: FailedTries, data: DataFolder, clock: Clock
    ) -> None:
        """Whoever can have the desk restarted does not begin anew."""
        fail(counts, 10)
        store = Store(data.where)

        with pytest.raises(TooManyAttempts):
            fail(FailedTries(store, SECRET, clock), 1)
        store.close()

    def test_holds_nothing_for_longer_than_it_counts(
        self, counts: FailedTries, store: Store, clock: Clock
    ) -> None:
        fail(counts, 10)
        clock.seconds += 24 * 3600 + 1
        fail(counts, 1, name="another", address=HOME)

        with store.installation(writes=False) as session:
            assert len(session.scalars(select(FailedTry.id)).all()) == 3

    def test_holds_no_name_and_no_address(
        self, counts: FailedTries, store: Store, data: DataFolder
    ) -> None:
        """People type their password into the wrong box."""
        fail(counts, 1, name="lanterns over seven wet roofs")
        store.close()

        kept = b"".join(file.read_bytes() for file in data.path.glob("settingsdesk.sqlite3*"))
        assert b"lanterns over seven" not in kept
        assert HALL.encode() not in kept

    def test_makes_no_page_old(self, counts: FailedTries, store: Store, account: Account) -> None:
        """Else whoever guesses would have every card read anew."""
        with store.installation(writes=False) as session:
            before = Revision.of(club_by_id(session, account.club_id))
        fail(counts, 3)
        counts.succeeded("edda", HALL, PASSWORDS)

        with store.installation(writes=False) as session:
            assert Revision.of(club_by_id(session, account.club_id)) == before


class TestFromWhere:
    @pytest.mark.parametrize(
        ("address", "counted"),
        [
            ("192.0.2.7", "192.0.2.7"),
            ("::ffff:192.0.2.7", "192.0.2.7"),
            ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
            (None, "unknown"),
            ("a socket", "unknown"),
        ],
    )
    def test_of_ipv6_a_whole_household_is_one(self, address: str | None, counted: str) -> None:
        """Addresses for documentation of RFC 5737 and RFC 3849."""
        assert whence(address) == counted


class TestMemory:
    def test_names_that_somebody_makes_up_do_not_fill_it(self, clock: Clock) -> None:
        """The older half is forgotten, the newest is not."""
        attempts = Attempts(SECRET, clock)
        for number in range(MOST_KEYS):
            fail(attempts, 1, name=f"name {number}", address=f"address {number}")
        fail(attempts, 9, name="edda", address=HALL)

        fail(attempts, 1)
        with pytest.raises(TooManyAttempts):
            fail(attempts, 1)
        with attempts._failures() as failures:
            assert len(failures) <= MOST_KEYS + 3

    def test_nor_the_memory_of_all_workers(self, clock: Clock, tmp_path: Path) -> None:
        attempts = Attempts(SECRET, clock, SeveralWorkers(tmp_path / "workers"))
        for number in range(MOST_KEYS_IN_COMMON // 2):
            fail(attempts, 1, name=f"name {number}", address=f"address {number}")
        with attempts._failures() as failures:
            assert len(failures) <= MOST_KEYS_IN_COMMON + 3

    def test_workers_count_together_and_write_down_no_name(
        self, clock: Clock, tmp_path: Path
    ) -> None:
        workers = [Attempts(SECRET, clock, SeveralWorkers(tmp_path / "workers")) for _ in range(2)]
        for attempts in workers:
            fail(attempts, 5)

        with pytest.raises(TooManyAttempts):
            fail(workers[0], 1)
        told = (tmp_path / "workers" / "tries.json").read_text()
        assert "edda" not in told
        assert HALL not in told

    @pytest.mark.parametrize("together", [False, True])
    def test_who_tried_is_found_by_no_trying_of_addresses(
        self, clock: Clock, tmp_path: Path, together: bool
    ) -> None:
        """There are few enough of them to work out the hash of each: a secret is in it."""

        def kept(secret: bytes) -> set[str]:
            folder = tmp_path / secret.hex()
            attempts = Attempts(secret, clock, SeveralWorkers(folder) if together else None)
            fail(attempts, 1)
            with attempts._failures() as failures:
                return set(failures)

        assert len(kept(SECRET)) == 3
        assert not kept(SECRET) & kept(b"another secret")
