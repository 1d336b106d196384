"""What else happens when a record of the books changes: days go stale, the mass book follows."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.core.places import Bed
from service.core.records import AnyRecord, Clock, Identifiers
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.staleness import mark_days_stale
from service.usecases.base.use_cases import Stamp
from service.usecases.mass_book.keeping import book_opening


@dataclass(frozen=True, kw_only=True, eq=False)
class FollowPlaces:
    """Called in the transaction that keeps, amends or deletes a record."""

    clock: Clock
    identifiers: Identifiers

    def __call__(self, unit: UnitOfWork, record: AnyRecord) -> None:
        """Count the event, and enter a bed's opening balance; of a deleted bed, take it back."""
        mark_days_stale(unit, record, self.clock.now())
        if isinstance(record, Bed):
            is_kept = unit.beds.get(record.firm_id, record.id) is not None
            bed = record if is_kept else replace(record, opening_balance=None)
            said = record.opening_balance
            reason = None if said is None else f"stated by {said.stated_by}"
            stamp = Stamp(now=self.clock.now(), identifiers=self.identifiers, reason=reason)
            book_opening(unit, bed, stamp)
