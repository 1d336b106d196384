"""Which day it is at a depot."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from service.core.callers.access import Caller
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.use_cases import Asking


class TellToday(Asking):
    """Tell the working day a depot is in."""

    def __call__(self, caller: Caller, depot_id: UUID) -> date:
        """Return the depot's day now. Raises RecordMissing, also for another firm's depot."""
        with self.open_unit_of_work() as unit:
            depot = find_depot(unit, caller.firm_id, depot_id)
        return day_of(depot, self.clock.now())
