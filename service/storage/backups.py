"""Copies of a database that is in use, and the way back.

SQLite's file alone lacks what stands in its log (`-wal`), and copied while somebody writes it may
be torn: it is copied by SQLite's own backup. PostgreSQL is copied by its own programs.
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
from collections import Counter
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO, Final, cast

from sqlalchemy import URL, Connection, func, inspect, make_url, select, text
from sqlalchemy import table as table_named

from service.storage.engine import make_engine, reading, seeing
from service.storage.probe import newest_revision
from service.storage.tables.wall import FIRM_SETTING, setting_of
from service.usecases.base.whose import EveryFirm

# Debian keeps the programs of each version here; the newest reads servers of every older one.
_DEBIAN: Final = Path("/usr/lib/postgresql")
_MARK: Final = "alembic_version"
_COPIES: Final = re.compile(rb'COPY (?:\S+\.)?"?(\w+)"? \(.*\) FROM stdin;')
_BEGINS: Final = b"""BEGIN;
SET client_min_messages = warning;
DO $$
DECLARE kept record;
BEGIN
    FOR kept IN SELECT schemaname, tablename FROM pg_tables WHERE schemaname = current_schema()
    LOOP
        EXECUTE format('DROP TABLE IF EXISTS %I.%I CASCADE', kept.schemaname, kept.tablename);
    END LOOP;
END $$;
"""


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
            _dump(parts, part)
        part.replace(to)
    finally:
        part.unlink(missing_ok=True)


def restore(url: str, source: Path, *, replace: bool = False) -> bool:
    """Put a copy in place of a database, all of it or nothing; it may be served meanwhile.

    Return whether it has this version's shape, or has to be migrated first.

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
    else:
        _put_back(parts, source)
    return _has_this_shape(url)


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
    """Return the address for the programs; the password stands in no command line.

    Behind the wall between firms its owner reads what the session may see: here, all. That stands
    in the address, because options there silence those of the environment.
    """
    own = parts.query.get("options") or os.environ.get("PGOPTIONS") or ""
    said = own if isinstance(own, str) else " ".join(own)
    sees = f"-c {FIRM_SETTING}={setting_of(EveryFirm.COPIES)}"
    plain = parts.set(drivername="postgresql", password=None).update_query_dict(
        {"options": f"{said} {sees}".strip()}
    )
    where, _, query = plain.render_as_string(hide_password=False).partition("?")
    return f"{where}?{query.replace('+', '%20')}"  # to PostgreSQL a plus is no space


def _has_this_shape(url: str) -> bool:
    engine = make_engine(url)
    try:
        with engine.connect() as connection:
            kept = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            return bool(kept == newest_revision())
    finally:
        engine.dispose()


def _dump(parts: URL, to: Path) -> None:
    """Copy all rows there are at one moment, and count them in the copy.

    What stands between may drop the options of an address, as a pooler can be told to: then the
    wall between firms hides every row from `pg_dump`, which finds nothing wrong. Our own
    transaction says by its BEGIN what it sees.
    """
    engine = reading(
        seeing(
            make_engine(parts.render_as_string(hide_password=False), patient=True), EveryFirm.COPIES
        )
    )
    try:
        with engine.connect() as connection:
            moment = connection.execute(text("SELECT pg_export_snapshot()")).scalar_one()
            _copy_at(moment, parts, to)
            missing = _rows_in(connection) - _rows_copied(to)
    finally:
        engine.dispose()
    if missing:
        told = ", ".join(f"{rows} of {table}" for table, rows in sorted(missing.items()))
        raise BackupRefused(
            f"The copy lacks rows: {told}. Whatever stands between here and PostgreSQL drops the "
            f"connection's options, which say that a copy sees all firms ({FIRM_SETTING}): give "
            "the address of the server itself."
        )


def _rows_in(connection: Connection) -> Counter[str]:
    """Return how many rows each table has."""
    named = "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"
    return Counter(
        {
            table: connection.execute(
                select(func.count()).select_from(table_named(table))
            ).scalar_one()
            for table in connection.execute(text(named)).scalars().all()
        }
    )


