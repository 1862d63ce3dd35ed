"""What is refused of meets and entries, each in words that a host can act on."""

from datetime import date

from settingsdesk.domain.days import day_in_words
from settingsdesk.domain.errors import SettingsDeskError


class MeetUnnamed(SettingsDeskError):
    """A meet was given no name."""

    def __str__(self) -> str:
        return "Enter the name of the meet"


class DaysOutOfOrder(SettingsDeskError):
    """A meet that ends before it begins, or lasts longer than any meet."""

    def __init__(self, begins_on: date, ends_on: date, most_days: int) -> None:
        self.begins_on, self.ends_on, self.most_days = begins_on, ends_on, most_days

    def __str__(self) -> str:
        return (
            "The last day must not be before the first nor more than"
            f" {self.most_days} days after it: {day_in_words(self.begins_on)} to"
            f" {day_in_words(self.ends_on)} was given"
        )


class CardsEndTooEarlyOrLate(SettingsDeskError):
    """Cards that would end before their meet, or more than a year after it."""

    def __init__(self, ends_on: date, cards_until: date) -> None:
        self.ends_on, self.cards_until = ends_on, cards_until

    def __str__(self) -> str:
        return (
            "The cards' last day must be from the meet's last day"
            f" ({day_in_words(self.ends_on)}) to a year after it"
        )


class NotOnADayOfTheMeet(SettingsDeskError):
    """A session on a day that the meet does not have."""

    def __init__(self, begins_on: date, ends_on: date) -> None:
        self.begins_on, self.ends_on = begins_on, ends_on

    def __str__(self) -> str:
        return (
            f"The session must be on a day of the meet: {day_in_words(self.begins_on)} to"
            f" {day_in_words(self.ends_on)}"
        )


class NotOfThisMeet(SettingsDeskError):
    """A session or an apparatus that is no part of the meet."""

    def __init__(self, what: str, meet: str) -> None:
        self.what, self.meet = what, meet

    def __str__(self) -> str:
        return f"That {self.what} is no part of {self.meet}: choose one of this meet's"


class NoSuchRuleBook(SettingsDeskError):
    """A rule book was named that the club does not keep."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"There is no rule book '{self.name}' here: choose one of the list"


class ApparatusHasOrders(SettingsDeskError):
    """An apparatus was to be taken out of a meet that has start orders on it."""

    def __init__(self, apparatus: str) -> None:
        self.apparatus = apparatus

    def __str__(self) -> str:
        return f"{self.apparatus} has start orders at this meet: take those away first"


class AlreadyEntered(SettingsDeskError):
    """An athlete of the squad was entered twice."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} is entered for this meet already"


class NothingAsked(SettingsDeskError):
    """A request was settled that nobody had made."""

    def __str__(self) -> str:
        return "Nobody has asked to raise the rails on this apparatus: record the request first"
