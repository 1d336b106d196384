"""The use cases behind one report, all of them in its one transaction."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from uuid import UUID

from service.core.crews import VehicleOutage
from service.rules.lookup import Rulebook
from service.usecases.base.lots.weigh_tickets import Tickets, keep_tickets
from service.usecases.base.ports.transaction import Joined
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, RenewNote, UnitOfWork
from service.usecases.base.use_cases import Changing, ToChange
from service.usecases.records.field.scope import Behind, TellTipped
from service.usecases.records.field.unkept import UnkeptTips
from service.usecases.records.held.load_held import LoadHeld
from service.usecases.records.keep_outages import KeepOutages
from service.usecases.records.keep_records import Shelf
from service.usecases.records.loads.lay_together import KeepMixed
from service.usecases.records.loads.record_tip import RecordTip
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs


@dataclass(frozen=True, kw_only=True, eq=False)
class BehindReports(Changing):
    """What the use cases behind a report are made of, beside its transaction."""

    rulebook: Rulebook
    clock_tolerance: timedelta
    renew_note: RenewNote
    vehicle_outages: Shelf[VehicleOutage]
    tell_tipped_by: Callable[[OpenUnitOfWork], TellTipped]

    @property
    def unkept_tips(self) -> UnkeptTips:
        """Return what remembers a tip that was refused: beside the transaction that is no more."""
        return UnkeptTips(
            open_unit_of_work=self.open_unit_of_work,
            clock=self.clock,
            identifiers=self.identifiers,
        )

    def __call__(self, joined: Joined[UnitOfWork]) -> Behind:
        """Return the use cases, all of them within one transaction."""

        def keep(_: OpenUnitOfWork, firm_id: UUID, tickets: Tickets) -> None:
            later = partial(keep_tickets, self.open_unit_of_work, firm_id, tickets)
            joined.afterwards.append(later)

        changing = ToChange(
            open_unit_of_work=joined.writing, clock=self.clock, identifiers=self.identifiers
        )
        judging = _Judging(**changing, rulebook=self.rulebook, renew_note=self.renew_note)
        return Behind(
            open_reading=joined.reading,
            record_jobs=RecordJobs(
                **judging,
                clock_tolerance=self.clock_tolerance,
                open_reading=joined.reading,
                keep_tickets=keep,
            ),
            record_tip=RecordTip(**judging),
            update_load=UpdateLoad(**judging),
            load_held=LoadHeld(**changing),
            keep_mixed=KeepMixed(**judging),
            vehicle_outages=KeepOutages(
                shelf=self.vehicle_outages, **changing, open_reading=joined.reading
            ),
            unkept_tips=UnkeptTips(**changing),
            tell_tipped=self.tell_tipped_by(joined.reading),
        )


class _Judging(ToChange):
    rulebook: Rulebook
    renew_note: RenewNote
