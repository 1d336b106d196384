"""A load that a breakdown took off its vehicle, and that was tipped before it: word that came late.

The dispatcher says that a vehicle is out, its loads are planned again, and then a telephone finds
a signal. What lies on a bed must be counted there, and nobody is to be sent for it.
"""

from __future__ import annotations

from service.core.crews import VehicleOutage
from service.core.errors import FieldFault, RecordNotUsable
from service.core.loads import Load
from service.usecases.base.calendar import depot_clock
from service.usecases.base.ports import UnitOfWork
from service.usecases.day.facts import NOTHING_LEFT
from service.usecases.day.recent_loads import recent_loads, shares_gone


def was_tipped_before_outage(unit: UnitOfWork, load: Load) -> bool:
    """Return whether a superseded load may be said to have been tipped after all.

    Its vehicle is out on the day, and its lots are not tipped elsewhere by now.

    Raises
    ------
    RecordNotUsable
        If it may, but no time is given, or one at which the vehicle was out.
    """
    outages: list[VehicleOutage] = unit.vehicle_outages.all(
        load.firm_id, vehicle_id=load.vehicle_id, day=load.working_day
    )
    if not outages or not _is_left(unit, load):
        return False
    first = min(outage.out_since for outage in outages)
    if load.done_at is None or load.done_at > first:
        depot = unit.depots.get(load.firm_id, load.depot_id)
        raise RecordNotUsable(
            [
                FieldFault(
                    pointer="/done_at",
                    detail=(
                        f"Its vehicle is out since {depot_clock(depot, first)}: say at what time "
                        "before that it was tipped, or amend since when the vehicle is out."
                    ),
                )
            ]
        )
    return True


def _is_left(unit: UnitOfWork, load: Load) -> bool:
    """Return whether nobody tipped, or has on its way, what is in a superseded load."""
    day = load.working_day
    gone = shares_gone(recent_loads(unit, load.firm_id, day), day=day, today=day)
    return all(part.share <= 1.0 - gone.get(part.lot_id, 0.0) + NOTHING_LEFT for part in load.parts)
