"""The text of a sheet: CSV (RFC 4180) as spreadsheets write it, with commas, semicolons or tabs."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from service.core.callers.access import Caller
from service.core.errors import RecordNotUsable
from service.core.measures.quantities import two_readings
from service.pages.needs import Needs
from service.pages.setup.columns import CellFault, Column, read_asked, read_cell
from service.pages.setup.filing import Filing, Wrong
from service.pages.setup.sheet import Sheet
from service.usecases.telling.evening.cells import FORMULA_STARTS, table_text

ReadCell = Callable[[Column, str], Any]

MOST_ROWS: Final = 5_000
# How workbooks begin: a ZIP archive (APPNOTE 4.3.7), or the compound file of before [MS-CFB 2.2].
WORKBOOKS: Final = (b"PK\x03\x04", bytes.fromhex("d0cf11e0a1b11ae1"))
NO_TEXT: Final = (
    "This file is a workbook or something else, and no CSV. Open it in your spreadsheet, save the "
    "sheet as CSV (UTF-8), and send that file."
)
EXAMPLE: Final = "This row is the example: delete it, or write your own over it."
# Where a fault of a record stands in a sheet, if not under its own name.
COLUMN_OF: Final = {
    "legal_basis/reference": "reference",
    "legal_basis/expires_on": "basis_until",
    "depot_id": "yard",
    "vehicle_id": "vehicle",
    "client_id": "client",
    "property_id": "address",
    "hours/0": "last_load",
    "consent/mass_per_visit_min_kg": "visit_min_kg",
    "consent/mass_per_month_max_kg": "month_max_kg",
    "consent/expires_on": "consent_until",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row as it was written; its number counts as spreadsheets do, the heading is 1."""

    number: int
    cells: dict[str, str]


def decoded(body: bytes) -> str | None:
    """Return the text of a file, as spreadsheets save it: UTF-8, or else the Windows page.

    "Unicode text" is UTF-16, which says so by its first mark. None: it is no text, but a workbook.
    """
    if body.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return body.decode("utf-16", errors="replace")
    if b"\0" in body or body.startswith(WORKBOOKS):
        return None
    for name in ("utf-8-sig", "cp1252"):
        try:
            return body.decode(name)
        except UnicodeDecodeError:
            continue
    return body.decode("latin-1")


def no_text() -> Wrong:
    """Return what is wrong with a file that is no text at all."""
    return Wrong(row=1, column="", detail=NO_TEXT)


def read_rows(sheet: Sheet, text: str) -> tuple[list[Row], list[Wrong]]:
    """Return the rows of a text, and what is wrong with its heading."""
    heading, _, _ = text.lstrip("\ufeff").partition("\n")
    mark = max(",;\t", key=heading.count)
    try:
        lines = list(csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""), delimiter=mark))
    except csv.Error as fault:
        return [], [Wrong(row=1, column="", detail=f"This is no table of CSV ({fault}).")]
    filled = [
        (number, line) for number, line in enumerate(lines, start=1) if any(map(str.strip, line))
    ]
    if not filled:
        return [], [Wrong(row=1, column="", detail="The sheet is empty.")]
    names = [_heading(sheet, cell) for cell in filled[0][1]]
    faults = list(_heading_faults(sheet, filled[0][1], names))
    if len(filled) - 1 > MOST_ROWS:
        faults.append(Wrong(row=1, column="", detail=f"At most {MOST_ROWS:,} rows at once."))
    rows = [
        Row(number=number, cells=_cells(names, line)) for number, line in filled[1 : MOST_ROWS + 1]
    ]
    return _with_points(rows), faults


