"""Units of work, and the one place where clubs are kept apart.

``Store.work`` gives a session that sees and touches one club only, whatever is asked of it.
"""

import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TypeVar, cast
from weakref import WeakKeyDictionary

from sqlalchemy import (
    URL,
    Connection,
    Engine,
    Integer,
    Row,
    Select,
    bindparam,
    event,
    false,
    insert,
    inspect,
)
from sqlalchemy.orm import ORMExecuteState, Session, with_loader_criteria
from sqlalchemy.orm.attributes import get_history

from settingsdesk.store import revisions
from settingsdesk.store.base import Base, ClubOwned, InstallationWide
from settingsdesk.store.clubs import Club
from settingsdesk.store.engine import (
    WAIT_SECONDS,
    database_file,
    for_looking,
    for_writing,
    leave_no_traces,
    open_engine,
    take_turn,
)
from settingsdesk.store.errors import (
    BelongsToAnotherClub,
    DeskIsBusy,
    GivenUpForOthers,
    NobodyActs,
    NotFenced,
    OpenedForReading,
)
from settingsdesk.store.record import ADDED, CHANGED, GONE, THE_INSTALLATION, Notes

TRIES = 3
"""So often at most is done what the database gives up for somebody else."""

T = TypeVar("T")


class DeskSession(Session):
    """The session of one unit of work; what it read stays readable after its end."""

    def __init__(self, engine: Engine, folder: Path | None, *, writes: bool):
        super().__init__(engine, expire_on_commit=False)
        self.folder = folder
        self.writes = writes
        self.notes = Notes()

    def put_on_record(self, connection: Connection) -> None:
        """Say what was changed, by somebody who is not known here yet."""
        self.notes.write(connection, None, THE_INSTALLATION)

    @contextmanager
    def or_nothing(self) -> Iterator[None]:
        """A block that counts as a whole: where it raises, its unit of work keeps nothing.

        Whoever catches that may go on reading, for instance to show a form again.
        """
        try:
            yield
        except BaseException:
            self.expunge_all()  # what waits to be written is forgotten, what was read stays
            self.writes = False
            raise


class ClubSession(DeskSession):
    """A session fenced in to one club, and who acts in it."""

    def __init__(
        self,
        engine: Engine,
        folder: Path | None,
        club_id: int,
        by: str,
        account: int | None,
        *,
        writes: bool,
    ):
        super().__init__(engine, folder, writes=writes)
        self.club_id = club_id
        self.account = account
        self._by = by

    @property
    def by(self) -> str:
        """Who acts, as it is written beside what is put on record; ``NobodyActs`` without one."""
        if not self._by:
            raise NobodyActs("What is put on record here says who did it: name them in Store.work")
        return self._by

    def put_on_record(self, connection: Connection) -> None:
        """Say who changed what, in the same transaction."""
        self.notes.write(connection, self.account, self._by)


Opened = TypeVar("Opened", bound=DeskSession)


class Store:
    """The database of one installation: one per process, shared by its threads.

    ``where`` is the path of an SQLite file or a database address; its tables are made by
    ``migrate.upgrade``. ``folder`` keeps what lies beside a server's database; beside a file it
    is the file's.
    """

    def __init__(
        self,
        where: str | Path,
        *,
        folder: Path | None = None,
        wait_seconds: float = WAIT_SECONDS,
    ):
        self._readers = open_engine(where, wait_seconds=wait_seconds)
        self._writers = for_writing(self._readers)
        self._lookers = for_looking(self._readers)
        revisions.note_writing(self._writers)
        file = database_file(self._readers.url)
        self.folder = file.parent if file else folder
        self._wait_seconds = wait_seconds
        # SQLite does not hand out turns to write fairly; waiting in line here first does.
        self._turn_to_write = threading.Lock()

    @contextmanager
    def work(
        self, club_id: int, *, by: str = "", account: int | None = None, writes: bool
    ) -> Iterator[ClubSession]:
        """One unit of work inside one club, in which ``by`` acts: a coach, a phone, the planner.

        ``account`` is the coach's number, for the record of changes.

        Every query meets this club's rows only, new rows become this club's. With ``writes`` all
        of it is committed when the block ends, or nothing when it raises.

        Raises ``DeskIsBusy`` when there is no turn to write, ``BelongsToAnotherClub`` when a row
        of another club is about to be written.
        """
        engine = self._writers if writes else self._readers
        session = ClubSession(engine, self.folder, club_id, by, account, writes=writes)
        with self._unit(session, club_id):
            yield session

    @contextmanager
    def installation(self, *, writes: bool) -> Iterator[Session]:
        """One unit of work over all clubs.

        Only for what cannot know its club yet: signing in by name, finding a card by its code,
        making a club.
        """
        engine = self._writers if writes else self._readers
        with self._unit(DeskSession(engine, self.folder, writes=writes), None) as session:
            yield session

    def row(self, asked: Select[*tuple[Any, ...]], **given: object) -> Row[*tuple[Any, ...]] | None:
        """The one row, of all clubs, that a statement finds by what is given; None without one.

        For the little that every request asks before anything else: it costs a fifth of a unit of
        work.
        """

        def look() -> Row[*tuple[Any, ...]] | None:
            with self._lookers.connect() as connection:
                return connection.execute(asked, given).one_or_none()

        return self.again(look)

    def again(self, do: Callable[[], T]) -> T:
        """What is done by ``do``, once more where the database gave it up for somebody else.

        Only for whole units of work that can be done anew: nothing of the one that was given up was
        kept, and ``do`` changes nothing besides. ``GivenUpForOthers`` after ``TRIES``.
        """
        for _ in range(TRIES - 1):
            with suppress(GivenUpForOthers):
                return do()
        return do()

    @property
    def address(self) -> URL:
        """Where the database is."""
        return self._readers.url

    def leave_no_traces(self) -> None:
        """Write the database anew without what was deleted from it; ``DeskIsBusy``, ``NoRoomLeft``.

        Nobody writes meanwhile.
        """
        with self._turn():
            leave_no_traces(self._lookers, Base.metadata.sorted_tables, self._wait_seconds)

    def close(self) -> None:
        """Let go of every connection, for instance before a worker process is forked."""
        for engine in (self._readers, self._writers, self._lookers):
            engine.dispose()

    @contextmanager
    def _unit(self, session: Opened, club_id: int | None) -> Iterator[Opened]:
        if not session.writes:
            with session:
                yield session
                session.flush()  # refuses what was changed here instead of dropping it unsaid
            return
        with self._turn(), session:
            # It begins here, so that having to wait shows before any work.
            take_turn(session.connection(), club_id)
            written = revisions.noted(session.connection())
            yield session
            session.flush()
            if session.writes:
                revisions.renew(session.connection(), club_id, written)
                session.put_on_record(session.connection())
                session.commit()

    @contextmanager
    def _turn(self) -> Iterator[None]:
        if not self._turn_to_write.acquire(timeout=self._wait_seconds):
            raise DeskIsBusy(self._wait_seconds)
        try:
            yield
        finally:
            self._turn_to_write.release()


