"""Check lists: the shipped ones, and what a club makes of them, version after version."""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.checks.checks import (
    CheckItem,
    CheckList,
    Group,
    Occasion,
    must_be_told_apart,
)
from settingsdesk.resources import folder
from settingsdesk.store import checks as kept_checks
from settingsdesk.store.work import ClubSession

OWN_SOURCE = "the club's own"
MOST_LETTERS_OF_AN_ITEM = 200


@dataclass(frozen=True, slots=True)
class SuggestedPart:
    """A part that usually lies in stock."""

    kind: str
    name: str
    minimum: int
    source: str


@dataclass(frozen=True, slots=True)
class ShippedEdition:
    """The edition of the shipped lists, and what came new with it."""

    number: int
    says: str


@dataclass(frozen=True, slots=True)
class ListVersion:
    """One version of a list from the record."""

    version: int
    items: int
    shipped: bool
    months: int | None
    recorded_at: datetime
    recorded_by: str


def shipped_list(kind_key: str, occasion: Occasion) -> CheckList:
    """The list that settingsdesk ships; ``NoSuchKind`` where there is no such kind."""
    items = tuple(
        CheckItem(line["key"], Group(line["group"]), line["words"], _sources()[line["source"]])
        for line in _shipped()["item"]
        if kind_of(kind_key).key in line["kinds"] and occasion.value in line["occasions"]
    )
    usual = occasion.interval.usual if occasion.interval else None
    return CheckList(kind_key, occasion, items, months=usual)


def suggested_parts() -> list[SuggestedPart]:
    """The parts that settingsdesk suggests."""
    return [
        SuggestedPart(line["kind"], line["name"], line["minimum"], _sources()[line["source"]])
        for line in _shipped()["part"]
    ]


def shipped_edition() -> ShippedEdition:
    """Which edition of the shipped lists this desk has."""
    return ShippedEdition(_shipped()["edition"], _shipped()["edition_says"])


def shipped_besides(present: CheckList) -> tuple[CheckItem, ...]:
    """What stands on the shipped list and not on a club's own, by its key or in the same words.

    An item that an edition says in other words has its key still: it is the same one.
    """
    keys = {item.key for item in present.items}
    own = {item.words.casefold() for item in present.items}
    shipped = shipped_list(present.kind, present.occasion)
    return tuple(
        item for item in shipped.items if item.key not in keys and item.words.casefold() not in own
    )


def check_list(session: ClubSession, kind_key: str, occasion: Occasion) -> CheckList:
    """The list that counts for a kind: the club's own, or the shipped one."""
    return check_lists(session, [kind_key])[kind_key, occasion]


def check_lists(
    session: ClubSession, kind_keys: Sequence[str]
) -> dict[tuple[str, Occasion], CheckList]:
    """Every list of those kinds that counts, in one query."""
    own = {(row.kind, row.occasion): row for row in kept_checks.latest_lists(session)}
    return {
        (kind, occasion): _counting(kind, occasion, own.get((kind, occasion.value)))
        for kind in kind_keys
        for occasion in Occasion
    }


def recheck_items(session: ClubSession, kind_key: str) -> tuple[CheckItem, ...]:
    """The short re-check after a change-over, item by item; ``NoSuchKind`` for no kind."""
    return check_list(session, kind_key, Occasion.AFTER_CHANGE_OVER).items


def list_history(session: ClubSession, kind_key: str, occasion: Occasion) -> list[ListVersion]:
    """Every version of the club's own list, the newest first."""
    return [
        ListVersion(
            row.version,
            len(row.items),
            row.shipped,
            row.interval_months or None,
            row.recorded_at,
            row.recorded_by,
        )
        for row in kept_checks.list_history(session, kind_key, occasion.value)
    ]


