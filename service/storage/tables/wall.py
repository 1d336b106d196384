"""The wall between firms in PostgreSQL: each transaction sees the rows of the firm it is for.

It holds against what a statement forgets. It does not hold against whoever may say any firm, which
everybody can who is let into the database; nor against a superuser or a role with BYPASSRLS, whom
PostgreSQL asks nothing (its documentation, 5.9). The owner of the tables is asked, because FORCE
says so. What one row names in another is looked up past the wall by PostgreSQL itself (5.9, too).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from sqlalchemy import Connection, Engine, text

from service.storage.tables import METADATA
from service.usecases.base.whose import EveryFirm, Whose

FIRM_SETTING: Final = "clipping.firm_id"
EVERY: Final = "every"
POLICY: Final = "own_firm"

_UNWALLED: Final = text(
    """
    SELECT c.relname
    FROM pg_class c
    JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'firm_id' AND NOT a.attisdropped
    WHERE c.relkind IN ('r', 'p') AND c.relnamespace = current_schema()::regnamespace
      AND NOT (
        c.relrowsecurity AND c.relforcerowsecurity
        AND EXISTS (SELECT FROM pg_policy p WHERE p.polrelid = c.oid AND p.polname = :policy)
      )
    ORDER BY c.relname
    """
)
_BYPASSES: Final = text(
    "SELECT rolname FROM pg_roles WHERE rolname = current_user AND (rolsuper OR rolbypassrls)"
)


def setting_of(said: Whose) -> str:
    """Return how a transaction says whose it is."""
    return EVERY if isinstance(said, EveryFirm) else str(said)


def wall_of(table: str) -> Iterator[str]:
    """Yield the statements that wall a table; the sub-selects are asked once a statement."""
    said = f"(SELECT current_setting('{FIRM_SETTING}', true))"
    yield f"CREATE POLICY {POLICY} ON {table} USING ({said} = firm_id::text OR {said} = '{EVERY}')"
    yield f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY"
    yield f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY"


def build_wall(connection: Connection) -> None:
    """Wall every table that was just made; only PostgreSQL can."""
    if connection.dialect.name == "postgresql":
        for table in METADATA.sorted_tables:
            if "firm_id" in table.columns:
                for statement in wall_of(table.name):
                    connection.exec_driver_sql(statement)


def gaps_in_wall(engine: Engine) -> list[str]:
    """Return, in sentences, why the wall does not hold for whom the engine connects as.

    SQLite has no such wall: there the questions alone keep firms apart, and nothing is told.
    """
    if engine.dialect.name != "postgresql":
        return []
    with engine.connect() as connection:
        role = connection.execute(_BYPASSES).scalar()
        open_tables = connection.execute(_UNWALLED, {"policy": POLICY}).scalars().all()
    found = []
    if role is not None:
        found.append(
            f"The role {role} is a superuser or has BYPASSRLS: PostgreSQL holds no wall between "
            "firms for it. Serve as a plain role that owns the database."
        )
    if open_tables:
        found.append(f"No wall between firms stands around {', '.join(open_tables)}.")
    return found
