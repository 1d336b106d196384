"""Which books are kept, what each record names and what may still name it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Unpack

from service.core.callers.access import Own
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.loads import HoldEntry, Load
from service.core.mass_book import MassMovement
from service.core.notes import DeliveryNote
from service.core.places import (
    Bed,
    Client,
    CompostSite,
    Depot,
    DestinationKind,
    HoldBay,
    Lawn,
    Property,
)
from service.core.plans import DayPlan
from service.core.records import Record
from service.core.treatments import Treatment
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.use_cases import ToKeep
from service.usecases.records.clients.keeping import KeepClients
from service.usecases.records.keep_outages import KeepOutages
from service.usecases.records.keep_properties import KeepProperties
from service.usecases.records.keep_records import AfterChange, KeepRecords, Shelf
from service.usecases.records.keep_treatments import KeepTreatments
from service.usecases.records.keep_vehicles import KeepCrews, KeepVehicles
from service.usecases.records.loads.keep_loads import KeepLoads, KeepPlans
from service.usecases.records.own_vehicle import LOADS_OWN


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """The books of a firm, one keeper a kind of record."""

    clients: KeepRecords[Client]
    properties: KeepRecords[Property]
    lawns: KeepRecords[Lawn]
    depots: KeepRecords[Depot]
    vehicles: KeepRecords[Vehicle]
    vehicle_outages: KeepRecords[VehicleOutage]
    crews: KeepRecords[Crew]
    treatments: KeepTreatments
    destinations: Mapping[DestinationKind, KeepRecords[Any]]

    @property
    def beds(self) -> KeepRecords[Bed]:
        """The keeper of beds."""
        return self.destinations[DestinationKind.BED]

    @property
    def hold_bays(self) -> KeepRecords[HoldBay]:
        """The keeper of hold bays."""
        return self.destinations[DestinationKind.HOLD_BAY]

    @property
    def compost_sites(self) -> KeepRecords[CompostSite]:
        """The keeper of compost sites."""
        return self.destinations[DestinationKind.COMPOST_SITE]

    def of(self, record_type: type[Record]) -> KeepRecords[Any]:
        """Return the keeper of a type of record. Raises LookupError if there is none."""
        others = (getattr(self, one.name) for one in fields(self) if one.name != "destinations")
        keepers: tuple[KeepRecords[Any], ...] = (*others, *self.destinations.values())
        for keeper in keepers:
            if keeper.shelf.record_type is record_type:
                return keeper
        raise LookupError(f"no book is kept of {record_type.__name__}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """What the day's work leaves behind, to be read; other use cases write it."""

    loads: KeepRecords[Load]
    hold_entries: KeepRecords[HoldEntry]
    day_plans: KeepRecords[DayPlan]
    delivery_notes: KeepRecords[DeliveryNote]
    mass_movements: KeepRecords[MassMovement]


# Books and papers whose records say more than their fields: everything else is plain.
KEEPERS: Mapping[str, type[KeepRecords[Any]]] = {
    "clients": KeepClients,
    "properties": KeepProperties,
    "vehicles": KeepVehicles,
    "crews": KeepCrews,
    "vehicle_outages": KeepOutages,
    "treatments": KeepTreatments,
    "loads": KeepLoads,
    "day_plans": KeepPlans,
}

PAPER_SHELVES: Mapping[str, Shelf[Any]] = {
    "loads": Shelf(
        record_type=Load,
        repository="loads",
        own=LOADS_OWN,
        # Why it goes there names where else it might have gone.
        private=("explanation",),
    ),
    "hold_entries": Shelf(record_type=HoldEntry, repository="hold_entries"),
    "day_plans": Shelf(record_type=DayPlan, repository="day_plans"),
    "delivery_notes": Shelf(
        record_type=DeliveryNote, repository="delivery_notes", own={Own.CLIENT: "client_id"}
    ),
    "mass_movements": Shelf(record_type=MassMovement, repository="mass_movements"),
}


