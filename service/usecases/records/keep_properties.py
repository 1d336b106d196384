"""Keep properties: the word of a former client is not the word of the next."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from service.core.callers.access import Caller
from service.core.permission.consent import NOT_ASKED
from service.core.places import Property
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.amending import write_over
from service.usecases.records.keep_records import KeepRecords

WHY = "The property has another client: ask them."


class KeepProperties(KeepRecords[Property]):
    """Create, read, list, amend and delete properties."""

    def _completed(self, unit: UnitOfWork, record: Property) -> Property:  # noqa: ARG002 - the signature is that of all books
        """Return the property as one of a client who is there: of no other it is kept."""
        return replace(record, erased_at=None)

    def _before_amendment(
        self,
        unit: UnitOfWork,
        caller: Caller,
        old: Property,
        new: Property,
        reason: str | None,  # noqa: ARG002 - the property's own; the beds' history says why
    ) -> None:
        """End what the former client agreed to, and the calendars that are in their hands."""
        if old.client_id == new.client_id:
            return
        stamp = self.stamp(new.updated_at, caller, WHY)
        for bed in unit.beds.all(old.firm_id, property_id=old.id):
            ended: dict[str, Any] = {"feeds_ended_at": new.updated_at}
            if bed.consent != NOT_ASKED:
                ended["consent"] = NOT_ASKED
            later = replace(bed, **ended, version=bed.version + 1, updated_at=new.updated_at)
            write_over(unit, "beds", bed, later, stamp)
