"""Taking an athlete's person out of every table, also out of records that are final otherwise.

What an erasure deletes or changes goes by the tables themselves: ``append_only`` keeps records from
being rewritten, and a family's wish stands above that. Every statement here is fenced in by hand.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import JSON, String, cast, delete, inspect, literal, select, union, update

from settingsdesk.domain.base.names import usual_name
from settingsdesk.store.apparatus import Apparatus
from settingsdesk.store.apparatus_models import ApparatusModel
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, ClubOwned
from settingsdesk.store.clubs import Club, Membership
from settingsdesk.store.errors import OpenedForReading
from settingsdesk.store.meets import Meet
from settingsdesk.store.of_one_athlete import ITS_OWN, PARTS
from settingsdesk.store.record import ERASED
from settingsdesk.store.rotations import RotationTurn
from settingsdesk.store.taking_away import delete as delete_row
from settingsdesk.store.taking_away import turns_of
from settingsdesk.store.work import ClubSession

NO_NAMES = frozenset(
    {
        *(
            "lines",
            "result",
            "stops",
            "definition",
            "measurements",
            "fitted",
            "printed_version",
        ),
        *("axis", "group_key", "item", "kind", "occasion", "step", "word"),
        *("code_hash", "id", "key", "layout_key", "press_key", "short_code_mark", "stamp_hash"),
    }
)
"""Columns of keys, codes and figures, in which nobody writes a name."""

NOT_SWEPT = frozenset({"athlete", "card", "change", "coach", "photo", "sign_in"})
"""Tables of others' own names, of accounts, of pictures, and the record, which holds no names."""

SHORTEST_ALONE = 3
"""A shorter family name is looked for with the given name only."""


@dataclass(frozen=True, slots=True)
class Written:
    """Words that somebody wrote in which an athlete's name stands; ``becomes`` is without it."""

    table: str
    column: str
    text: str
    becomes: Any


def _is_listed(session: ClubSession, athlete_id: int) -> bool:
    """Whether an athlete stands on the list of any rotation."""
    asked = select(RotationTurn.id).where(RotationTurn.athlete_id == athlete_id).limit(1)
    return session.scalar(asked) is not None


def take_out(session: ClubSession, row: Athlete, called: str, on: date) -> None:
    """Delete all that is an athlete's own, and the name wherever anybody wrote it.

    Where runs or lists refer to the athlete the row stays, ``called`` by its number.
    """
    if not session.writes:
        raise OpenedForReading("This unit of work was opened with writes=False")
    athlete_id = row.id
    session.flush()
    session.notes.note(session.club_id, Athlete.__tablename__, ERASED, [athlete_id])
    for found in written(session, row, called):
        _write(session, found)
    _delete_its_own(session, athlete_id)
    if _is_listed(session, athlete_id) or turns_of(session, row).count:
        _make_nameless(row, called, on)
        session.flush()
    else:
        session.expire(row)  # what was deleted above it is not to be deleted again
        delete_row(session, row)


def written(session: ClubSession, row: Athlete, called: str) -> list[Written]:
    """Where a club's people wrote the athlete's name, and the words without it."""
    names = re.compile("|".join(_forms(session, row)))
    found = []
    for table, column, text in session.connection().execute(_every_text(session.club_id)):
        told = json.loads(text) if _is_json(table, column) and text else text
        becomes = _without(told, names, called)
        if becomes != told:
            found.append(Written(table, column, text, becomes))
    return found


def _is_json(table: str, column: str) -> bool:
    return isinstance(Base.metadata.tables[table].c[column].type, JSON)


def _forms(session: ClubSession, row: Athlete) -> Iterator[str]:
    """The ways in which somebody may have written the name."""
    family, given = row.family_name.strip(), row.given_name.strip()
    printed = row.printed_name.strip() or usual_name(family, given)
    whole = [f"{given} {family}", f"{family} {given}", f"{family}, {given}"] if given else []
    whole = whole if family else [given]
    family_elsewhere, printed_elsewhere = _others_alike(session, row, family)
    # Alone it means this athlete where it is nobody else's, and no word of the hall.
    is_theirs = len(family) >= SHORTEST_ALONE and not family_elsewhere
    alone = [family] if is_theirs and not _is_word_of_the_hall(session, family) else []
    if " " in printed and not printed_elsewhere:
        whole.append(printed)
    for name in dict.fromkeys(name for name in (*whole, *alone) if name):
        for form in dict.fromkeys((name, name.upper())):
            yield rf"(?<!\w){re.escape(form)}(?!\w)"


