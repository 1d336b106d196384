"""Whether what is to be cut is many loads of its vehicle: said before it lies in bags."""

from __future__ import annotations

from typing import Final

from service.core.crews import Vehicle
from service.destinations.verdicts import Lot, kg_at_most
from service.usecases.day.bodies.vehicle_days import bodies_of
from service.usecases.day.facts import DayFacts
from service.usecases.telling.told.before_mowing import SaidTold

CODE: Final = "many_loads"


def many_loads(lot: Lot, vehicle: Vehicle | None) -> SaidTold | None:
    """Return how many loads of a vehicle a lot is; None where it is likely one, or none is known.

    Whoever knows it before the cut can mow higher, leave it, or have another vehicle sent.
    """
    if vehicle is None:
        return None
    likely, high = (
        bodies_of(getattr(lot.mass_kg, end), getattr(lot.volume_m3, end), vehicle)
        for end in ("likely", "high")
    )
    if likely <= 1:
        return None
    return SaidTold(
        code=CODE,
        facts={
            "mass_likely_kg": round(lot.mass_kg.likely),
            "mass_high_kg": kg_at_most(lot.mass_kg.high),
            "loads_likely": likely,
            "loads_high": high,
            "vehicle": vehicle.registration,
            "payload_kg": vehicle.payload_kg,
        },
        sentence=(
            f"This is likely {lot.mass_kg.likely:,.0f} kg, at most "
            f"{kg_at_most(lot.mass_kg.high):,} kg: {likely} to {high} loads of "
            f"{vehicle.registration}, which carries "
            f"{vehicle.payload_kg:,g} kg. Ask the office before you bag it: mow higher, leave it "
            "where it falls, or have another vehicle sent."
        ),
    )


def largest_of(facts: DayFacts) -> Vehicle | None:
    """Return the vehicle of a depot that carries most: who planned nothing may send that one."""
    own = [one for one in facts.vehicles.values() if one.depot_id == facts.depot.id]
    return max(own, key=lambda one: (one.payload_kg, one.id), default=None)
