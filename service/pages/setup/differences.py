"""Where a sheet says otherwise of what is on record: nothing of it is kept, and each word is told.

A client who took a consent back, horses that came, a smaller payload: whoever sends a sheet with
them must learn that the record still says the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.measures.quantities import Measure
from service.pages.needs import Needs
from service.pages.setup.cells import Cells, told_rows, told_text
from service.pages.setup.columns import CellFault, Column, read_cell
from service.pages.setup.filing import Filing, key_of
from service.pages.setup.rows import CENTS, MINUTES, area_of, minute_cents_of
from service.pages.setup.sheet import Sheet
from service.pages.setup.sheet_text import Row
from service.pages.setup.windows import CELLS as WINDOWS
from service.pages.setup.words import AREA_UNITS

# What somebody can be hurt by, or what nobody may do any more, is told before all else.
FIRST: Final = (
    *("consent", "consent_until", "legal_basis", "basis_until"),
    *("animals", "animals_beside", "grazing_fenced"),
    *("payload_kg", "gross_limit_kg", "tare_kg", "body_volume_m3"),
    *("drainage", "near_drain_or_paving", "water_distance_m", "well_distance_m", "slope_percent"),
    *("edible", "accepted_statuses", "takes_sour", "leachate_contained"),
)
EMPTY: Final = "nothing"
HIDDEN: Final = "hours that a sheet cannot show"


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A cell that says otherwise than the record its row is of, and both words."""

    row: int
    column: Column
    record_id: UUID
    whose: str
    on_record: str
    in_sheet: str


def differences(
    needs: Needs, caller: Caller, sheet: Sheet, rows: Iterable[Row], filing: Filing
) -> list[Difference]:
    """Return where rows of what is on record say otherwise, what matters for safety first.

    A cell that is left empty says nothing.
    """
    if not filing.already:
        return []
    wanted = set(filing.already.values())
    told = {
        record.id: (record, cells)
        for record, cells in told_rows(needs, caller, sheet)
        if record.id in wanted
    }
    found = [
        one
        for row in rows
        if row.number in filing.already
        for one in _of_row(sheet, row, *told[filing.already[row.number]])
    ]
    return sorted(found, key=lambda one: _rank(one.column))


def _rank(column: Column) -> int:
    return FIRST.index(column.name) if column.name in FIRST else len(FIRST)


def _of_row(sheet: Sheet, row: Row, record: Any, kept: Cells) -> Iterator[Difference]:
    whose = ", ".join(kept[name] for name in sheet.known_by[:3] if kept[name])
    values = dict(_read(sheet, row))
    for column in sheet.columns:
        if column.name not in values or column.name == "area_unit":
            continue
        said, on_record = _both(column, values, record, kept)
        if _plain(column, said) != _plain(column, on_record):
            yield Difference(
                row=row.number,
                column=column,
                record_id=record.id,
                whose=whose,
                on_record=on_record or EMPTY,
                in_sheet=said,
            )


def _read(sheet: Sheet, row: Row) -> Iterator[tuple[str, Any]]:
    """Yield what the filled cells of a row say; one that cannot be read is told as a fault."""
    for column in sheet.columns:
        if text := row.cells.get(column.name, "").strip():
            with suppress(CellFault):
                yield column.name, read_cell(column, text)


def _both(column: Column, values: Mapping[str, Any], record: Any, kept: Cells) -> tuple[str, str]:
    """Return what the sheet and the record say, as people read it, and as it would be kept."""
    said, on_record = values[column.name], kept[column.name]
    if column.nothing and said == getattr(record, column.name):
        return on_record, on_record  # none at a bed that nobody has looked about at
    if column.name == "area":
        return _areas(area_of({"area_unit": None, **values}), record.area)
    if column.name in AS_KEPT:
        said = AS_KEPT[column.name](said)
    if column.name in {*WINDOWS, "last_load"} and not on_record:
        hours = getattr(record, "mowing_hours", None) or getattr(record, "hours", ())
        is_hidden = bool(hours) and column.name not in {"opens_again", "closes_again"}
        return told_text(column, said), HIDDEN if is_hidden else ""
    return column.shown(told_text(column, said)), column.shown(on_record)


def _areas(said: Measure | None, on_record: Measure | None) -> tuple[str, str]:
    """Return two areas; one that is told in another unit and is as large is no other."""
    told = [
        f"{one.value:,.10g} {AREA_UNITS.get(one.unit, one.unit)}" if one else ""
        for one in (said, on_record)
    ]
    if said and on_record and f"{said.si_value:.4g}" == f"{on_record.si_value:.4g}":
        told[0] = told[1]
    return told[0], told[1]


def _plain(column: Column, text: str) -> object:
    """Return a word as it is compared: without its case, and of several in no order."""
    (plain,) = key_of(text)
    return frozenset(plain.split("; ")) if column.kind in {"several", "days"} else plain


# Of what is kept in another measure, what the record can say of it.
AS_KEPT: Final[Mapping[str, Callable[[float], float | None]]] = {
    "crew_hour": lambda hour: (minute_cents_of({"crew_hour": hour}) or 0) * MINUTES / CENTS,
    **dict.fromkeys(("fee", "fee_minimum"), lambda fee: round(fee * CENTS) / CENTS),
}
