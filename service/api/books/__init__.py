"""The books, one module a subject: the fields of its records, their filters and examples."""

from __future__ import annotations

from typing import Any

from service.api.books.clients import BEDS, CLIENTS, LAWNS, PROPERTIES
from service.api.books.crews import CREWS, VEHICLE_OUTAGES, VEHICLES
from service.api.books.sites import DEPOTS, HOLD_BAYS, SITES
from service.api.books.treatments import TREATMENTS
from service.api.records.resource import Resource
from service.usecases.base.destination_kinds import KINDS
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.record_kinds import Library


def catalogue(library: Library) -> list[tuple[Resource, KeepRecords[Any]]]:
    """Return every resource that is plain books, with its keeper.

    Raises
    ------
    LookupError
        If a kind of destination has no resource, or a resource no book.
    """
    resources = (
        *(CLIENTS, PROPERTIES, LAWNS, BEDS, TREATMENTS),
        *(DEPOTS, HOLD_BAYS, VEHICLES, VEHICLE_OUTAGES, CREWS, *SITES),
    )
    shown = {resource.fields.record_type for resource in resources}
    hidden = [kind.many for kind in KINDS.values() if kind.record not in shown]
    if hidden:
        raise LookupError(f"nothing shows {', '.join(hidden)}")
    return [(resource, library.of(resource.fields.record_type)) for resource in resources]
