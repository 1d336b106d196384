"""What a database's refusal means in the words of the trade."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import (
    DatabaseError,
    DBAPIError,
    IntegrityError,
    InterfaceError,
    InternalError,
    OperationalError,
)
from sqlalchemy.exc import TimeoutError as NoConnectionLeft

from service.core.errors import (
    FieldFault,
    RecordExists,
    RecordInUse,
    RecordNotUsable,
    RecordsBusy,
    RecordsOutOfReach,
    Refusal,
)

# PostgreSQL, appendix A, class 23; SQLite, result codes 787, 2067 and 1555.
FOREIGN_KEY = frozenset({"23503", "SQLITE_CONSTRAINT_FOREIGNKEY"})
# Serialization failure, deadlock, lock not available; SQLite's own wait ran out.
GIVEN_UP = frozenset(
    {"40001", "40P01", "55P03", "SQLITE_BUSY", "SQLITE_BUSY_SNAPSHOT", "SQLITE_LOCKED"}
)
# Of these kinds are faults of the database, not of what it was asked. What SQLite says while a
# connection is prepared comes in its own words.
OUT_OF_REACH = (
    NoConnectionLeft,
    OperationalError,
    InterfaceError,
    InternalError,
    sqlite3.DatabaseError,
)
BUSY, OUT = "busy", "out_of_reach"
TAKEN = frozenset({"23505", "SQLITE_CONSTRAINT_UNIQUE", "SQLITE_CONSTRAINT_PRIMARYKEY"})


@contextmanager
def keeping(kind: str, record_id: object) -> Iterator[None]:
    """Say that a record is kept already, or that one it names is gone.

    The use cases look before they write; this speaks when a rival was faster.
    """
    try:
        yield
    except IntegrityError as refused:
        code = _code(refused)
        if code in TAKEN:
            raise RecordExists(record=kind, id=record_id) from refused
        if code in FOREIGN_KEY:
            gone = FieldFault(
                pointer="",
                detail=f"A record that this {kind} names is not kept, or not any more.",
                code="reference_missing",
            )
            raise RecordNotUsable([gone]) from refused
        raise


def answer_to_fault(error: BaseException | None) -> Refusal | None:
    """Return the refusal for a fault of the database itself; None for what is no such fault.

    That rivals held each other, or one of them too long, is told apart from a database that is
    gone, hangs, has no connection left, no room on its disk, or may not be written: what must be
    mended there is the operator's affair, and it is logged.
    """
    kind = kind_of_fault(error)
    if kind == BUSY:
        return RecordsBusy()
    if kind == OUT and error is not None:
        logging.getLogger("service.storage").error("database fault: %s", fault_name(error))
        return RecordsOutOfReach()
    return None


def kind_of_fault(error: BaseException | None) -> str | None:
    """Return whether rivals held each other or the database failed; None for neither."""
    if isinstance(error, OperationalError) and _code(error) in GIVEN_UP:
        return BUSY
    return OUT if isinstance(error, OUT_OF_REACH) or type(error) is DatabaseError else None


def fault_name(error: BaseException) -> str:
    """Return what a fault is called, without anything of the records in it."""
    code = _code(error) if isinstance(error, DBAPIError) else None
    kind = type(error.orig if isinstance(error, DBAPIError) else error).__name__
    return f"{kind} {code}" if code else kind


@contextmanager
def removing(kind: str) -> Iterator[None]:
    """Say that the record is still named by others."""
    try:
        yield
    except IntegrityError as refused:
        if _code(refused) in FOREIGN_KEY:
            raise RecordInUse(record=kind, count="some", by="other records") from refused
        raise


def _code(refused: DBAPIError) -> str | None:
    name: str | None = getattr(refused.orig, "sqlstate", None)
    return name or getattr(refused.orig, "sqlite_errorname", None)
