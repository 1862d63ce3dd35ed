"""The club's rule books: kept as data, and asked whether a setting is outside them."""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any, TypeVar

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import kind_of
from settingsdesk.domain.hall.rule_books import (
    OutsideRule,
    Rule,
    RuleBook,
    Standing,
    WarmUp,
    outside,
)
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.store import rule_books as kept_rule_books
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

Told = TypeVar("Told")


def all_books(session: ClubSession) -> list[RuleBook]:
    """The club's rule books by name."""
    return [book_from_data(row.definition) for row in kept_rule_books.all_rule_books(session)]


def keep_book(session: ClubSession, book: RuleBook) -> None:
    """Keep a rule book; one of the same name is replaced whole."""
    data = book_to_data(book)
    for row in kept_rule_books.all_rule_books(session):
        if row.name == book.name:
            row.definition, row.edited_at, row.edited_by = data, utc_now(), session.by
            break
    else:
        session.add(kept_rule_books.RuleBook(name=book.name, definition=data, edited_by=session.by))
    session.flush()


def keep_shipped(session: ClubSession, file: Path) -> None:
    """Keep the rule books of a file that is shipped, for the club to correct and complete."""
    for data in tomllib.loads(file.read_text(encoding="utf-8"))["book"]:
        keep_book(session, book_from_data(data))


def outside_any(
    books: Iterable[RuleBook], setting: Setting, level: str = ""
) -> tuple[OutsideRule, ...]:
    """Every rule of those books that a setting is outside of: warnings, nothing more."""
    measures_mm = {axis: float(wanted.wanted_mm) for axis, wanted in setting.axes.items()}
    return outside(books, setting.kind, level, measures_mm)


def book_to_data(book: RuleBook) -> dict[str, Any]:
    """A rule book as JSON-ready data."""
    return {
        "name": book.name,
        "rule": [
            {
                "kind": rule.kind,
                "axis": rule.axis,
                "level": rule.level,
                "least_mm": rule.least_mm,
                "most_mm": rule.most_mm,
                "source": rule.source,
                "edition": rule.edition,
                "standing": rule.standing.name.lower(),
                "remark": rule.remark,
            }
            for rule in book.rules
        ],
        "warm_up": [
            {**asdict(warm_up), "standing": warm_up.standing.name.lower()}
            for warm_up in book.warm_ups
        ],
    }


def book_from_data(data: Mapping[str, Any]) -> RuleBook:
    """The rule book that such data describe; ``NotARuleBook`` names the rule that does not fit."""
    name = str(data.get("name", ""))
    rules = _each(name, "Rule", data.get("rule", []), _rule)
    return RuleBook(name, rules, _each(name, "Warm-up", data.get("warm_up", []), _warm_up))


def _each(
    book: str, what: str, lines: Iterable[Any], read: Callable[[Mapping[str, Any]], Told]
) -> tuple[Told, ...]:
    told = []
    for place, line in enumerate(lines, start=1):
        try:
            told.append(read(line))
        except (KeyError, TypeError) as wrong:
            raise NotARuleBook(book, what, place, str(wrong)) from wrong
    return tuple(told)


def _rule(line: Mapping[str, Any]) -> Rule:
    kind = kind_of(line["kind"])
    return Rule(
        kind=kind.key,
        axis=kind.axis(line["axis"]).key,
        level=str(line.get("level", "")),
        least_mm=line.get("least_mm"),
        most_mm=line.get("most_mm"),
        source=str(line["source"]),
        edition=str(line.get("edition", "")),
        standing=Standing[str(line["standing"]).upper()],
        remark=str(line.get("remark", "")),
    )


def _warm_up(line: Mapping[str, Any]) -> WarmUp:
    return WarmUp(
        kind=kind_of(line["kind"]).key,
        level=str(line.get("level", "")),
        seconds=int(line["seconds"]),
        shared=bool(line["shared"]),
        with_preparing=bool(line["with_preparing"]),
        source=str(line["source"]),
        edition=str(line.get("edition", "")),
        standing=Standing[str(line["standing"]).upper()],
        remark=str(line.get("remark", "")),
    )


class NotARuleBook(SettingsDeskError):
    """Data that do not describe a rule book."""

    def __init__(self, name: str, part: str, place: int, what: str) -> None:
        self.name, self.part, self.place, self.what = name, part, place, what

    def __str__(self) -> str:
        return f"{self.part} {self.place} of rule book '{self.name}' lacks or misnames {self.what}"
