"""Who changed what: one line for each unit of work that changed something, only ever added to.

It is written by the unit of work itself, so that no use case can forget it. It holds which tables,
which rows by number, which columns, and the numbers of the athletes they are about: no value of
any column, no name, no secret. What happens at the apparatus has its own record (``runs``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    Index,
    Insert,
    insert,
    inspect,
    literal,
    select,
    union_all,
)
from sqlalchemy.orm import Mapped, PassiveFlag, Session, mapped_column
from sqlalchemy.orm.attributes import get_history

from settingsdesk.domain.base.sentences import Sentence, recognised
from settingsdesk.domain.changeover.happenings import AT_A_STATION
from settingsdesk.store.base import AppendOnly, Base, ClubOwned, utc_now
from settingsdesk.store.clubs import Club
from settingsdesk.store.revisions import OF_NOTHING, OF_RUNS

ADDED, CHANGED, GONE, ERASED = "added", "changed", "gone", "erased"

PARTS = frozenset({"setting_value", "rotation_turn", "rotation_plan", "check_answer"})
"""Tables of what is nothing but a part of something that is told itself."""

WHO_MAY = frozenset({"membership", "invitation"})
"""Who was let in to the club, as what: on record, unlike what comes and goes with each device."""

NOT_ON_RECORD = PARTS | OF_RUNS | (OF_NOTHING - WHO_MAY) | {"change"}

NOT_TOLD = frozenset(
    {
        *("days_seen", "last_cleared", "records_revision", "runs_revision"),
        *("searched", "in_order", "heard_name"),
    }
)
"""Columns that the desk fills by itself."""

MOST_NUMBERS = 50
"""So many are told by number; of more, how many there are."""

THE_INSTALLATION = "the installation"
PROGRAM = frozenset(
    {"command line", "demo", "erased before", "kept long enough", "the planner", THE_INSTALLATION}
)
"""Who acts by a word and is nobody: the only words that are kept of who acts."""

A_PHONE, A_CARD = "a phone at a station", "somebody with a card"
UNNAMED = "the desk"
"""For who acts neither by an account nor from a station nor with a card."""

LEADS_TO = frozenset(
    {"apparatus", "apparatus_model", "apparatus_check", "finding", "meet", "part", "rotation"}
)
"""Tables of what has a page of its own, besides the athletes."""


class Change(AppendOnly, ClubOwned, Base):
    """What one unit of work changed."""

    __tablename__ = "change"
    __table_args__ = (
        Index(None, "club_id", "id"),
        CheckConstraint("account IS NULL OR account >= 1", name="account"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(default=utc_now)
    account: Mapped[int | None]
    """The number of whose account it was; empty where nobody was signed in."""
    by: Mapped[str]
    """By what, where it was nobody's account: a word of ``PROGRAM``, a phone, a card."""
    lines: Mapped[list[dict[str, Any]]]
    """Each with table, what, count, and where known numbers, columns, athletes."""


Key = tuple[int, str, str, tuple[str, ...]]
"""A club, a table, what was done, and to which columns."""


@dataclass(slots=True)
class _Line:
    count: int = 0
    numbers: list[int] = field(default_factory=list)
    athletes: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Notes:
    """What a unit of work has changed so far."""

    _lines: dict[Key, _Line] = field(default_factory=dict)

    def rows(self, session: Session) -> None:
        """Note what a flush of the session writes."""
        for what, rows in (
            (ADDED, session.new),
            (CHANGED, session.dirty),
            (GONE, session.deleted),
        ):
            for row in rows:
                columns = _changed(row) if what == CHANGED else ()
                if what == CHANGED and not columns:
                    continue
                club_id = row.id if isinstance(row, Club) else getattr(row, "club_id", None)
                number = getattr(row, "id", None)
                self.note(
                    club_id,
                    row.__tablename__,
                    what,
                    [number] if isinstance(number, int) else [],
                    columns=columns,
                    athletes=[getattr(row, "athlete_id", None)],
                )

    def note(
        self,
        club_id: int | None,
        table: str,
        what: str,
        numbers: Iterable[int],
        *,
        columns: tuple[str, ...] = (),
        athletes: Iterable[int | None] = (),
        count: int | None = None,
    ) -> None:
        """Note rows by number; ``count`` where they have none."""
        if club_id is None or table in NOT_ON_RECORD:
            return
        line = self._lines.setdefault((club_id, table, what, columns), _Line())
        those = list(numbers)
        line.count += max(len(those), 1) if count is None else count
        line.numbers += those
        line.athletes += [number for number in athletes if number is not None]

    def write(self, connection: Connection, account: int | None, by: str) -> None:
        """Write them, one row for each club."""
        rows = [
            {
                "club_id": club_id,
                "at": utc_now(),
                "account": account,
                "by": "" if account else _nobodys(by),
                "lines": [
                    _told(key, line) for key, line in self._lines.items() if key[0] == club_id
                ],
            }
            for club_id in dict.fromkeys(key[0] for key in self._lines)
        ]
        if rows:
            connection.execute(_writing(), rows)


@cache
def _writing() -> Insert:
    """What writes them, made once, and without asking for their numbers."""
    table: Any = inspect(Change).local_table
    return insert(table).inline()


def _told(key: Key, line: _Line) -> dict[str, Any]:
    _, table, what, columns = key
    told: dict[str, Any] = {"table": table, "what": what, "count": line.count}
    if columns:
        told["columns"] = list(columns)
    for name, numbers in (("numbers", line.numbers), ("athletes", line.athletes)):
        each = sorted(set(numbers))
        if each and len(each) <= MOST_NUMBERS:
            told[name] = each
    return told


def _changed(row: Base) -> tuple[str, ...]:
    state = inspect(row)
    touched = _columns_told(type(row)) - state.unmodified
    return tuple(
        sorted(
            column
            for column in touched
            if get_history(row, column, PassiveFlag.PASSIVE_NO_INITIALIZE).has_changes()
        )
    )


@cache
def _columns_told(entity: type[Base]) -> frozenset[str]:
    return frozenset(column.key for column in inspect(entity).column_attrs) - NOT_TOLD


def _nobodys(by: str) -> str:
    """A word for who acts without an account: no name that a volunteer typed."""
    if by in PROGRAM:
        return by
    if not by:
        return A_CARD
    return A_PHONE if isinstance(recognised(by, [AT_A_STATION]), Sentence) else UNNAMED


def latest(session: Session, most: int, before: int | None = None) -> Sequence[Change]:
    """The last changes, the newest first; ``before`` a number, where that page begins."""
    asked = select(Change).order_by(Change.id.desc()).limit(most)
    return session.scalars(asked if before is None else asked.where(Change.id < before)).all()


def still_there(session: Session, changes: Sequence[Change]) -> set[tuple[str, int]]:
    """Of the one row that a line is about: which have a page of their own still, by table."""
    if not changes:
        return set()
    asked: dict[str, set[int]] = {}
    for change in changes:
        for line in change.lines:
            if line["table"] in LEADS_TO and len(line.get("numbers", ())) == 1:
                asked.setdefault(line["table"], set()).update(line["numbers"])
    entities: dict[str, Any] = {
        mapper.class_.__tablename__: mapper.class_ for mapper in Base.registry.mappers
    }
    # One statement, whatever the lines are about.
    asks = [
        select(literal(table), entities[table].id).where(
            entities[table].club_id == changes[0].club_id,
            entities[table].id.in_(asked.get(table, ())),
        )
        for table in sorted(LEADS_TO)
    ]
    return {(table, number) for table, number in session.execute(union_all(*asks))}
