"""PostgreSQL: one database for several processes. Everything that only it knows is in this module.

What SQLite gives for nothing is asked for here. A unit of work that reads sees one moment
(REPEATABLE READ). One that writes waits for its turn in its club by an advisory lock, so that what
it read still holds when it writes, and no two ever wait for each other.
"""

from typing import Any

from sqlalchemy import (
    URL,
    Connection,
    Engine,
    ExceptionContext,
    Integer,
    bindparam,
    create_engine,
    event,
    func,
    select,
)
from sqlalchemy.pool import NullPool

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.errors import (
    DatabaseDoesNotAnswer,
    DeskIsBusy,
    DriverMissing,
    GivenUpForOthers,
    NoRoomLeft,
)

DRIVER = "postgresql+psycopg"

CONNECTIONS = 10
"""One for each thread that serves, and some that work by themselves."""
CONNECT_SECONDS = 5

ALL_CLUBS = 0
LOCKS = 0x5E77
"""The first of the two numbers of every lock of ours; the second is the club's."""
UPGRADING = -1

LOCK_NOT_AVAILABLE, DISK_FULL = "55P03", "53100"
GIVEN_UP = frozenset({"40001", "40P01"})
"""PostgreSQL, appendix A, error codes."""


def open_engine(url: URL, wait_seconds: float) -> Engine:
    """An engine for daily work; ``DriverMissing`` without psycopg."""
    engine = _made(
        url,
        isolation_level="REPEATABLE READ",
        pool_size=CONNECTIONS,
        pool_pre_ping=True,
    )
    _say_errors_in_words(engine, wait_seconds)
    return engine


def for_writing(engine: Engine) -> Engine:
    """The same pool, for transactions that see what was written before they had their turn."""
    return engine.execution_options(isolation_level="READ COMMITTED")


def for_looking(engine: Engine) -> Engine:
    """The same pool, for single statements that read."""
    return engine.execution_options(isolation_level="AUTOCOMMIT")


def open_for_upgrade(url: URL, wait_seconds: float) -> Engine:
    """An engine for one upgrade; another one that begins meanwhile waits for its end."""
    engine = for_writing(_made(url, poolclass=NullPool))
    _say_errors_in_words(engine, wait_seconds)

    @event.listens_for(engine, "begin")
    def _wait_for_others(connection: Connection) -> None:
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {round(wait_seconds * 1000)}")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCKS}, {UPGRADING})")

    return engine


def take_turn(connection: Connection, club_id: int | None) -> None:
    """Wait until nobody else writes in that club; with None, until nobody writes in any."""
    if club_id is None:
        connection.execute(_LOCK_ALL)
    else:
        connection.execute(_LOCK_CLUB, {"club": club_id})


_LOCK_ALL = select(func.pg_advisory_xact_lock(LOCKS, ALL_CLUBS))
_LOCK_CLUB = select(
    func.pg_advisory_xact_lock_shared(LOCKS, ALL_CLUBS),
    func.pg_advisory_xact_lock(LOCKS, bindparam("club", type_=Integer)),
)


def _made(url: URL, **settings: Any) -> Engine:
    try:
        return create_engine(
            url,
            hide_parameters=True,
            connect_args={
                "connect_timeout": CONNECT_SECONDS,
                "application_name": "settingsdesk",
                "client_encoding": "utf8",
            },
            **settings,
        )
    except ModuleNotFoundError as missing:
        raise DriverMissing from missing


def _say_errors_in_words(engine: Engine, wait_seconds: float) -> None:
    @event.listens_for(engine, "connect")
    def _wait_so_long(connection: Any, _record: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = {round(wait_seconds * 1000)}")
        connection.commit()

    @event.listens_for(engine, "handle_error")
    def _say_it(context: ExceptionContext) -> None:
        if context.is_pre_ping:
            return  # a connection that was cut while nobody used it is made anew
        error = context.original_exception
        said = _in_words(error, wait_seconds)
        if said is not None:
            raise said from error


def _in_words(error: BaseException, wait_seconds: float) -> SettingsDeskError | None:
    """What a coach can do about it; None where it is a mistake of the program."""
    import psycopg  # only where a server is used: it is an extra

    state = getattr(error, "sqlstate", None)
    if state == LOCK_NOT_AVAILABLE:
        return DeskIsBusy(wait_seconds)
    if state in GIVEN_UP:
        return GivenUpForOthers()
    if state == DISK_FULL:
        return NoRoomLeft()
    if isinstance(error, psycopg.OperationalError | psycopg.InterfaceError):
        return DatabaseDoesNotAnswer(str(error).strip().splitlines()[0] if str(error) else "")
    return None
