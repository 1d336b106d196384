"""The database: how it is reached, and how its transactions begin."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from sqlite3 import OperationalError
from typing import Final, cast

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine.base import OptionEngine
from sqlalchemy.engine.interfaces import DBAPIConnection, ExceptionContext
from sqlalchemy.pool import ConnectionPoolEntry, Pool

from service.storage import json_text
from service.storage.faults import kind_of_fault
from service.storage.tables.wall import FIRM_SETTING, setting_of
from service.usecases.base.whose import EveryFirm, Whose

# How long anybody waits for another writer, for a connection or for the server before it gives up
# [s]. Common practice, no source: longer than any of our transactions lasts, and short enough that
# a caller hears of a fault within five seconds.
WAITS_S: Final = 4
PATIENT_S: Final = 60
# How long one statement may take [s]; the largest day is read in a tenth of that. Common practice.
STATEMENT_S: Final = 20
# How long a transaction may stand idle [s]: longer means that its program died. Common practice.
IDLE_S: Final = 30


def make_engine(url: str, *, patient: bool = False) -> Engine:
    """Return an engine for SQLite or PostgreSQL; nothing is connected yet.

    Parameters
    ----------
    url
        ``sqlite:///path`` or ``postgresql+psycopg://...``.
    patient
        Wait as long as it takes for others, and let statements take as long as they take: for who
        changes the tables, and nobody waits for.

    Raises
    ------
    ValueError
        If the database is of another kind.
    """
    kind = make_url(url).get_backend_name()
    if kind == "sqlite":
        engine = create_engine(
            url,
            json_serializer=json_text.written,
            json_deserializer=json_text.read,
            hide_parameters=True,  # names and addresses are in them; errors are logged
            connect_args={"timeout": PATIENT_S if patient else WAITS_S},
        )
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        engine.update_execution_options(reader=_SqliteReader(engine))
        return engine
    if kind == "postgresql":
        # Transactions that write run at READ COMMITTED, the server's default: each change is one
        # statement that names what it expects to find, and waits for a rival's and sees it.
        engine = create_engine(
            url,
            json_serializer=json_text.written,
            json_deserializer=json_text.read,
            hide_parameters=True,  # names and addresses are in them; errors are logged
            # A connection that a restart of the server broke is found before it is used.
            pool_pre_ping=True,
            pool_timeout=WAITS_S,
            connect_args={
                "connect_timeout": WAITS_S,
                # A server that is gone without a word is noticed by what it does not acknowledge
                # (its documentation, 34.1.2).
                "keepalives_idle": WAITS_S,
                "tcp_user_timeout": 1000 * STATEMENT_S,
                **({} if patient else {"options": _limits()}),
            },
        )
        event.listen(engine, "connect", _prepare_postgresql)
        event.listen(engine, "begin", _begin_postgresql)
        return engine
    raise ValueError(f"{kind} is neither sqlite nor postgresql")


def _limits() -> str:
    """Return the limits of a session (PostgreSQL's documentation, 20.11.1), in milliseconds."""
    limits = {
        "statement_timeout": STATEMENT_S,
        "lock_timeout": WAITS_S,
        "idle_in_transaction_session_timeout": IDLE_S,
    }
    return " ".join(f"-c {name}={1000 * seconds}" for name, seconds in limits.items())


def reading(engine: Engine) -> Engine:
    """Return the same engine for transactions that only read, each at one moment.

    PostgreSQL shows a moment throughout at REPEATABLE READ (its documentation, 13.2.2), SQLite in
    every transaction; there no reader waits for a writer or keeps one waiting.
    """
    reader: Engine | None = engine.get_execution_options().get("reader")
    return reader or engine.execution_options(only_reads=True)


def hear_faults(engine: Engine, heard: Callable[[str], None]) -> None:
    """Have somebody hear of each fault of the database itself: busy, or out of reach."""

    def hear(context: ExceptionContext) -> None:
        kind = kind_of_fault(context.sqlalchemy_exception or context.original_exception)
        if kind is not None:
            heard(kind)

    event.listen(engine, "handle_error", hear)


def seeing(engine: Engine, said: EveryFirm) -> Engine:
    """Return the same engine for what works across firms without a unit of work."""
    return engine.execution_options(whose=said)


def _prepare_postgresql(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    # The driver would send its own BEGIN as a message of its own; ours carries the firm with it.
    connection.autocommit = True


def _begin_postgresql(connection: Connection) -> None:
    # One message, as the driver's own BEGIN was: the wall between firms costs no way to the server.
    options = connection.get_execution_options()
    mode = " ISOLATION LEVEL REPEATABLE READ READ ONLY" if options.get("only_reads") else ""
    said: Whose | None = options.get("whose")
    seen = "" if said is None else f"; SET LOCAL {FIRM_SETTING} = '{setting_of(said)}'"
    connection.exec_driver_sql(f"BEGIN{mode}{seen}")


def _prepare_sqlite(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    # The driver would begin transactions by its own lights; we begin them ourselves.
    connection.isolation_level = None
    cursor = connection.cursor()
    # The mode is the file's, not ours: a rival may be just switching it in a new file.
    with suppress(OperationalError):
        cursor.execute("PRAGMA journal_mode = WAL")
    # Every commit is on the disk before it is answered for: WAL with NORMAL could lose the last
    # ones with the power (SQLite, "PRAGMA synchronous").
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _only_read(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    cursor = connection.cursor()
    cursor.execute("PRAGMA query_only = ON")
    cursor.close()


class _SqliteReader(OptionEngine):
    """An engine of SQLite with connections of its own that only read; events are the other's.

    To have a connection do now this and now that lets go of every statement that it has prepared
    (SQLite, "sqlite3_stmt_status", SQLITE_STMTSTATUS_REPREPARE): they cost more than the answers.
    """

    pool = cast("Pool", None)  # its own, not the other's

    def __init__(self, engine: Engine) -> None:
        super().__init__(engine, {"only_reads": True})
        self._open()
        event.listen(engine, "engine_disposed", self._close)

    def _open(self) -> None:
        self.pool = self._proxied.pool.recreate()
        event.listen(self.pool, "connect", _only_read)

    def _close(self, _engine: Engine) -> None:
        self.pool.dispose()
        self._open()


def _begin_sqlite(connection: Connection) -> None:
    # A transaction that reads first and writes later cannot wait for a rival any more, it can only
    # fail (SQLite, "Transaction", 2.2). So whoever may write takes its turn at the beginning.
    only_reads = connection.get_execution_options().get("only_reads", False)
    connection.exec_driver_sql("BEGIN" if only_reads else "BEGIN IMMEDIATE")
