"""The records of all destinations that a depot may use, and where they are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from service.core.loads import Load
from service.core.places import Depot, DestinationKind, Point, Property
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import UnitOfWork

Places = Mapping[DestinationKind, tuple[Any, ...]]


def read_places(unit: UnitOfWork, depot: Depot) -> Places:
    """Return the records of every kind: the depot's own, or the firm's; a statement a kind."""
    return {
        word: tuple(
            unit.repository(kind.repository).all(
                depot.firm_id, **({"depot_id": depot.id} if "depot_id" in kind.references else {})
            )
        )
        for word, kind in KINDS.items()
    }


def read_place(unit: UnitOfWork, load: Load) -> Places:
    """Return the record of the place that a load goes to, and of no other."""
    kept = unit.repository(KINDS[load.destination_kind].repository).get(
        load.firm_id, load.destination_id
    )
    return {
        word: (kept,) if kept is not None and word is load.destination_kind else ()
        for word in KINDS
    }


def homes_of(places: Places) -> set[UUID]:
    """Return the properties that places lie on."""
    return {
        place.property_id
        for word, some in places.items()
        if "property_id" in KINDS[word].references
        for place in some
    }


def points_of(
    places: Places, *, depot: Depot, properties: Mapping[UUID, Property]
) -> dict[UUID, Point]:
    """Return where each place is, by its id."""
    return {
        place.id: KINDS[word].point(place, depot, properties)
        for word, some in places.items()
        for place in some
    }
