"""Read whole books, page by page, all of them as they are at one moment."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from service.core.callers.access import Caller
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.records.keep_records import KeepRecords

# Records that are in memory at once. Common practice, no source.
A_PAGE: Final = 500


class WholeBooks:
    """The books at the moment at which the first of them is asked for."""

    def __init__(self, unit: UnitOfWork, caller: Caller) -> None:
        """Take the unit of work that sees the moment, and who reads."""
        self._unit = unit
        self._caller = caller

    def every(self, books: KeepRecords[Any]) -> Iterator[Any]:
        """Yield all records of a book, however many pages they fill. Raises NotAllowed."""
        after = None
        while True:
            page = books.page(
                self._caller, filters={}, after=after, limit=A_PAGE, seen_by=self._unit
            )
            yield from page.records
            after = page.next_after
            if after is None:
                return


class ReadWholeBooks:
    """Open the books for reading at one moment."""

    def __init__(self, *, open_reading: OpenUnitOfWork) -> None:
        """Take the way to the records."""
        self._open = open_reading

    @contextmanager
    def __call__(self, caller: Caller) -> Iterator[WholeBooks]:
        """Yield the books of a caller's firm; what is written meanwhile is in none of them."""
        with self._open() as unit:
            yield WholeBooks(unit, caller)
