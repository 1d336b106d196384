"""From records back to the rows of a sheet: what is on record, as it would be filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import time
from typing import Any
from uuid import UUID

from service.core.acceptance.hours import OpeningHours
from service.core.callers.access import Caller
from service.core.measures.quantities import Measure
from service.core.places import Bed, Client, CompostSite, Depot, Lawn, Point, Property
from service.pages.needs import Needs
from service.pages.setup.columns import Column
from service.pages.setup.filing import books_of, every
from service.pages.setup.rows import CENTS, MINUTES
from service.pages.setup.sheet import Sheet
from service.pages.setup.windows import windows_shown
from service.pages.setup.words import WEEK

Cells = Mapping[str, str]


def told_rows(needs: Needs, caller: Caller, sheet: Sheet) -> Iterator[tuple[Any, Cells]]:
    """Yield every record of a sheet's book with its cells."""
    names = _Names(needs, caller)
    for record in every(books_of(needs, sheet.repository), caller):
        yield record, _cells(record, sheet.columns, names)


def told_cells(
    needs: Needs, caller: Caller, record: Any, columns: Sequence[Column]
) -> dict[str, str]:
    """Return the cells of one record."""
    return _cells(record, columns, _NamesOfOne(needs, caller))


def _cells(record: Any, columns: Sequence[Column], names: _Names) -> dict[str, str]:
    said = _said(record, names)
    return {
        column.name: told_text(column, said.get(column.name, getattr(record, column.name, None)))
        for column in columns
    }


class _Names:
    """Whose a record is, by id; each book is read once, and only if it is needed."""

    def __init__(self, needs: Needs, caller: Caller) -> None:
        self._needs, self._caller = needs, caller
        self._books: dict[str, dict[UUID, Any]] = {}

    def of(self, repository: str, record_id: UUID | None) -> Any:
        if record_id is None:
            return None
        if repository not in self._books:
            books = books_of(self._needs, repository)
            self._books[repository] = {one.id: one for one in every(books, self._caller)}
        return self._books[repository].get(record_id)


class _NamesOfOne(_Names):
    """Whose a single record is: for one no book is read whole."""

    def of(self, repository: str, record_id: UUID | None) -> Any:
        if record_id is None:
            return None
        return books_of(self._needs, repository).read(self._caller, record_id)


def _said(record: Any, names: _Names) -> dict[str, Any]:
    """Return what a row says that is no field of the record itself."""
    said: dict[str, Any] = {}
    yard = names.of("depots", getattr(record, "depot_id", None))
    if yard is not None:
        said["yard"] = yard.name
    vehicle = names.of("vehicles", getattr(record, "vehicle_id", None))
    if vehicle is not None:
        said["vehicle"] = vehicle.registration
    if isinstance(record, Client | Property):
        owner = record if isinstance(record, Client) else names.of("clients", record.client_id)
        said["client"] = owner.name
    area = getattr(record, "area", None)
    if isinstance(area, Measure):
        said |= {"area": area.value, "area_unit": area.unit}
    place = names.of("properties", getattr(record, "property_id", None))
    if place is not None:
        client = names.of("clients", place.client_id)
        said |= {
            "client": client.name,
            "address": place.address,
            **{name: getattr(client, name) for name in ("phone", "email", "language")},
            **{name: getattr(place, name) for name in ("locality", "access_notes")},
        }
        said["lawn"] = said["bed"] = record.name
        if not hasattr(record, "point"):
            said["point"] = place.point
    if isinstance(record, CompostSite):
        said |= _site(record)
    said |= _bed(record) if isinstance(record, Bed) else windows_shown(_mown(record)) or {}
    if isinstance(record, Depot) and record.crew_minute_cents is not None:
        said["crew_hour"] = record.crew_minute_cents * MINUTES / CENTS
    return said


def _mown(record: Any) -> tuple[OpeningHours, ...]:
    return record.mowing_hours if isinstance(record, Lawn) else ()


def _bed(bed: Bed) -> dict[str, Any]:
    """Return a bed's consent and legal ground, and its hours, if a form can show them."""
    consent, basis = bed.consent, bed.legal_basis
    return {
        "consent": consent.state,
        "consent_on": consent.given_on,
        "consent_until": consent.expires_on,
        "visit_max_kg": consent.mass_per_visit_max_kg,
        "visit_min_kg": consent.mass_per_visit_min_kg,
        "month_max_kg": consent.mass_per_month_max_kg,
        "legal_basis": basis.kind,
        "exemption": basis.exemption,
        "reference": basis.reference,
        "basis_until": basis.expires_on,
        # None on record is what it begins with: only who looked about has seen that there are none.
        "animals": bed.animals or (None if bed.animals_beside is None else ()),
        **(windows_shown(bed.hours) or {}),
    }


def _site(site: CompostSite) -> dict[str, Any]:
    """Return a site's hours, if they are the same on all its days, and its fee."""
    told = {
        "days": tuple(tuple(WEEK)[day.weekday] for day in site.hours),
        "fee_basis": site.fee.basis,
        "fee": site.fee.amount_cents / 100,
        "fee_minimum": site.fee.minimum_cents / 100,
    }
    spans = {(day.opens, day.closes, day.last_load) for day in site.hours}
    if len(spans) == 1:
        told |= dict(zip(("opens", "closes", "last_load"), spans.pop(), strict=True))
    return told


def told_text(column: Column, value: Any) -> str:
    """Return a value as its cell would be filled in."""
    match value:
        case None:
            text = ""
        case bool():
            text = "yes" if value else "no"
        case Point():
            text = f"{value.latitude:.6f}, {value.longitude:.6f}"
        case time():
            text = f"{value:%H:%M}"
        case ():
            text = column.nothing
        case tuple():
            text = "; ".join(told_text(column, part) for part in value)
        case float():
            text = f"{value:.10g}"
        case _:
            text = column.choices.get(value, str(value))
    return text
