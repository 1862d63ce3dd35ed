"""How likely a year of guessing finds something, at the limits of this desk.

First order, p = guesses × what can be hit / all that can be. The requirement is NIST SP 800-63B-4,
3.2.2: at most 100 failures in a row on one account, and 20 bits and more where the rate is
limited; W3C TAG, "Good Practices for Capability URLs": 120 bits and more where it is not.
"""

from math import log2

import pytest

from settingsdesk.desk.accounts.failed_tries import (
    PASSWORDS,
    PASSWORDS_OF_KNOWN,
    SHORT_CODES,
    SHORT_CODES_OF_KNOWN,
    Limit,
)
from settingsdesk.desk.accounts.passwords import LEAST_GUESSES
from settingsdesk.desk.stations.stations import MOST_PHONES
from settingsdesk.domain.base.codes import CARD_CODE_LENGTH, SHORT_CODE_LENGTH, SYMBOLS

YEAR_S = 365 * 24 * 3600
CARDS, STATIONS = 10_000, 24
"""Of a large installation, all of them open all the year; the twelve halls of two meets at once."""

SECRET_SYMBOLS = SHORT_CODE_LENGTH - 1
"""The check character is no secret: anybody can work it out."""
SHORT_CODES_THERE_ARE = len(SYMBOLS) ** SECRET_SYMBOLS
LONG_CODES_THERE_ARE = 2**128
LONG_A_SECOND = 1_000
"""All that a machine of two cores answers."""


def in_a_year(limit: Limit | None) -> float:
    """How many guesses a limit leaves."""
    assert limit is not None
    return limit.tries * YEAR_S / limit.seconds


class TestTheMethod:
    """It finds the numbers that were worked out beforehand for meets of three days."""

    @pytest.mark.parametrize(
        ("symbols", "live", "an_hour", "p"),
        [
            (6, 200, 100, 1.6e-3),
            (8, 200, 100, 1.7e-6),
            (8, 10_000, 100, 8.4e-5),
            (10, 10_000, 600, 5.3e-7),
        ],
    )
    def test_three_days_of_a_meet(self, symbols: int, live: int, an_hour: int, p: float) -> None:
        assert an_hour * 72 * live / 31**symbols == pytest.approx(p, rel=0.05)


class TestAStationsCode:
    """Who has it may confirm what is set: a year of guessing finds none of 24 in 1 of 20,000."""

    def test_by_strangers(self) -> None:
        guesses = in_a_year(SHORT_CODES.everywhere)
        assert guesses == 876_000
        assert guesses * STATIONS / SHORT_CODES_THERE_ARE < 5e-5

    def test_by_two_hundred_phones_that_were_in_before(self) -> None:
        """Each is counted by itself: all together they guess less than one in a thousand years."""
        guesses = 200 * in_a_year(SHORT_CODES_OF_KNOWN.here)
        assert guesses * STATIONS / SHORT_CODES_THERE_ARE < 1e-3


class TestACardsCode:
    def test_typed_at_stations(self) -> None:
        """It opens no page; at the apparatus it says whose card it is, to a crew that sees her."""
        guesses = STATIONS * in_a_year(SHORT_CODES.everywhere)
        a_meets_cards = 200
        assert guesses * a_meets_cards / SHORT_CODES_THERE_ARE < 6e-3

    def test_scanned_or_typed_as_an_address(self) -> None:
        """Nothing holds it up but what the machine can answer; nothing has to."""
        assert len(SYMBOLS) ** CARD_CODE_LENGTH >= LONG_CODES_THERE_ARE
        assert log2(LONG_CODES_THERE_ARE) >= 120
        assert LONG_A_SECOND * YEAR_S * CARDS / LONG_CODES_THERE_ARE < 1e-24


class TestAPhoneThatWaits:
    def test_is_not_let_in_in_anothers_place(self) -> None:
        """Its code would have to be another phone's that the desk types in that moment."""
        phones_that_wait, let_in_a_year = 1_000_000, 24 * MOST_PHONES
        assert phones_that_wait * let_in_a_year / SHORT_CODES_THERE_ARE < 1e-3


class TestAPassword:
    def test_by_strangers_from_everywhere(self) -> None:
        """The weakest that is accepted stands for centuries."""
        assert LEAST_GUESSES / in_a_year(PASSWORDS.everywhere) > 1000

    def test_on_a_device_that_was_in_before(self) -> None:
        assert LEAST_GUESSES / in_a_year(PASSWORDS_OF_KNOWN.here) > 10_000