def _rows_copied(copy: Path) -> Counter[str]:
    """Return how many rows of each table a copy has; each is a line (PostgreSQL, COPY)."""
    found: Counter[str] = Counter()
    reads = [_found("pg_restore"), "--data-only", "--file=-", str(copy)]
    with (
        TemporaryFile() as told,
        subprocess.Popen(reads, stdout=subprocess.PIPE, stderr=told) as reading_it,  # noqa: S603 - its words are ours
    ):
        table = None
        for line in cast("IO[bytes]", reading_it.stdout):
            if table is None:
                begins = _COPIES.match(line)
                table = None if begins is None else begins[1].decode()
            elif line == b"\\.\n":
                table = None
            else:
                found[table] += 1
        if reading_it.wait():
            told.seek(0)
            raise _failed("pg_restore", told.read())
    return found


def _copy_at(moment: str, parts: URL, to: Path) -> None:
    words = [_found("pg_dump"), "--format=custom", "--no-owner", "--enable-row-security"]
    words += [f"--file={to}", f"--snapshot={moment}"]
    done = subprocess.run(  # noqa: S603 - the words are ours
        [*words, f"--dbname={_conninfo(parts)}"],
        env=_environment(parts),
        stderr=subprocess.PIPE,
        check=False,
    )
    if done.returncode:
        raise _failed("pg_dump", done.stderr)


def _put_back(parts: URL, source: Path) -> None:
    """Let go of all tables and make those of the copy, in one transaction.

    `pg_restore` alone would let go only of what the copy holds, and stop at the first table of a
    newer version that names it. So it writes, and `psql` does; only who read the whole copy
    commits.
    """
    reads = [_found("pg_restore"), "--clean", "--if-exists", "--no-owner", "--file=-", str(source)]
    does = [_found("psql"), "--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1", "--file=-"]
    does.append(f"--dbname={_conninfo(parts)}")
    pipe = subprocess.PIPE
    with (
        TemporaryFile() as told_reading,
        TemporaryFile() as told,
        subprocess.Popen(reads, stdout=pipe, stderr=told_reading) as reading,  # noqa: S603 - its words are ours
        subprocess.Popen(  # noqa: S603 - the words are ours
            does, env=_environment(parts), stdin=pipe, stdout=subprocess.DEVNULL, stderr=told
        ) as doing,
    ):
        # The one hangs up where the other stopped; each says why.
        with suppress(BrokenPipeError), cast("IO[bytes]", doing.stdin) as script:
            script.write(_BEGINS)
            shutil.copyfileobj(cast("IO[bytes]", reading.stdout), script)
            if reading.wait() == 0:
                script.write(b"\nCOMMIT;\n")
        cast("IO[bytes]", reading.stdout).close()
        # Whoever did not read to the end because nobody did what was read is not to blame.
        for program, process, said in (
            ("psql", doing, told),
            ("pg_restore", reading, told_reading),
        ):
            if process.wait():
                said.seek(0)
                raise _failed(program, said.read())


def _environment(parts: URL) -> dict[str, str]:
    password = {} if parts.password is None else {"PGPASSWORD": str(parts.password)}
    return {**os.environ, **password}


def _failed(program: str, said: bytes) -> BackupRefused:
    lines = said.decode(errors="replace").strip().splitlines() or ["no reason given"]
    return BackupRefused(
        f"{program} failed: {next((line for line in lines if 'ERROR' in line), lines[-1])}"
    )


def _found(program: str) -> str:
    """Return where a program of PostgreSQL is, the newest if there are several."""
    kept = [path for path in _DEBIAN.glob(f"*/bin/{program}") if path.parts[4].isdecimal()]
    if kept:
        return str(max(kept, key=lambda path: int(path.parts[4])))
    found = shutil.which(program)
    if found is None:
        raise BackupRefused(f"{program} is not on this machine; install PostgreSQL's client.")
    return found
