"""What may be said of a superseded load: it was tipped before a breakdown took it off.

The dispatcher says that a vehicle is out, its loads are planned again, and then a telephone finds
a signal. What lies on a bed must be counted there, and nobody is to be sent for it.
"""

from __future__ import annotations

from typing import Final

from service.core.crews import VehicleOutage
from service.core.errors import FieldFault, RecordNotUsable
from service.core.loads import ENDED_STATES, Load, LoadState
from service.usecases.base.calendar import depot_clock, find_depot, span_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import NOTHING_LEFT
from service.usecases.day.reading.recent_loads import recent_loads, shares_gone
from service.usecases.records.loads.keep_loads import NoLongerPlanned, where_now

# What is said of a load that was tipped, or was to be.
SAID_OF_TIPS: Final = (
    "weighed_net",
    "weigh_ticket",
    "ticket_review",
    "refusal_reason",
    "refused_share",
    "done_at",
)


def refuse_superseded(unit: UnitOfWork, old: Load, new: Load) -> None:
    """Refuse to say of a superseded load what is to be said of what took its place.

    Raises
    ------
    NoLongerPlanned, RecordNotUsable
    """
    if old.state is not LoadState.SUPERSEDED:
        return
    if new.state is old.state:
        if all(getattr(old, name) == getattr(new, name) for name in SAID_OF_TIPS):
            return
        wanted = "weighed or turned away"
    else:
        if new.state in ENDED_STATES and _was_tipped(unit, new):
            return
        wanted = new.state.value
    raise NoLongerPlanned(wanted=wanted, where=where_now(unit, old))


def _was_tipped(unit: UnitOfWork, load: Load) -> bool:
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
                        f"Its vehicle has been out since {depot_clock(depot, first)}: say at what "
                        "time before that it was tipped, or amend since when the vehicle is out."
                    ),
                )
            ]
        )
    return True


def _is_left(unit: UnitOfWork, load: Load) -> bool:
    """Return whether nobody tipped, or has on its way, what is in a superseded load."""
    day = load.working_day
    depot = find_depot(unit, load.firm_id, load.depot_id)
    ids = sorted({part.job_id for part in load.parts})
    around = recent_loads(unit, load.firm_id, span_of(depot, day), ids)
    gone = shares_gone(around, day=day, today=day)
    return all(part.share <= 1.0 - gone.get(part.lot_id, 0.0) + NOTHING_LEFT for part in load.parts)