def add_rows(
    session: Session, entity: type[ClubOwned], rows: Sequence[Mapping[str, Any]]
) -> list[int]:
    """Many new rows of this club, without an object for each; their numbers, in that order.

    An object takes ten times as long as its row, and a list of athletes brings thousands. What
    ``session.add`` would fill in by an event has to be in the rows. ``OpenedForReading`` as there.
    """
    if not isinstance(session, ClubSession):
        raise NotFenced("Rows that belong to a club are added inside that club")
    if not session.writes:
        raise OpenedForReading("This unit of work was opened with writes=False")
    if not rows:
        return []
    session.flush()  # what they refer to
    table: Any = inspect(entity).local_table
    statement = insert(table).returning(table.c.id, sort_by_parameter_order=True)
    fenced = [{**row, "club_id": session.club_id} for row in rows]
    numbers = list(session.connection().execute(statement, fenced).scalars())
    session.notes.note(
        session.club_id,
        table.name,
        ADDED,
        numbers,
        athletes=[row.get("athlete_id") for row in rows],
    )
    return numbers


@event.listens_for(DeskSession, "before_flush")
def _refuse_writing_while_reading(session: DeskSession, _context: Any, _instances: Any) -> None:
    if not session.writes:
        raise OpenedForReading("This unit of work was opened with writes=False")


@event.listens_for(DeskSession, "do_orm_execute")
def _refuse_changing_while_reading(state: ORMExecuteState) -> None:
    session = state.session
    if isinstance(session, DeskSession) and not session.writes and not state.is_select:
        raise OpenedForReading("This unit of work was opened with writes=False")


@event.listens_for(DeskSession, "after_flush")
def _note_what_was_written(session: DeskSession, _context: Any) -> None:
    session.notes.rows(session)


@event.listens_for(DeskSession, "do_orm_execute")
def _note_changing_statements(state: ORMExecuteState) -> None:
    session = state.session
    if not isinstance(session, ClubSession) or state.bind_mapper is None:
        return
    if state.is_update or state.is_delete:
        table = state.bind_mapper.class_.__tablename__
        session.notes.note(session.club_id, table, GONE if state.is_delete else CHANGED, ())


_THIS_CLUB = bindparam("settingsdesk_club_id", type_=Integer)

# The club is given with each execution, so that one fence stands for every club: a statement that
# came to the database without it would not be executed at all.
_FENCE = (
    with_loader_criteria(ClubOwned, lambda row: row.club_id == _THIS_CLUB, include_aliases=True),
    with_loader_criteria(Club, lambda club: club.id == _THIS_CLUB, include_aliases=True),
    with_loader_criteria(InstallationWide, lambda _row: false(), include_aliases=True),
)


_FENCED: WeakKeyDictionary[Any, Any] = WeakKeyDictionary()
"""Statements that are asked again and again, fenced once: what tells them apart is worked out from
all of a statement, and anew for each that was made anew."""


def _fenced(asked: Any) -> Any:
    fenced = _FENCED.get(asked)
    if fenced is None:
        fenced = _FENCED[asked] = asked.options(*_FENCE)
    return fenced


@event.listens_for(ClubSession, "do_orm_execute")
def _meet_one_club_only(state: ORMExecuteState) -> None:
    if not isinstance(state.session, ClubSession):
        return
    written_by_hand = not state.is_orm_statement or state.is_from_statement
    if written_by_hand or state.is_insert or state.is_executemany:
        raise NotFenced("Inside a club, ask by mapped class and add rows with session.add")
    state.statement = _fenced(state.statement)
    given = cast("Mapping[str, Any]", state.parameters or {})
    state.parameters = {**given, _THIS_CLUB.key: state.session.club_id}


@event.listens_for(ClubSession, "before_flush")
def _write_one_club_only(session: ClubSession, _context: Any, _instances: Any) -> None:
    for row in session.new:
        if isinstance(row, ClubOwned) and not row.club_id:
            row.club_id = session.club_id
    for row in (*session.new, *session.dirty, *session.deleted):
        if isinstance(row, InstallationWide):
            raise NotFenced("What belongs to no club is written in Store.installation")
        if _clubs_of(row) != {session.club_id}:
            raise BelongsToAnotherClub(row.spoken())


def _clubs_of(row: Base) -> set[int]:
    """The club of the row as it was read, and the one it would be written with."""
    column = "id" if isinstance(row, Club) else "club_id"
    return set(get_history(row, column).sum())
