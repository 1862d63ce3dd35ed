"""Revisions: two numbers for each club, each another one after every change of what it stands for.

Whoever has worked something out from a club's records may keep it for as long as the number is
still the one that was read before. The number is in the database, renewed by the transaction that
writes, and read anew for every question: so it holds for every process that serves the desk, and
nothing needs to be told to be forgotten.

There are two, because a hall confirms a step every few seconds all day and changes all else
seldom. ``runs`` is renewed by what happens at the apparatus: runs, their events, what stands
there. ``records`` is renewed by everything else that is written, whatever it is: a new table
counts from its first row on, and only what is named in ``OF_RUNS`` and ``OF_NOTHING`` does not. A
card reads of runs only whether the work is stopped, and what stops it or lets it go on says so by
``renews_records``: a confirmation leaves the cards' pages alone. A station's page, or the coach's
at the bars, reads both, and is old as soon as either is another one.

A number is drawn and not counted: a database that was put back from a copy never meets a page that
was kept under the same number.
"""

import secrets
from collections.abc import Set
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Engine, Update, bindparam, event, inspect, update
from sqlalchemy.orm import Session

from settingsdesk.store.clubs import Club

# By name: the tables' own modules write through units of work, which renew these numbers.
OF_RUNS = frozenset({"run", "run_event", "apparatus_setup"})
"""The tables of what happens at the apparatus."""

OF_NOTHING = frozenset(
    {
        *("account", "membership", "invitation", "sign_in", "failed_try"),
        "recovery_code",
        *("station_phone", "station_let_in"),
    }
)
"""The tables of who is in and may come in, which every request asks for anew."""

WRITTEN = "settingsdesk_written"
ANY_TABLE = "any"
"""What was written by a statement that does not say to which table."""
A_RECORD = "a record"
"""What is written where something of the runs' tables is shown by what reads only the records."""


def note_writing(engine: Engine) -> None:
    """Have every statement of that engine say to ``noted`` which table it writes."""

    def note(context: Any) -> None:
        written = context.execution_options.get(WRITTEN)
        if written is None:
            return  # of no unit of work: the dialect finds out what it is connected to
        statement = getattr(context.compiled, "statement", None)
        if statement is None or not (statement.is_dml or statement.is_select):
            written.add(ANY_TABLE)
        elif statement.is_dml:
            written.add(statement.table.name)

    # At the driver's door: a listener at the engine would be paid for by every step before it too.
    @event.listens_for(engine, "do_execute")
    @event.listens_for(engine, "do_executemany")
    def _note_with_values(_cursor: Any, _statement: str, _values: Any, context: Any) -> None:
        note(context)

    @event.listens_for(engine, "do_execute_no_params")
    def _note_plain(_cursor: Any, _statement: str, context: Any) -> None:
        note(context)


def noted(connection: Connection) -> Set[str]:
    """The tables that are written through a connection from now on, for ``renew``."""
    written: set[str] = set()
    connection.execution_options(**{WRITTEN: written})
    return written


def renews_records(session: Session) -> None:
    """Have a unit of work renew the records' number, whichever tables it writes."""
    written: set[str] = session.connection().get_execution_options()[WRITTEN]
    written.add(A_RECORD)


def renew(connection: Connection, club_id: int | None, written: Set[str]) -> None:
    """Renew the numbers of what was written, in the same transaction.

    Those of one club; or of all, where it is not known whose rows were written.
    """
    halves = []
    if written & OF_RUNS:
        halves.append("runs_revision")
    if written - OF_RUNS - OF_NOTHING:
        halves.append("records_revision")
    if halves:
        drawn = {f"new_{half}": _drawn() for half in halves}
        connection.execute(_renewing(tuple(halves), club_id), drawn)


@lru_cache(maxsize=256)
def _renewing(halves: tuple[str, ...], club_id: int | None) -> Update:
    """What renews those, made once: it takes longer to make than to execute."""
    clubs: Any = inspect(Club).local_table
    asked = update(clubs).values({half: bindparam(f"new_{half}") for half in halves})
    return asked if club_id is None else asked.where(clubs.c.id == club_id)


def _drawn() -> int:
    return secrets.randbits(62)
