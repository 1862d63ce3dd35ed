"""Checks of an apparatus: occasions, lists of items, what is answered, and when the next is due."""

from calendar import monthrange
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence

SOON_DAYS = 14
"""So many days before it is due a check is named on the day's page."""

MOST_LETTERS_OF_A_REMARK = 2000
MOST_ITEMS = 60


class Occasion(Enum):
    """When a check is made."""

    BEFORE_USE = "before_use"
    AFTER_CHANGE_OVER = "after_change_over"
    OPERATIONAL = "operational"
    YEARLY = "yearly"

    @property
    def words(self) -> str:
        """The name that a page or a paper gives it."""
        return {
            "before_use": "Check before use",
            "after_change_over": "Re-check after a change-over",
            "operational": "Operational check",
            "yearly": "Yearly check",
        }[self.value]

    @property
    def in_a_sentence(self) -> Sentence:
        """The name inside a sentence: "yearly check"."""
        return {
            "before_use": Sentence("check before use"),
            "after_change_over": Sentence("re-check after a change-over"),
            "operational": Sentence("operational check"),
            "yearly": Sentence("yearly check"),
        }[self.value]

    @property
    def meant_for(self) -> str:
        """Who makes it, and when; the intervals are those of EN 1176-7:2008, 6.2."""
        return {
            "before_use": "Every day before the first turn: seen, felt and tried.",
            "after_change_over": "Short, after every change-over, by a second person where there"
            " is one.",
            "operational": "By hand, every 1 to 3 months, never less often than the maker says.",
            "yearly": "By a qualified person, at least once a year.",
        }[self.value]

    @property
    def interval(self) -> "Interval | None":
        """How often it is made; None where it belongs to a day or a change-over."""
        return _INTERVALS.get(self)

    @property
    def may_answer_together(self) -> bool:
        """Whether untouched items may be put in order by one further press.

        Only in the routine, where twenty single presses a day would soon be made blindly; the
        record says which items they were. Whoever makes one of the thorough checks answers for
        each item.
        """
        return self.interval is None


@dataclass(frozen=True, slots=True)
class Interval:
    """How many months may pass between two checks: the usual, and what a club may choose."""

    usual: int
    least: int
    most: int

    def chosen(self, months: int) -> int:
        """The club's choice; ``IntervalNotPossible`` where it is not within bounds."""
        if not self.least <= months <= self.most:
            raise IntervalNotPossible(months, self)
        return months


_INTERVALS = {Occasion.OPERATIONAL: Interval(3, 1, 3), Occasion.YEARLY: Interval(12, 1, 12)}


class Group(Enum):
    """The components by which items are grouped, in the order in which one walks round."""

    CLOSURES = "closures"
    LOCKS = "locks"
    CABLES = "cables"
    ANCHORS = "anchors"
    COLLARS_AND_PINS = "collars_and_pins"
    RAIL_SURFACE = "rail_surface"
    MATS_AND_PADS = "mats_and_pads"
    ADJUSTMENT_LOCKS = "adjustment_locks"

    @property
    def words(self) -> str:
        """The heading of the group."""
        return {
            "closures": "Closures",
            "locks": "Locks and handles",
            "cables": "Cables and turnbuckles",
            "anchors": "Anchors and feet",
            "collars_and_pins": "Collars, joints and pins",
            "rail_surface": "Rail and other surfaces",
            "mats_and_pads": "Mats and pads",
            "adjustment_locks": "Adjustment locks",
        }[self.value]

    @property
    def stops_use(self) -> bool:
        """Whether somebody hangs on these parts, so that a fault in them stops the use at once.

        Each of their items is answered by itself. A mat can be pushed to its place, and is looked
        at again before every turn.
        """
        return self is not Group.MATS_AND_PADS


class Besides(Enum):
    """What is looked at in a check besides the items of its list."""

    LOOK_AGAIN = "look_again"

    @property
    def words(self) -> str:
        """The heading over it."""
        return "To check again"


class Answer(Enum):
    """What is said of an item."""

    IN_ORDER = "in_order"
    NOTE = "note"
    WITHDRAW = "withdraw"

    @property
    def words(self) -> str:
        """The choice as it stands on the page."""
        return {"in_order": "OK", "note": "Needs attention", "withdraw": "Out of use"}[self.value]


