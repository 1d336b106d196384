"""The books, one module a kind of record: its fields, its filters and an example."""

from __future__ import annotations

from typing import Any

from service.api.books.crews import CREWS, VEHICLES
from service.api.resource import Resource
from service.usecases.keep_records import KeepRecords
from service.usecases.shelves import Library


def catalogue(library: Library) -> list[tuple[Resource, KeepRecords[Any]]]:
    """Return every resource that is plain books, with its keeper."""
    return [
        (CREWS, library.crews),
        (VEHICLES, library.vehicles),
    ]
