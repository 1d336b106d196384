"""Whose records the work at hand may see: said once where it begins, held by the database.

Every question names its firm already. This is the second wall behind that one: a transaction is
opened for one firm, and PostgreSQL shows it no other's rows, whatever a question forgot. The firm
is said by whoever lets the work in (the door, the entrance, the planner, a command), and not by the
use case that asks. What must look across firms says so by a name of `EveryFirm`: that list is all.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from enum import Enum
from typing import Final
from uuid import UUID


class EveryFirm(Enum):
    """Who looks across firms, and why."""

    CALLERS = "whose a key, a cookie or a signed link is, is found before its firm is known"
    PLANNER = "one planner finds the stale days of all firms"
    QUEUE = "how many searches of all firms come before one of a firm's is counted"
    TIDY = "what is kept for a time only is dropped for all firms at once"
    MIGRATIONS = "the shape of all rows changes together"
    COPIES = "a copy for safety holds everything"
    DEMO = "a demo's records hold one firm alone"


# The list of firms itself stands before the wall: who works on it alone works for none of them.
NO_FIRM: Final = UUID(int=0)

Whose = UUID | EveryFirm
_WHOSE: ContextVar[Whose | None] = ContextVar("whose", default=None)


class FirmUnsaid(RuntimeError):
    """Records were opened where nobody had said whose: seeing none would look like having none."""


def whose() -> Whose:
    """Return whose records the work at hand may see. Raises FirmUnsaid."""
    said = _WHOSE.get()
    if said is None:
        raise FirmUnsaid("whose records are to be seen was not said before they were opened")
    return said


@contextmanager
def working_for(said: Whose) -> Iterator[None]:
    """Work for one firm, or for the reason named across all, until the block ends."""
    before = _WHOSE.set(said)
    try:
        yield
    finally:
        _WHOSE.reset(before)