@dataclass(frozen=True, slots=True)
class CheckItem:
    """One thing to look at. ``source`` says who asks for it, or that nobody published does."""

    key: str
    group: Group | Besides
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class CheckList:
    """The items of one kind and occasion, group by group.

    ``version`` is that of the club's own list, or 0 for the shipped one. ``months`` may pass
    until the next check; None where the occasion has no interval.
    """

    kind: str
    occasion: Occasion
    items: tuple[CheckItem, ...]
    version: int = 0
    months: int | None = None

    def __post_init__(self) -> None:
        order: list[Group | Besides] = list(Group)
        ranked = tuple(sorted(self.items, key=lambda item: order.index(item.group)))
        object.__setattr__(self, "items", ranked)
        if not 1 <= len(self.items) <= MOST_ITEMS:
            raise NotThatManyItems(len(self.items))

    @property
    def groups(self) -> tuple[tuple[Group, tuple[CheckItem, ...]], ...]:
        """The groups that have items, each with its own."""
        return tuple(
            (group, tuple(item for item in self.items if item.group is group))
            for group in Group
            if any(item.group is group for item in self.items)
        )


@dataclass(frozen=True, slots=True)
class Reply:
    """What somebody put beside an item; ``answer`` is None where nothing was chosen."""

    answer: Answer | None
    remark: str = ""
    photographed: bool = False

    @property
    def untouched(self) -> bool:
        """Whether nothing at all was put beside the item."""
        return self.answer is None and not self.remark.strip() and not self.photographed


@dataclass(frozen=True, slots=True)
class Answered:
    """An item with its answer; ``together`` where one press answered it along with others."""

    item: CheckItem
    answer: Answer
    remark: str
    together: bool


def answered(
    asked: CheckList,
    replies: Mapping[str, Reply],
    *,
    rest_in_order: bool = False,
    together: Collection[Group] = (),
    besides: Sequence[CheckItem] = (),
) -> tuple[Answered, ...]:
    """Every item of the list with its answer, in the list's order.

    ``rest_in_order`` puts the items that nobody touched in order, and says so of each; ``together``
    does so for some groups, none of which ``stops_use``. ``besides`` are items that may be left as
    they are; those that somebody touched come last. Raises ``NoSuchItem`` for a reply to none of
    the items, ``NotAnswered`` where an item lacks an answer, ``EachByItself`` where the occasion or
    a group asks for every item by itself, ``NothingSaid`` where a note or a withdrawal does not say
    what is wrong, ``RemarkTooLong``.
    """
    _must_be_of_the_list((*asked.items, *besides), replies)
    if (rest_in_order or together) and not asked.occasion.may_answer_together:
        raise EachByItself(asked.occasion.words)
    for group in together:
        if group.stops_use:
            raise EachByItself(group.words)
    told = {item.key: replies.get(item.key, Reply(None)) for item in (*asked.items, *besides)}
    items = (*asked.items, *(item for item in besides if not told[item.key].untouched))
    open_items = [
        item
        for item in items
        if told[item.key].answer is None
        and not (told[item.key].untouched and (rest_in_order or item.group in together))
    ]
    if open_items:
        raise NotAnswered(open_items)
    silent = [item for item in items if _says_nothing(told[item.key])]
    if silent:
        raise NothingSaid(silent)
    return tuple(_answered(item, told[item.key]) for item in items)


def _must_be_of_the_list(items: Iterable[CheckItem], replies: Mapping[str, Reply]) -> None:
    known = {item.key for item in items}
    for key, reply in replies.items():
        if key not in known:
            raise NoSuchItem(key)
        if len(reply.remark) > MOST_LETTERS_OF_A_REMARK:
            raise RemarkTooLong(len(reply.remark))


def _says_nothing(reply: Reply) -> bool:
    return reply.answer in (Answer.NOTE, Answer.WITHDRAW) and not reply.remark.strip()


def _answered(item: CheckItem, reply: Reply) -> Answered:
    if reply.answer is None:
        return Answered(item, Answer.IN_ORDER, "", together=True)
    return Answered(item, reply.answer, reply.remark.strip(), together=False)


class Standing(Enum):
    """How a check that is made at intervals stands on a day."""

    NEVER_MADE = "never made"
    OVERDUE = "overdue"
    DUE_SOON = "due soon"
    MADE = "made"


