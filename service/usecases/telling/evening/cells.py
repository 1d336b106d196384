"""Tables for spreadsheets (RFC 4180) in which no cell is taken for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final, TextIO

# What a spreadsheet would take for a formula (common practice, no source).
FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")


def table_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table with its head; text that begins as a formula does is marked as text."""
    out = io.StringIO()
    write_table(out, columns, rows)
    return out.getvalue()


def write_table(out: TextIO, columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Write such a table row by row, however many there are."""
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([harmless(value) for value in row] for row in rows)


def harmless(value: object) -> object:
    """Return a cell that no spreadsheet takes for a formula."""
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return f"'{value}"
    return "" if value is None else value
