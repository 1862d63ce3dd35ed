"""The one place that keeps records final: whatever session meets an ``AppendOnly`` row."""

from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import event
from sqlalchemy.orm import ORMExecuteState, Session

from settingsdesk.store.base import AppendOnly, Base
from settingsdesk.store.errors import RecordIsFinal


@event.listens_for(Session, "before_flush")
def _refuse_changed_rows(session: Session, _context: Any, _instances: Any) -> None:
    changed = (row for row in _final(session.dirty) if session.is_modified(row))
    lost = (row for row in _final(session.deleted) if not _goes_with_its_whole(session, row))
    for row in (*changed, *lost):
        raise RecordIsFinal(row.spoken())


def _final(rows: Iterable[Any]) -> Iterator[Any]:
    return (row for row in rows if isinstance(row, AppendOnly) and isinstance(row, Base))


def _goes_with_its_whole(session: Session, row: Any) -> bool:
    return bool(row.part_of) and getattr(row, row.part_of) in session.deleted


@event.listens_for(Session, "do_orm_execute")
def _refuse_changing_statements(state: ORMExecuteState) -> None:
    if not (state.is_update or state.is_delete) or state.bind_mapper is None:
        return
    entity = state.bind_mapper.class_
    if issubclass(entity, AppendOnly) and issubclass(entity, Base):
        raise RecordIsFinal(entity.spoken())