def _others_alike(session: ClubSession, row: Athlete, family: str) -> tuple[bool, bool]:
    """Whether anybody else has that family name, and whether anybody has the name on cards."""
    has_family, has_whole = Athlete.family_name == family, Athlete.heard_name == row.heard_name
    asked = select(has_family, has_whole).where(has_family | has_whole, Athlete.id != row.id)
    asked = asked.where(Athlete.taken_into_id.is_distinct_from(row.id)).distinct()
    found = session.execute(asked).all()
    return any(one for one, _ in found), any(one for _, one in found)


def _is_word_of_the_hall(session: ClubSession, family: str) -> bool:
    """Whether that word alone stands in what something here is called."""
    called = (Club.name, Membership.shown_name, Apparatus.name, ApparatusModel.name, Meet.name)
    named = union(*(_texts(column, session.club_id) for column in called))
    words = {
        word.casefold()
        for (name,) in session.connection().execute(named)
        for word in re.findall(r"\w+", name)
    }
    return family.casefold() in words


def _texts(column: Any, club_id: int) -> Any:
    table: Any = inspect(column.class_).local_table
    whose = table.c.id if column.class_ is Club else table.c.club_id
    return select(table.c[column.key]).where(whose == club_id)


def _every_text(club_id: int) -> Any:
    """Each text of a club's people once, with its table and column, in one statement."""
    asked = []
    for mapper in Base.registry.mappers:
        table: Any = mapper.local_table
        if not issubclass(mapper.class_, ClubOwned) or table.name in NOT_SWEPT:
            continue
        for column in table.columns:
            if isinstance(column.type, (String, JSON)) and column.name not in NO_NAMES:
                words = cast(column, String) if isinstance(column.type, JSON) else column
                named = (literal(table.name), literal(column.name), words)
                asked.append(select(*named).where(table.c.club_id == club_id))
    return union(*asked)


def _without(told: Any, names: re.Pattern[str], called: str) -> Any:
    match told:
        case str():
            return names.sub(called, told)
        case list():
            return [_without(one, names, called) for one in told]
        case dict():
            return {
                names.sub(called, key): _without(one, names, called) for key, one in told.items()
            }
    return told


def _write(session: ClubSession, found: Written) -> None:
    table = Base.metadata.tables[found.table]
    column = table.c[found.column]
    words = cast(column, String) if _is_json(found.table, found.column) else column
    here = (table.c.club_id == session.club_id) & (words == found.text)
    session.connection().execute(update(table).where(here).values({column: found.becomes}))


def _delete_its_own(session: ClubSession, athlete_id: int) -> None:
    connection = session.connection()
    for column, entity in PARTS:
        parts = _table(inspect(column.class_).class_)
        whole = _table(entity)
        its_own = select(whole.c.id).where(_of(whole, session.club_id, athlete_id))
        here = (parts.c.club_id == session.club_id) & parts.c[column.key].in_(its_own)
        connection.execute(delete(parts).where(here))
    for entity in ITS_OWN:
        table = _table(entity)
        connection.execute(delete(table).where(_of(table, session.club_id, athlete_id)))


def _of(table: Any, club_id: int, athlete_id: int) -> Any:
    return (table.c.club_id == club_id) & (table.c.athlete_id == athlete_id)


def _table(entity: type[Any]) -> Any:
    return inspect(entity).local_table


def _make_nameless(row: Athlete, called: str, on: date) -> None:
    row.family_name, row.given_name, row.printed_name = called, "", called
    row.group_name, row.start_number = "", ""
    row.left_on, row.erased_on, row.taken_into_id = row.left_on or on, on, None
