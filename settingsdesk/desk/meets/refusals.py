"""What is refused of meets and entries, each in words that a host can act on."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import quoted


class MeetUnnamed(SettingsDeskError):
    """A meet was given no name."""

    sentence = "Enter the name of the meet"


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
        if self.begins_on == self.ends_on:
            return f"The session must be on the day of the meet, {day_in_words(self.begins_on)}"
        return (
            f"The session must be on a day of the meet: {day_in_words(self.begins_on)} to"
            f" {day_in_words(self.ends_on)}"
        )


class NotATimeOfDay(SettingsDeskError):
    """A session that begins at an hour and minute that no day has."""

    def __init__(self, typed: str) -> None:
        self.typed = typed

    def __str__(self) -> str:
        return f"No day has {quoted(self.typed)}: enter hours and minutes, as 09:30, or words"


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

    def __init__(self, apparatus: str, orders: Mapping[int, str], begun: Collection[int]) -> None:
        self.apparatus, self.orders, self.begun = apparatus, orders, begun
        self.rotation_id = next(iter(begun), next(iter(orders)))

    def __str__(self) -> str:
        told = "; ".join(self.orders.values())
        if self.begun:
            stays = "; ".join(
                words for number, words in self.orders.items() if number in self.begun
            )
            return (
                f"{self.apparatus} has start orders at this meet ({told}). What was begun stays on"
                f" record, and the apparatus with it ({stays}). To go on elsewhere, end the run"
                " there and set a start order for who is left on another apparatus; nothing has to"
                " be deleted for that"
            )
        return (
            f"{self.apparatus} has start orders at this meet ({told}): delete them first, each on"
            " its page"
        )


class AlreadyEntered(SettingsDeskError):
    """An athlete of the squad was entered twice."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} is entered for this meet already"


class NothingAsked(SettingsDeskError):
    """A request was settled that nobody had made."""

    sentence = "Nobody has asked to raise the rails on this apparatus: record the request first"


class EntryTooLong(SettingsDeskError):
    """A start number or a division for which cards and sheets have no room."""

    def __init__(self, what: str, words: str, most: int) -> None:
        self.what, self.words, self.most = what, words, most

    def __str__(self) -> str:
        return (
            f"a {self.what} has at most {self.most} characters; {quoted(self.words)} has"
            f" {len(self.words.strip())}"
        )


class NotAStartOrder(SettingsDeskError):
    """A rotation of the club's own training was asked for as a meet's start order."""

    sentence = "That rotation is no start order of a meet: look for it among the rotations"


class NotEntered(SettingsDeskError):
    """Somebody was listed who is not entered, or whose entry was withdrawn."""

    def __init__(self, meet: str) -> None:
        self.meet = meet

    def __str__(self) -> str:
        return f"Somebody on the list is not entered for {self.meet} any more: look at the entries"


class NoSuchRotationNumber(SettingsDeskError):
    """A session has not that many rotations."""

    def __init__(self, number: int, most: int) -> None:
        self.number, self.most = number, most

    def __str__(self) -> str:
        return f"The rotations of a session are numbered from 1 to {self.most}"


class RotationUnderWay(SettingsDeskError):
    """A start order was to be changed that is carried out already."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return (
            f"{self.name} has been begun: change the order at the apparatus, on the page of the"
            " station or of the run"
        )


class OrderIsSet(SettingsDeskError):
    """A start order was to be set or drawn where there is one already."""

    def __init__(self, where: str, came_by: str, set_by: str) -> None:
        self.where, self.came_by, self.set_by = where, came_by, set_by

    def __str__(self) -> str:
        return (
            f"{self.where} has a start order already, {self.came_by} by {self.set_by}: change that"
            " one on its page, or take it away there first"
        )


class OrderChanged(SettingsDeskError):
    """A start order was to be changed that somebody else has changed since it was looked at."""

    def __init__(self, where: str, set_by: str) -> None:
        self.where, self.set_by = where, set_by

    def __str__(self) -> str:
        return (
            f"{self.where} was changed meanwhile by {self.set_by}, and nothing was changed now:"
            " look at the order as it stands, and change it from there"
        )


class NotOnTheOrder(SettingsDeskError):
    """Somebody was to be moved who does not stand on the start order any more."""

    def __init__(self, where: str) -> None:
        self.where = where

    def __str__(self) -> str:
        return f"That athlete is no longer on {self.where}: load the page again"


class NobodyDrawn(SettingsDeskError):
    """A lot among nobody."""

    sentence = "Nobody who is entered is of what was ticked: tick other clubs or divisions"


class SessionsOnOtherDays(SettingsDeskError):
    """A meet was to be moved to days on which some of its sessions are not."""

    def __init__(self, sessions: str) -> None:
        self.sessions = sessions

    def __str__(self) -> str:
        return (
            f"{self.sessions} would not be on a day of the meet: give the meet days that hold all"
            " of its sessions, move those, then shorten it"
        )


class NoSuchLevel(SettingsDeskError):
    """A level that the rule book does not know for a kind: nothing of it would hold."""

    def __init__(self, level: str, rule_book: str, kind: str, levels: Sequence[str]) -> None:
        self.level, self.rule_book, self.kind, self.levels = level, rule_book, kind, tuple(levels)

    def __str__(self) -> str:
        there = "; ".join((*(quoted(level) for level in self.levels), "all levels"))
        return f"'{self.rule_book}' has no level '{self.level}' for {self.kind}: choose {there}"
