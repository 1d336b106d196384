"""What was in vehicles' bodies as days ended: what is there now, less what moved since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from uuid import UUID

from service.core.mass_book import VEHICLE, MassMoved
from service.core.places import Depot
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.telling.evening.amounts import Amount

Bodies = Mapping[UUID, Amount]


def bodies_now(unit: UnitOfWork, depot: Depot) -> Bodies:
    """Return by vehicle what a depot's jobs have in bodies by now. In two statements."""
    sums = unit.mass_balances.at(depot.firm_id, VEHICLE, None)
    jobs = unit.jobs.get_many(depot.firm_id, sorted({one.lot_id for one in sums}))
    found: dict[UUID, Amount] = defaultdict(Amount)
    for one in sums:
        if jobs[one.lot_id].depot_id == depot.id:
            found[one.place_id].count(one, counted_kg=one.counted_kg)
    return found


def before(bodies: Bodies, moved: Iterable[MassMoved]) -> Bodies:
    """Return what was in bodies before some of what moved since."""
    found: dict[UUID, Amount] = defaultdict(Amount)
    for vehicle_id, amount in bodies.items():
        found[vehicle_id] = amount.copy()
    for one in moved:
        if one.to_kind == VEHICLE:
            found[one.to_id].count(one, counted_kg=one.counted_kg, times=-1.0)
        if one.from_kind == VEHICLE:
            found[one.from_id].count(one, counted_kg=one.counted_before_kg)
    return found
