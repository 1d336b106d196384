"""What becomes of a load under way when its vehicle tips what is in it elsewhere."""

from __future__ import annotations

from dataclasses import replace

from service.core.loads import Load, LoadState
from service.core.mass_book import NOTHING
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Stamp
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.records.amending import write_over
from service.usecases.records.held.queue_states import follow_bay


def end_on_the_way(unit: UnitOfWork, tipped: Load, stamp: Stamp) -> None:
    """Let what a vehicle set off with be on its way no more once all of it is tipped elsewhere.

    It would count as aboard, and be waited for at its place, for ever.

    Parameters
    ----------
    tipped
        A load as it is kept and booked.
    """
    lots = {part.lot_id for part in tipped.parts}
    for old in unit.loads.all(
        tipped.firm_id, vehicle_id=tipped.vehicle_id, state=LoadState.UNDER_WAY
    ):
        if old.id == tipped.id or not lots & {part.lot_id for part in old.parts}:
            continue
        jobs = unit.jobs.get_many(old.firm_id, sorted({part.job_id for part in old.parts}))
        left, _ = lots_aboard(unit, old.firm_id, jobs, old.vehicle_id)
        if any(left.get(part.lot_id, 0.0) > NOTHING for part in old.parts):
            continue
        new = replace(old, state=LoadState.SUPERSEDED, locked=False, at_gate_at=None).renewed(
            stamp.now
        )
        write_over(unit, "loads", old, new, stamp)
        if is_hold(old.destination_kind):
            follow_bay(unit, old, new, stamp.now)
