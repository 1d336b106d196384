"""Vehicles of a depot that have nothing to do on a day on which another is out."""

from __future__ import annotations

from collections.abc import Container, Sequence
from uuid import UUID

from service.core.crews import Vehicle, is_used_on
from service.usecases.day.facts import DayFacts


def idle_vehicles(facts: DayFacts, at_work: Container[UUID]) -> list[Vehicle]:
    """Return the depot's vehicles that are not out and have no day of work, by registration."""
    found = [
        vehicle
        for vehicle in facts.vehicles.values()
        if vehicle.depot_id == facts.depot.id
        and vehicle.id not in at_work
        and facts.out(vehicle.id) is None
    ]
    return sorted(found, key=lambda one: (one.registration, one.id))


def names_of(vehicles: Sequence[Vehicle], facts: DayFacts) -> str:
    """Return who they are, each with the crew that usually drives it; empty where none is."""
    drivers = {
        crew.vehicle_id: crew.name
        for crew in facts.crews.values()
        if is_used_on(facts.span.day, crew)
    }
    return " or ".join(
        one.registration + (f" ({drivers[one.id]})" if one.id in drivers else "")
        for one in vehicles
    )


def could_fetch_it(names: str) -> str:
    """Return who could have a load forked over, in a sentence; nothing where nobody is."""
    return f"Without a job on this day: {names}; send it, and report what it was given. " * bool(
        names
    )
