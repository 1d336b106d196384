"""Texts as they stand in rows: what is erased is written over where nothing else changes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol
from uuid import UUID

KeptRow = Mapping[str, Any]
Rewritten = Callable[[KeptRow], KeptRow]
"""Return what the texts of a row are to be; those that stay may be left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Rows of a table: those that have one of some ids in a column, or say any of some words."""

    table: str
    column: str = "id"
    ids: Collection[UUID] = ()
    words: Collection[str] = ()


class KeptTexts(Protocol):
    """Rows by the names of their tables and columns, past every rule that they do not change."""

    def read(self, firm_id: UUID, wanted: Wanted, columns: Sequence[str]) -> list[KeptRow]:
        """Return some columns of rows, with what is nested in them as it reads from JSON."""
        ...

    def rewrite(
        self, firm_id: UUID, wanted: Wanted, columns: Sequence[str], rewritten: Rewritten
    ) -> None:
        """Write over some columns of rows; of what has versions each that differs is a new one."""
        ...

    def forget_superseded_plans(self, firm_id: UUID) -> None:
        """Drop what plans said that others superseded; their figures stay."""
        ...
