"""What became of what a note is of: which load brings it by now, or that none does."""

from __future__ import annotations

from datetime import datetime

from service.core.jobs import JobState
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.mass_book import NOTHING
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.records.loads.keep_loads import successors_of


def brought_by(unit: UnitOfWork, load: Load) -> Load:
    """Return the load that brings to the same bed what a superseded one was of; else itself.

    Every plan may give what is not tipped another load.
    """
    if load.state is not LoadState.SUPERSEDED:
        return load
    ids = successors_of(unit, [load]).get(load.id, ())
    found = [
        one
        for one in unit.loads.get_many(load.firm_id, sorted(ids)).values()
        if one.destination_id == load.destination_id
        and one.state in OPEN_LOAD_STATES | TIPPED_STATES
    ]
    return max(
        found, key=lambda one: (one.done_at is not None, one.arrive_at, one.id), default=load
    )


def is_called_off(unit: UnitOfWork, load: Load) -> bool:
    """Return whether nothing is brought by a load any more: all of it was tipped elsewhere, too.

    Where a tip was undone and the grass brought elsewhere, only the next plan says so of the load.
    """
    if load.state not in OPEN_LOAD_STATES:
        return load.state is LoadState.SUPERSEDED
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    if any(job.state is not JobState.MOWN for job in jobs.values()):
        return False
    left, _ = lots_aboard(unit, load.firm_id, jobs, load.vehicle_id)
    in_bays = any(part.hold_entry_id is not None for part in load.parts)
    return not in_bays and all(left.get(part.lot_id, 0.0) <= NOTHING for part in load.parts)


def lies_since_before(unit: UnitOfWork, load: Load, now: datetime) -> bool:
    """Return whether a load was laid on a day before: what is said of it now moves none of it."""
    depot = unit.depots.get(load.firm_id, load.depot_id)
    if depot is None or load.state not in TIPPED_STATES or load.done_at is None:
        return False
    return day_of(depot, load.done_at) < day_of(depot, now)