def filed(
    needs: Needs,
    caller: Caller,
    sheet: Sheet,
    rows: Sequence[Row],
    *,
    read: ReadCell | None = None,
) -> Filing:
    """Return what rows come to, every faulty cell named; nothing is kept yet."""
    filing = Filing(needs, caller)
    read = read or _reader(sheet, rows)
    example = {column.name: column.example for column in sheet.columns}
    for row in rows:
        if {name: row.cells.get(name, "").strip() for name in example} == example:
            filing.wrong(row.number, sheet.columns[0].name, EXAMPLE)
            continue
        values: dict[str, Any] = {}
        for column in sheet.columns:
            try:
                values[column.name] = read(column, row.cells.get(column.name, ""))
            except CellFault as fault:
                values[column.name] = None
                filing.wrong(row.number, column.name, str(fault))
        sheet.file(filing, row.number, values)
    _try_whole(filing)
    filing.faults.sort(key=lambda one: one.row)
    return filing


def _has_decimal_comma(text: str) -> bool:
    """Return whether a comma in a number can only be that of a fraction."""
    is_comma = re.fullmatch(r"\d+,\d+", text.strip()) is not None
    return is_comma and two_readings(text.strip()) is None


def _reader(sheet: Sheet, rows: Iterable[Row]) -> ReadCell:
    """Return how the cells of a sheet are read: beside a decimal comma, a point may part thousands.

    Programs write decimal points. Whoever writes 6,5 may mean twelve hundred by 1.200.
    """
    numbers = [column.name for column in sheet.columns if column.kind == "number"]
    has_comma = any(_has_decimal_comma(row.cells.get(name, "")) for row in rows for name in numbers)
    return read_asked if has_comma else read_cell


def keep(filing: Filing) -> None:
    """Keep what a sheet came to. Raises RecordNotUsable if something was said meanwhile."""
    filing.needs.keep_together(filing.caller, filing.found, keep=True)


def written(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table for spreadsheets, which by its first mark know its letters."""
    return "\ufeff" + table_text(headings, rows)


def _try_whole(filing: Filing) -> None:
    """Ask the books about the rows that can be read: what contradicts itself is told as well."""
    faulty = {fault.row for fault in filing.faults}
    try:
        filing.needs.keep_together(filing.caller, filing.found, keep=False, refused_rows=faulty)
    except RecordNotUsable as refusal:
        for fault in refusal.faults:
            _, _, row, *path = fault.pointer.split("/")
            column = COLUMN_OF.get("/".join(path[:2]), path[0] if path else "")
            filing.wrong(int(row), column, fault.detail)


def _heading(sheet: Sheet, cell: str) -> str:
    """Return which column a heading names: by its name or by what the form asks."""
    plain = " ".join(cell.replace("_", " ").split()).casefold()
    for column in sheet.columns:
        if plain in {column.name.replace("_", " "), column.label.casefold()}:
            return column.name
    return plain


def _heading_faults(sheet: Sheet, cells: Sequence[str], names: Sequence[str]) -> Iterator[Wrong]:
    known = {column.name for column in sheet.columns} | {""}
    if any(column.kind == "point" for column in sheet.columns):
        known |= {"latitude", "longitude"}
    for cell, name in zip(cells, names, strict=True):
        if name not in known:
            yield Wrong(row=1, column=cell.strip(), detail="There is no such column here.")
        elif name and names.count(name) > 1:
            yield Wrong(row=1, column=cell.strip(), detail="This column stands there twice.")
    has_point = {"latitude", "longitude"} <= set(names)
    for column in sheet.columns:
        if (
            column.required
            and column.name not in names
            and not (column.name == "point" and has_point)
        ):
            yield Wrong(row=1, column=column.name, detail="This column is missing.")


def _cells(names: Sequence[str], line: Sequence[str]) -> dict[str, str]:
    return {name: _unquoted(cell) for name, cell in zip(names, line, strict=False)}


def _unquoted(cell: str) -> str:
    """Return a cell without the sign that keeps a formula from being one."""
    text = cell.strip()
    return text[1:] if text[:1] == "'" and text[1:].startswith(FORMULA_STARTS) else text


def _with_points(rows: list[Row]) -> list[Row]:
    """Return rows whose latitude and longitude, where they stand apart, are one point."""
    for row in rows:
        halves = [row.cells.pop(name, "") for name in ("latitude", "longitude")]
        if any(halves) and not row.cells.get("point"):
            row.cells["point"] = "; ".join(halves)
    return rows
