"""How often somebody may try in vain."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from settingsdesk.desk.accounts.failed_tries import (
    MOST_KEYS,
    PASSWORDS,
    REMARKS,
    SHORT_CODES,
    Attempts,
    TooManyAttempts,
)
from tests.conftest import Clock

HALL, HOME = "192.0.2.7", "198.51.100.9"  # addresses for documentation (RFC 5737)


@pytest.fixture
def attempts(clock: Clock) -> Attempts:
    """Nothing counted yet."""
    return Attempts(clock)


def fail(attempts: Attempts, times: int, name: str = "edda", address: str = HALL) -> None:
    """Try in vain so many times."""
    for _ in range(times):
        attempts.begin(name, address, PASSWORDS)


class TestOneNameAtOneAddress:
    def test_the_eleventh_try_must_wait_until_the_first_is_a_quarter_of_an_hour_old(
        self, attempts: Attempts, clock: Clock
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

    def test_after_the_wait_it_goes_on(self, attempts: Attempts, clock: Clock) -> None:
        """A coach who mistyped is not shut out for the day."""
        fail(attempts, 10)
        clock.seconds += 15 * 60

        fail(attempts, 10)

    def test_waiting_is_not_prolonged_by_trying_meanwhile(
        self, attempts: Attempts, clock: Clock
    ) -> None:
        """What is refused is not counted."""
        fail(attempts, 10)
        for _ in range(5):
            with pytest.raises(TooManyAttempts):
                fail(attempts, 1)
        clock.seconds += 15 * 60

        fail(attempts, 1)

    def test_success_forgets_the_failures(self, attempts: Attempts) -> None:
        """Nine slips, then the right one: the next nine slips are allowed again."""
        for _ in range(3):
            fail(attempts, 9)
            attempts.begin("edda", HALL, PASSWORDS)
            attempts.succeeded("edda", HALL, PASSWORDS)

    def test_the_coach_gets_in_from_elsewhere(self, attempts: Attempts) -> None:
        """A joker in the hall cannot lock the coach out at home."""
        fail(attempts, 10, address=HALL)

        fail(attempts, 1, address=HOME)

    def test_many_at_once_cannot_slip_through(self, attempts: Attempts) -> None:
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
    def test_it_may_fail_sixty_times_over_all_names(self, attempts: Attempts) -> None:
        """Trying one password with many names is guessing too."""
        for number in range(60):
            fail(attempts, 1, name=f"coach {number}")

        with pytest.raises(TooManyAttempts):
            fail(attempts, 1, name="another")
        fail(attempts, 1, name="another", address=HOME)

    def test_coaches_who_sign_in_rightly_are_not_counted(self, attempts: Attempts) -> None:
        """A whole club shares the address of its hall."""
        for number in range(100):
            attempts.begin(f"coach {number}", HALL, PASSWORDS)
            attempts.succeeded(f"coach {number}", HALL, PASSWORDS)


class TestOneName:
    def test_it_may_be_tried_a_hundred_times_from_everywhere(self, attempts: Attempts) -> None:
        """Guessing from many addresses is guessing."""
        for number in range(100):
            fail(attempts, 1, address=f"address {number}")

        with pytest.raises(TooManyAttempts):
            fail(attempts, 1, address="another")


class TestShortCodes:
    """Codes that people type are short, so guessing them is slowed down."""

    def test_ten_wrong_ones_a_minute_from_one_address(
        self, attempts: Attempts, clock: Clock
    ) -> None:
        """A volunteer who mixed two sheets up waits a minute, not a quarter of an hour."""
        for _ in range(10):
            attempts.begin("codes", HALL, SHORT_CODES)
        with pytest.raises(TooManyAttempts) as refused:
            attempts.begin("codes", HALL, SHORT_CODES)

        assert refused.value.wait_seconds == 60
        clock.seconds += 60
        attempts.begin("codes", HALL, SHORT_CODES)

    def test_a_hundred_an_hour_from_everywhere(self, attempts: Attempts, clock: Clock) -> None:
        for number in range(100):
            attempts.begin("codes", f"address {number}", SHORT_CODES)
        clock.seconds += 59 * 60
        with pytest.raises(TooManyAttempts):
            attempts.begin("codes", HOME, SHORT_CODES)

        clock.seconds += 60
        attempts.begin("codes", HOME, SHORT_CODES)

    def test_they_keep_no_coach_of_the_same_hall_from_signing_in(self, attempts: Attempts) -> None:
        for number in range(90):
            attempts.begin(f"codes {number}", HALL, SHORT_CODES)

        fail(attempts, 1)


class TestRemarks:
    """What a whole hall says about its cards comes from one address, and none of it has failed."""

    def test_those_about_one_card_wait_and_those_about_others_do_not(
        self, attempts: Attempts
    ) -> None:
        for _ in range(10):
            attempts.begin("remark about one", HALL, REMARKS)
        with pytest.raises(TooManyAttempts):
            attempts.begin("remark about one", HALL, REMARKS)

        for number in range(200):
            attempts.begin(f"remark about {number}", HALL, REMARKS)

    def test_they_keep_no_coach_of_the_same_hall_from_signing_in(self, attempts: Attempts) -> None:
        for number in range(200):
            attempts.begin(f"remark about {number}", HALL, REMARKS)

        fail(attempts, 1)


class TestMemory:
    def test_names_that_somebody_makes_up_do_not_fill_it(self, attempts: Attempts) -> None:
        """The older half is forgotten, the newest is not."""
        for number in range(MOST_KEYS):
            fail(attempts, 1, name=f"name {number}", address=f"address {number}")
        fail(attempts, 9, name="edda", address=HALL)

        fail(attempts, 1)
        with pytest.raises(TooManyAttempts):
            fail(attempts, 1)
        assert len(attempts._failures) <= MOST_KEYS + 3
