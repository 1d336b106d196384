"""What a database's refusal means in the words of the trade."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError

from service.core.errors import FieldFault, RecordExists, RecordInUse, RecordNotUsable, RecordsBusy

# PostgreSQL, appendix A, class 23; SQLite, result codes 787, 2067 and 1555.
FOREIGN_KEY = frozenset({"23503", "SQLITE_CONSTRAINT_FOREIGNKEY"})
# Serialization failure, deadlock, lock not available; SQLite's own wait ran out.
GIVEN_UP = frozenset(
    {"40001", "40P01", "55P03", "SQLITE_BUSY", "SQLITE_BUSY_SNAPSHOT", "SQLITE_LOCKED"}
)
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


def given_up_for_rivals(error: BaseException | None) -> RecordsBusy | None:
    """Return the refusal if a transaction ended because rivals held each other, or it, too long."""
    if isinstance(error, OperationalError) and _code(error) in GIVEN_UP:
        return RecordsBusy()
    return None


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