@dataclass(frozen=True, slots=True)
class Due:
    """When a check was made last, and by which day the next must be."""

    occasion: Occasion
    made_on: date | None
    due_on: date | None

    def standing(self, on: date) -> Standing:
        """How it stands on that day."""
        if self.due_on is None:
            return Standing.NEVER_MADE
        if on > self.due_on:
            return Standing.OVERDUE
        soon = on >= self.due_on - timedelta(days=SOON_DAYS)
        return Standing.DUE_SOON if soon else Standing.MADE


def next_due(occasion: Occasion, made_on: date | None, months: int) -> Due:
    """The last day on which the next check is still in time: ``months`` after the last one."""
    return Due(occasion, made_on, None if made_on is None else _months_later(made_on, months))


def _months_later(day: date, months: int) -> date:
    """The same day of a later month, or that month's last day."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def in_list(items: Iterable[CheckItem]) -> str:
    """What items are called in a refusal: the words of the first three, and how many more."""
    words = [f"“{item.words}”" for item in items]
    more = len(words) - 3
    return "; ".join(words[:3]) + (f" and {more} more" if more > 0 else "")


def must_be_told_apart(items: Iterable[CheckItem]) -> None:
    """Raise ``ItemTwice`` where two items say the same."""
    seen: set[str] = set()
    for item in items:
        if item.words.casefold() in seen:
            raise ItemTwice(item.words)
        seen.add(item.words.casefold())


class NoSuchOccasion(SettingsDeskError):
    """An occasion was named that there is not."""

    def __init__(self, key: str) -> None:
        self.key = key

    def __str__(self) -> str:
        known = ", ".join(occasion.value for occasion in Occasion)
        return f"'{self.key}' is no occasion for a check; the occasions are {known}"


class NoSuchItem(SettingsDeskError):
    """An answer was given to an item that is not on the list."""

    def __init__(self, key: str) -> None:
        self.key = key

    def __str__(self) -> str:
        return (
            f"The list has no item '{self.key[:40]}'. Load the page again and answer the items that"
            " it shows"
        )


class NotAnswered(SettingsDeskError):
    """Items were left without an answer."""

    def __init__(self, items: Iterable[CheckItem]) -> None:
        self.items = tuple(items)

    def __str__(self) -> str:
        count = len(self.items)
        left = "1 item is" if count == 1 else f"{count} items are"
        first = "it is" if count == 1 else "the first is"
        return f"{left} not answered yet; {first} “{self.items[0].words}”"


class NothingSaid(SettingsDeskError):
    """A note or a withdrawal does not say what was seen."""

    def __init__(self, items: Iterable[CheckItem]) -> None:
        self.items = tuple(items)

    def __str__(self) -> str:
        return f"Say in the remark what you saw, so that it can be put right: {in_list(self.items)}"


class EachByItself(SettingsDeskError):
    """Several items of a thorough check, or of parts that hold, were answered in one press."""

    def __init__(self, whose: str) -> None:
        self.whose = whose

    def __str__(self) -> str:
        return f"{self.whose}: answer every item by itself"


class RemarkTooLong(SettingsDeskError):
    """A remark with more letters than are kept."""

    def __init__(self, letters: int) -> None:
        self.letters = letters

    def __str__(self) -> str:
        return (
            f"A remark must have {MOST_LETTERS_OF_A_REMARK} letters or fewer; it has {self.letters}"
        )


class NotThatManyItems(SettingsDeskError):
    """A list without items, or with more than anybody goes through."""

    def __init__(self, count: int) -> None:
        self.count = count

    def __str__(self) -> str:
        return f"A check list must have between 1 and {MOST_ITEMS} items; this one has {self.count}"


class ItemTwice(SettingsDeskError):
    """Two items of a list say the same."""

    def __init__(self, words: str) -> None:
        self.words = words

    def __str__(self) -> str:
        return f"“{self.words}” stands on the list twice: leave one of the two"


class IntervalNotPossible(SettingsDeskError):
    """A check was to be made more seldom than it may, or more often than monthly."""

    def __init__(self, months: int, interval: Interval) -> None:
        self.months, self.interval = months, interval

    def __str__(self) -> str:
        return (
            f"The check must come round every {self.interval.least} to {self.interval.most} months;"
            f" {self.months} was given"
        )


def occasion_of(key: str) -> Occasion:
    """The occasion of that key, or ``NoSuchOccasion``."""
    try:
        return Occasion(key)
    except ValueError:
        raise NoSuchOccasion(key) from None
