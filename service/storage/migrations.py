"""Bring a database to the newest shape, take it back, compare it with the tables."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry

from service.storage.engine import make_engine, seeing
from service.storage.tables import METADATA
from service.storage.tables.wall import build_wall
from service.usecases.base.whose import EveryFirm

# Any number that nobody else locks in the same database; PostgreSQL wants one of 64 bits.
ADVISORY_LOCK: Final = 0x636C697070696E67


class KeysBroken(Exception):
    """A migration left rows that name records which are not kept."""


def create(url: str) -> None:
    """Make an empty database's tables in the newest shape at once, where the migrations lead, too.

    What the migrations before took is not gone through; the next ones begin here.

    Parameters
    ----------
    url
        As `make_engine` takes it; of a database without tables.
    """
    with _alembic(url) as config:
        connection = config.attributes["connection"]
        METADATA.create_all(connection)
        build_wall(connection)
        command.stamp(config, "head")


def upgrade(url: str, revision: str = "head", *, folder: Path | None = None) -> None:
    """Bring the database to a revision, the newest if none is named, or leave it as it was.

    Two processes may do it at once: the second waits, and finds it done.

    Parameters
    ----------
    url
        As `make_engine` takes it.
    revision
        Where to go.
    folder
        Of the migrations; the service's own if none is named.

    Raises
    ------
    KeysBroken
        If a migration lost what others name.
    """
    with _alembic(url, folder) as config:
        command.upgrade(config, revision)


def downgrade(url: str, revision: str, *, folder: Path | None = None) -> None:
    """Take the database back to a revision; ``base`` is the empty database."""
    with _alembic(url, folder) as config:
        command.downgrade(config, revision)


def check(url: str, *, folder: Path | None = None) -> None:
    """Compare the database with the tables; on PostgreSQL, conditions only by their names.

    Raises
    ------
    alembic.util.CommandError
        If the database is not at the newest revision, or differs from the tables.
    """
    with _alembic(url, folder) as config:
        command.check(config)


def migrations_folder() -> Path:
    """Return the folder of the migrations: a wheel's own copy, else the checkout's."""
    package = Path(__file__).resolve().parents[1]
    bundled = package / "bundled" / "migrations"
    return bundled if bundled.is_dir() else package.parent / "migrations"


@contextmanager
def _alembic(url: str, folder: Path | None = None) -> Iterator[Config]:
    """Yield Alembic's configuration, bound to one transaction that is all or nothing."""
    config = Config(stdout=io.StringIO())
    config.set_main_option("script_location", str(folder or migrations_folder()).replace("%", "%%"))
    engine = seeing(make_engine(url, patient=True), EveryFirm.MIGRATIONS)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _leave_keys_alone)
    try:
        with engine.begin() as connection:
            if connection.dialect.name == "postgresql":
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({ADVISORY_LOCK})")
            config.attributes["connection"] = connection
            yield config
            _refuse_broken_keys(connection)
    finally:
        engine.dispose()


def _leave_keys_alone(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    # SQLite changes a table by copying it; with the keys on, dropping the old one would be refused
    # (SQLite, "ALTER TABLE", 7). They are looked at in the end instead.
    cursor = connection.cursor()
    cursor.execute("PRAGMA foreign_keys = OFF")
    cursor.close()


def _refuse_broken_keys(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchmany(5)
        if broken:
            raise KeysBroken(f"rows that name what is not kept: {broken}")
