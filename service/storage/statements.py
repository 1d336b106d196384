"""Inserts that meet what is kept already: said differently to each database."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from sqlalchemy import Insert, Table
from sqlalchemy.dialects import postgresql, sqlite


def insert_new(table: Table) -> Mapping[str, Insert]:
    """Return, by dialect, the insert that leaves alone what has the same primary key.

    Unlike an error it does not end the transaction, and it waits for a rival to finish. Its result
    says how many rows went in.
    """
    key = list(table.primary_key.columns)
    return MappingProxyType(
        {
            "postgresql": postgresql.insert(table)
            .on_conflict_do_nothing(index_elements=key)
            .execution_options(preserve_rowcount=True),
            "sqlite": sqlite.insert(table)
            .on_conflict_do_nothing(index_elements=key)
            .execution_options(preserve_rowcount=True),
        }
    )


@cache
def insert_unless_kept(table: Table) -> Mapping[str, Insert]:
    """Return, by dialect, the insert that leaves alone what is the same by any key."""
    return MappingProxyType(
        {
            "postgresql": postgresql.insert(table).on_conflict_do_nothing(),
            "sqlite": sqlite.insert(table).on_conflict_do_nothing(),
        }
    )
