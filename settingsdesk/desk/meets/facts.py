"""What is announced of a meet: name, hall, days, and how long its cards count."""

from dataclasses import dataclass
from datetime import date, timedelta

from settingsdesk.desk.meets.refusals import (
    CardsEndTooEarlyOrLate,
    DaysOutOfOrder,
    MeetUnnamed,
)
from settingsdesk.desk.squad.athletes import must_be_printable
from settingsdesk.domain.base.days import day_in_words

CARDS_LAST_DAYS = 30
"""So many days after a meet its cards end, unless the host says otherwise."""

LONGEST_CARDS_LAST_DAYS = 366
MOST_DAYS = 31


@dataclass(frozen=True, slots=True)
class MeetFacts:
    """What is announced of a meet; ``cards_until`` is the last day on which its cards count."""

    name: str
    hall: str
    begins_on: date
    ends_on: date
    cards_until: date
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise MeetUnnamed
        for words in (self.name, self.hall):
            must_be_printable(words)
        if not 0 <= (self.ends_on - self.begins_on).days <= MOST_DAYS:
            raise DaysOutOfOrder(self.begins_on, self.ends_on, MOST_DAYS)
        if not 0 <= (self.cards_until - self.ends_on).days <= LONGEST_CARDS_LAST_DAYS:
            raise CardsEndTooEarlyOrLate(self.ends_on, self.cards_until)

    @property
    def days_in_words(self) -> str:
        """ "5 December 2026", or "5 December 2026 to 6 December 2026"."""
        days = dict.fromkeys((self.begins_on, self.ends_on))
        return " to ".join(map(day_in_words, days))

    @staticmethod
    def usual_end_of_cards(ends_on: date) -> date:
        """When the cards of a meet end unless the host says otherwise."""
        return ends_on + timedelta(days=CARDS_LAST_DAYS)