def keep_list(
    session: ClubSession,
    shown: CheckList,
    lines: Sequence[tuple[Group, str]],
    months: int | None,
) -> CheckList:
    """A new version of the club's own list: group and words of every item, in order.

    An item in the words of the list before, or of the shipped one, keeps its source; others are
    the club's own. Raises ``ListChangedMeanwhile`` where the list is no longer
    the one that was shown, besides what is wrong with an item or the interval.
    """
    present = check_list(session, shown.kind, shown.occasion)
    if present.version != shown.version:
        raise ListChangedMeanwhile
    interval = shown.occasion.interval
    chosen = interval.chosen(months or interval.usual) if interval else None
    items = _items(present, lines)
    kept_list = CheckList(shown.kind, shown.occasion, items, present.version + 1, chosen)
    if (present.items, present.months) == (kept_list.items, kept_list.months):
        return present
    data = [_to_data(item) for item in kept_list.items]
    return _add_version(session, kept_list, data)


def back_to_shipped(session: ClubSession, kind_key: str, occasion: Occasion) -> CheckList:
    """Use the shipped list again; the club's own versions stay on record."""
    present = check_list(session, kind_key, occasion)
    shipped = shipped_list(kind_key, occasion)
    if (present.items, present.months) == (shipped.items, shipped.months):
        return present
    again = CheckList(kind_key, occasion, shipped.items, present.version + 1, shipped.months)
    return _add_version(session, again, [])


def _add_version(
    session: ClubSession, counting: CheckList, items: list[dict[str, Any]]
) -> CheckList:
    session.add(
        kept_checks.CheckListVersion(
            kind=counting.kind,
            occasion=counting.occasion.value,
            version=counting.version,
            shipped=not items,
            items=items,
            interval_months=counting.months or 0,
            recorded_by=session.by,
        )
    )
    session.flush()
    return counting


def _items(present: CheckList, lines: Sequence[tuple[Group, str]]) -> tuple[CheckItem, ...]:
    shipped = shipped_list(present.kind, present.occasion)
    known = {(item.group, item.words): item for item in (*shipped.items, *present.items)}
    items = []
    for number, (group, told) in enumerate(lines, start=1):
        words = " ".join(told.split())
        if not 1 <= len(words) <= MOST_LETTERS_OF_AN_ITEM:
            raise NotAnItem(words)
        # Never a key of an older version: findings go by it.
        new = CheckItem(f"own_{present.version + 1}_{number}", group, words, OWN_SOURCE)
        items.append(known.get((group, words), new))
    must_be_told_apart(items)
    return tuple(items)


def _counting(kind: str, occasion: Occasion, own: kept_checks.CheckListVersion | None) -> CheckList:
    shipped = shipped_list(kind, occasion)
    if own is None:
        return shipped
    items = shipped.items if own.shipped else tuple(_from_data(line) for line in own.items)
    return CheckList(kind, occasion, items, own.version, own.interval_months or None)


def _to_data(item: CheckItem) -> dict[str, Any]:
    return {
        "key": item.key,
        "group": item.group.value,
        "words": item.words,
        "source": item.source,
    }


def _from_data(line: dict[str, Any]) -> CheckItem:
    return CheckItem(line["key"], Group(line["group"]), line["words"], line["source"])


@cache
def _shipped() -> dict[str, Any]:
    return tomllib.loads((folder("seed") / "checks.toml").read_text(encoding="utf-8"))


def _sources() -> dict[str, str]:
    sources: dict[str, str] = _shipped()["sources"]
    return sources


class ListChangedMeanwhile(SettingsDeskError):
    """A check list was changed by somebody else while its page was open (a page answers 409)."""

    sentence = (
        "This check list was changed while the page was open. Nothing was saved: look at the"
        " list as it is now, and change it once more"
    )


class NotAnItem(SettingsDeskError):
    """An item without words, or with more than fit a line or two."""

    def __init__(self, words: str) -> None:
        self.words = words

    def __str__(self) -> str:
        return (
            f"An item must have between 1 and {MOST_LETTERS_OF_AN_ITEM} letters;"
            f" this one has {len(self.words)}"
        )
