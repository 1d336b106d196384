"""Copies of a database that is in use, and the way back.

SQLite's file alone lacks what stands in its log (`-wal`), and copied while somebody writes it may
be torn: it is copied by SQLite's own backup. PostgreSQL is copied by its own programs.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Final

from sqlalchemy import URL, inspect, make_url, text

from service.storage.engine import make_engine

# Debian keeps the programs of each version here; the newest reads servers of every older one.
_DEBIAN: Final = Path("/usr/lib/postgresql")
_MARK: Final = "alembic_version"


class BackupRefused(Exception):
    """A copy that cannot be made, or must not be put back; it says why."""


def back_up(url: str, to: Path) -> None:
    """Copy a database into a file while it is used; nobody waits for it.

    The file appears whole or not at all.

    Raises
    ------
    BackupRefused
    """
    if to.exists():
        raise BackupRefused(f"{to} is there already; name another file.")
    parts = make_url(url)
    part = to.with_name(f"{to.name}.part")
    # Names, addresses and telephone numbers are in it: nobody else on the machine reads it.
    os.close(os.open(part, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600))
    try:
        if parts.get_backend_name() == "sqlite":
            with closing(_opened(parts, must_exist=True)) as kept, closing(_at(part)) as copy:
                # All pages in one step are one moment; in WAL mode that keeps no writer waiting.
                kept.backup(copy)
                _refuse_unsound(copy)
        else:
            _postgresql(parts, "pg_dump", ["--format=custom", "--no-owner", f"--file={part}"])
        part.replace(to)
    finally:
        part.unlink(missing_ok=True)


def restore(url: str, source: Path, *, replace: bool = False) -> None:
    """Put a copy in place of a database, all of it or nothing; it may be served meanwhile.

    Parameters
    ----------
    replace
        Whether firms that are kept there now may be lost.

    Raises
    ------
    BackupRefused
    """
    if not source.is_file():
        raise BackupRefused(f"There is no file {source}.")
    if not replace and _holds_firms(url):
        raise BackupRefused(
            "Firms are kept in this database, and would be lost. Back it up, then add --replace."
        )
    parts = make_url(url)
    if parts.get_backend_name() == "sqlite":
        with closing(_at(source)) as copy, closing(_opened(parts, must_exist=False)) as kept:
            _refuse_unsound(copy)
            copy.backup(kept)
        return
    options = ["--clean", "--if-exists", "--no-owner", "--single-transaction", "--exit-on-error"]
    _postgresql(parts, "pg_restore", [*options, f"--dbname={_conninfo(parts)}", str(source)])


def _opened(parts: URL, *, must_exist: bool) -> sqlite3.Connection:
    path = parts.database or ""
    if must_exist and not Path(path).is_file():
        raise BackupRefused("There is no such database.")
    return sqlite3.connect(path, timeout=60)


def _at(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path)


def _refuse_unsound(copy: sqlite3.Connection) -> None:
    """Refuse what is damaged, or is no database of this service."""
    try:
        sound = [row[0] for row in copy.execute("PRAGMA integrity_check(1)")]
        known = copy.execute(
            "SELECT count(*) FROM sqlite_master WHERE name = ?", (_MARK,)
        ).fetchone()[0]
    except sqlite3.DatabaseError as error:
        raise BackupRefused("This is no copy of a SQLite database.") from error
    if sound != ["ok"] or not known:
        raise BackupRefused("This copy is damaged, or is not of this service.")


def _holds_firms(url: str) -> bool:
    engine = make_engine(url)
    try:
        with engine.connect() as connection:
            if "firms" not in inspect(connection).get_table_names():
                return False
            return connection.execute(text("SELECT 1 FROM firms LIMIT 1")).first() is not None
    finally:
        engine.dispose()


def _conninfo(parts: URL) -> str:
    """Return the address for the programs; the password stands in no command line."""
    plain = parts.set(drivername="postgresql", password=None)
    return plain.render_as_string(hide_password=False)


def _postgresql(parts: URL, program: str, options: Sequence[str]) -> None:
    """Run one of PostgreSQL's programs."""
    environment: dict[str, str] = dict(os.environ)
    if parts.password is not None:
        environment["PGPASSWORD"] = str(parts.password)
    if program == "pg_dump":
        options = [*options, f"--dbname={_conninfo(parts)}"]
    _run([_found(program), *options], environment)


def _run(words: Sequence[str], environment: Mapping[str, str]) -> None:
    done = subprocess.run(  # noqa: S603 - the words are ours
        words, env=dict(environment), capture_output=True, text=True, check=False
    )
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise BackupRefused(f"{Path(words[0]).name} failed: {last}")


def _found(program: str) -> str:
    """Return where a program of PostgreSQL is, the newest if there are several."""
    kept = [path for path in _DEBIAN.glob(f"*/bin/{program}") if path.parts[4].isdecimal()]
    if kept:
        return str(max(kept, key=lambda path: int(path.parts[4])))
    found = shutil.which(program)
    if found is None:
        raise BackupRefused(f"{program} is not on this machine; install PostgreSQL's client.")
    return found
