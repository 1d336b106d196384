"""The books, one module a subject: the fields of its records, their filters and examples."""

from __future__ import annotations

from typing import Any

from service.api.books.clients import BEDS, CLIENTS, LAWNS, PROPERTIES
from service.api.books.crews import CREWS, VEHICLE_OUTAGES, VEHICLES
from service.api.books.sites import COMPOST_SITES, DEPOTS, HOLD_BAYS
from service.api.books.treatments import TREATMENTS
from service.api.records.resource import Resource
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.record_kinds import Library


def catalogue(library: Library) -> list[tuple[Resource, KeepRecords[Any]]]:
    """Return every resource that is plain books, with its keeper."""
    return [
        (CLIENTS, library.clients),
        (PROPERTIES, library.properties),
        (LAWNS, library.lawns),
        (BEDS, library.beds),
        (TREATMENTS, library.treatments),
        (DEPOTS, library.depots),
        (HOLD_BAYS, library.hold_bays),
        (VEHICLES, library.vehicles),
        (VEHICLE_OUTAGES, library.vehicle_outages),
        (CREWS, library.crews),
        (COMPOST_SITES, library.compost_sites),
    ]