def shelves(
    after_change: AfterChange[Any] | None = None,
    after_treatment: AfterChange[Treatment] | None = None,
) -> Mapping[str, Shelf[Any]]:
    """Return the shelves by the name of their repository.

    Parameters
    ----------
    after_change
        What else happens in the same transaction when a record changes that a plan of
        a day may rest on. Nothing is planned from a client's own record.
    """
    plain: dict[str, Shelf[Any]] = {
        "clients": Shelf(
            record_type=Client,
            repository="clients",
            own={Own.CLIENT: "id"},
            named_by=(
                ("properties", "client_id"),
                ("delivery_notes", "client_id"),
                ("erasures", "client_id"),
            ),
        ),
        "properties": Shelf(
            record_type=Property,
            repository="properties",
            references={"client_id": "clients"},
            own={Own.CLIENT: "client_id"},
            named_by=(
                ("lawns", "property_id"),
                *_named_by_places("properties"),
                ("jobs", "property_id"),
            ),
            after_change=after_change,
        ),
        "lawns": Shelf(
            record_type=Lawn,
            repository="lawns",
            references={"property_id": "properties"},
            named_by=(("treatments", "lawn_id"), ("jobs", "lawn_id")),
            after_change=after_change,
        ),
        "depots": Shelf(
            record_type=Depot,
            repository="depots",
            named_by=(
                *_named_by_places("depots"),
                ("vehicles", "depot_id"),
                ("crews", "depot_id"),
                ("jobs", "depot_id"),
                ("loads", "depot_id"),
                ("day_plans", "depot_id"),
                ("day_closings", "depot_id"),
                ("working_days", "depot_id"),
            ),
            after_change=after_change,
        ),
        "vehicles": Shelf(
            record_type=Vehicle,
            repository="vehicles",
            references={"depot_id": "depots"},
            named_by=(
                ("vehicle_outages", "vehicle_id"),
                ("hold_entries", "released_with_id"),
                ("crews", "vehicle_id"),
                ("jobs", "vehicle_id"),
                ("loads", "vehicle_id"),
            ),
            after_change=after_change,
        ),
        "vehicle_outages": Shelf(
            record_type=VehicleOutage,
            repository="vehicle_outages",
            references={"vehicle_id": "vehicles"},
            after_change=after_change,
        ),
        "crews": Shelf(
            record_type=Crew,
            repository="crews",
            references={"depot_id": "depots", "vehicle_id": "vehicles"},
            named_by=(("jobs", "crew_id"), ("loads", "crew_id")),
            after_change=after_change,
        ),
        "treatments": Shelf(
            record_type=Treatment,
            repository="treatments",
            references={"lawn_id": "lawns"},
            after_change=after_treatment or after_change,
        ),
    }
    return plain | {
        kind.repository: Shelf(
            record_type=kind.record,
            repository=kind.repository,
            references=kind.references,
            named_by=(*kind.named_by, ("loads", "destination_id")),
            after_change=after_change,
            own={Own.SITE: "id"} if kind.record is CompostSite else {},
        )
        for kind in KINDS.values()
    }


def _named_by_places(repository: str) -> tuple[tuple[str, str], ...]:
    """Return the kinds of destination whose records name one of these records."""
    return tuple(
        (kind.repository, name)
        for kind in KINDS.values()
        for name, referred in kind.references.items()
        if referred == repository
    )


def keep_library(
    *,
    after_change: AfterChange[Any] | None = None,
    after_treatment: AfterChange[Treatment] | None = None,
    **keeping: Unpack[ToKeep],
) -> Library:
    """Return the keepers of all books."""
    keepers = _keepers(shelves(after_change, after_treatment), keeping)
    destinations = {word: keepers.pop(kind.repository) for word, kind in KINDS.items()}
    return Library(destinations=destinations, **keepers)


def keep_papers(**keeping: Unpack[ToKeep]) -> Papers:
    """Return the readers of the day's papers."""
    return Papers(**_keepers(PAPER_SHELVES, keeping))


def _keepers(shelves: Mapping[str, Shelf[Any]], keeping: ToKeep) -> dict[str, Any]:
    return {
        name: KEEPERS.get(name, KeepRecords)(shelf=shelf, **keeping)
        for name, shelf in shelves.items()
    }
