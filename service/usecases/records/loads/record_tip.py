"""Record a tip that no plan foresaw: where it was tipped, when, and how much of which lots."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from types import SimpleNamespace
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import Job
from service.core.loads import HoldEntry, HoldState, Load, LoadPart, LoadState, TicketReview
from service.core.mass_book import NOTHING
from service.core.materials import worst_status
from service.core.measures.quantities import Measure
from service.core.places import Depot, DestinationKind
from service.core.records import Identifiers
from service.core.reports import ReportedPart
from service.destinations.lots import amounts_of
from service.rules.lookup import Rulebook
from service.usecases.base.batch_cache import missing_references
from service.usecases.base.calendar import day_of
from service.usecases.base.destination_kinds import KINDS, is_hold
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.staleness import touch_day, touch_days_from
from service.usecases.base.use_cases import Changing
from service.usecases.day.asking import ask_day
from service.usecases.day.bodies.composition import summed
from service.usecases.day.body_contents import read_body
from service.usecases.day.facts import in_order_of_day
from service.usecases.day.held.entries import hold_entry_of
from service.usecases.day.reading.read_day import read_day
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.mass_book.keeping import book_load
from service.usecases.records.follow_recalls import follow_recalls
from service.usecases.records.held.queue_states import follow_brought_on
from service.usecases.records.job_names import is_theirs, others_faults
from service.usecases.records.loads.charges import charged
from service.usecases.records.loads.correct_loads import as_tipped
from service.usecases.records.loads.lay_together import bodies_of, mixed_by_tip
from service.usecases.records.loads.load_faults import DEVICE_CLOCK_TOLERANCE, weight_faults
from service.usecases.records.loads.on_the_way import end_on_the_way
from service.usecases.records.loads.parts_on_record import parts_on_record
from service.usecases.records.loads.shut_gates import with_gate_asked
from service.usecases.records.loads.tickets import with_gate_ticket, with_ticket_before
from service.usecases.records.loads.tipped_parts import (
    load_parts,
    not_aboard,
    told_share,
    why_not,
)

REPORTING = "report work"
UNPLANNED = "Recorded as it happened: no plan sent it here."


@dataclass(frozen=True, slots=True, kw_only=True)
class NewTip:
    """A tip as it is told. ``parts`` are of jobs of one depot."""

    vehicle_id: UUID
    crew_id: UUID | None = None
    destination_kind: DestinationKind
    destination_id: UUID
    done_at: datetime
    parts: tuple[ReportedPart, ...]
    weighed_net: Measure | None = None
    weigh_ticket: str | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class RecordTip(Changing):
    """Keep a load that was tipped without a plan, also on a day of the past."""

    rulebook: Rulebook
    renew_note: RenewNote

    def __call__(
        self,
        caller: Caller,
        tip: NewTip,
        *,
        identifiers: Identifiers | None = None,
        reason: str | None = None,
    ) -> Load:
        """Keep the load as delivered and return it; days since are planned around it.

        Parameters
        ----------
        reason
            Why, in words. With one, a tip that should not have been is kept as what happened.

        Raises
        ------
        RecordNotUsable, NotForThisPlace, OutsideHours, MoreThanThereIs
        """
        now = self.clock.now()
        load_id = (identifiers or self.identifiers).next_id()
        with self.open_unit_of_work() as unit:
            kept: Load | None = unit.loads.get(caller.firm_id, load_id)
            if kept is not None:
                # A try of the same request kept it, and was cut off before it could say so.
                return kept
            tip = replace(tip, parts=parts_on_record(unit, caller.firm_id, tip.parts))
            found = self._found(unit, caller, tip)
            faults = self._faults(unit, caller, tip, found)
            if faults:
                raise RecordNotUsable(faults)
            jobs = [found[part.job_id] for part in tip.parts]
            depot = unit.depots.get_many(caller.firm_id, [jobs[0].depot_id])[jobs[0].depot_id]
            load = self._load(unit, tip, jobs, depot)
            load = as_tipped(unit, replace(load, id=load_id), now=now, rulebook=self.rulebook)
            body = read_body(unit, load, rulebook=self.rulebook, now=now)
            load = body.judged(load, insists=reason is not None)
            stamp, day = self.stamp(now, caller, reason), load.working_day
            touch_day(unit, firm_id=caller.firm_id, depot_id=depot.id, day=day, stamp=stamp)
            touch_days_from(unit, firm_id=caller.firm_id, day=day)
            bodies = bodies_of(unit, load, tip.done_at)
            entry = self._held(unit, load, now) if is_hold(load.destination_kind) else None
            unit.loads.add(load)
            if entry is not None:
                unit.hold_entries.add(entry)
            follow_brought_on(unit, load, now)
            book_load(unit, load, stamp)
            end_on_the_way(unit, load, stamp)
            load = mixed_by_tip(
                unit,
                load,
                bodies,
                stamp=stamp,
                renew_note=self.renew_note,
                rulebook=self.rulebook,
            )
            follow_recalls(unit, load, now=now)
            unit.commit()
        return load

    def parts_tipped(self, caller: Caller, tip: NewTip) -> tuple[LoadPart, ...]:
        """Return the parts of a planned load that was tipped as it is told. Raises RecordNotUsable.

        What is not said of a lot is all of it that is aboard.
        """
        with self.open_unit_of_work() as unit:
            tip = replace(tip, parts=parts_on_record(unit, caller.firm_id, tip.parts))
            found = self._found(unit, caller, tip)
            faults = self._faults(unit, caller, tip, found)
            if faults:
                raise RecordNotUsable(faults)
            aboard, _ = lots_aboard(unit, caller.firm_id, found, tip.vehicle_id)
        jobs = [found[part.job_id] for part in tip.parts]
        return load_parts(tip.parts, jobs, aboard)

    def faults(self, caller: Caller, tip: Any, unreadable: Collection[str]) -> list[FieldFault]:  # noqa: ANN401 - a tip, as far as it can be read
        """Return all that is wrong with what can be read of a tip; the rest of it is None."""
        with self.open_unit_of_work() as unit:
            return self._faults(unit, caller, tip, self._found(unit, caller, tip), unreadable)

    def _found(self, unit: UnitOfWork, caller: Caller, tip: NewTip) -> dict[UUID, Job]:
        """Return the jobs of a tip that are the caller's, or of which any is in its vehicle."""
        held = {part.job_id for part in tip.parts if part.hold_entry_id is not None}
        ids = sorted({part.job_id for part in tip.parts})
        jobs: dict[UUID, Job] = unit.jobs.get_many(caller.firm_id, ids)
        own = (job for job in jobs.values() if is_theirs(unit, caller, job, what=REPORTING))
        return {job.id: job for job in own} | {k: jobs[k] for k in held & jobs.keys()}

    def _faults(
        self,
        unit: UnitOfWork,
        caller: Caller,
        tip: Any,  # noqa: ANN401 - as far as it can be read
        found: Mapping[UUID, Job],
        unreadable: Collection[str] = (),
    ) -> list[FieldFault]:
        told: Any = SimpleNamespace(
            firm_id=caller.firm_id,
            ticket_review=TicketReview.AWAITED,
            **{one.name: getattr(tip, one.name) for one in fields(NewTip)},
        )
        references = {"vehicle_id": "vehicles", "crew_id": "crews"}
        if tip.destination_kind in KINDS:
            references["destination_id"] = KINDS[tip.destination_kind].repository
        faults = [*missing_references(unit, told, references), *others_faults(caller, tip)]
        if tip.destination_kind not in {None, *KINDS}:
            words = ", ".join(sorted(word.value for word in KINDS))
            faults.append(FieldFault(pointer="/destination_kind", detail=f"One of {words}."))
        if tip.done_at is not None and tip.done_at > self.clock.now() + DEVICE_CLOCK_TOLERANCE:
            faults.append(FieldFault(pointer="/done_at", detail="A tip lies in the past."))
        ids = [part.lot_id for part in tip.parts]
        aboard, since = lots_aboard(unit, caller.firm_id, found, tip.vehicle_id)
        for number, (part, job_id) in enumerate(zip(tip.parts, ids, strict=True)):
            job = found.get(part.job_id)
            why = why_not(unit, job, tip, since.get(job_id), is_again=job_id in ids[:number])
            if why:
                faults.append(FieldFault(pointer=f"/parts/{number}/job_id", detail=why))
            elif job is not None and not NOTHING < told_share(part, job, aboard) <= (
                aboard.get(job_id, 0.0) + NOTHING
            ):
                faults.append(not_aboard(part, job, aboard.get(job_id, 0.0), number))
        if not ids and "parts" not in unreadable:
            faults.append(FieldFault(pointer="/parts", detail="Name what was tipped."))
        if len({job.depot_id for job in found.values()}) > 1:
            faults.append(FieldFault(pointer="/parts", detail="The jobs are of one depot."))
        return [*faults, *weight_faults(unit, None, told)]

    def _load(self, unit: UnitOfWork, tip: NewTip, jobs: Sequence[Job], depot: Depot) -> Load:
        now, firm_id = self.clock.now(), depot.firm_id
        aboard, _ = lots_aboard(unit, firm_id, {job.id: job for job in jobs}, tip.vehicle_id)
        shares = [part.share for part in load_parts(tip.parts, jobs, aboard)]
        amounts = [amounts_of(job, job.estimate) for job in jobs if job.estimate is not None]
        mass_kg, volume_m3, nitrogen_kg = (
            summed(
                [(one[place], share) for one, share in zip(amounts, shares, strict=True)],
                unit=unit_name,
            )
            for place, unit_name in enumerate(("kg", "m3", "kg"))
        )
        load = Load(
            id=jobs[0].id,
            firm_id=firm_id,
            version=1,
            created_at=now,
            updated_at=now,
            depot_id=depot.id,
            working_day=day_of(depot, tip.done_at),
            vehicle_id=tip.vehicle_id,
            crew_id=tip.crew_id,
            destination_kind=tip.destination_kind,
            destination_id=tip.destination_id,
            state=LoadState.DELIVERED,
            sequence=0,
            arrive_at=tip.done_at,
            done_at=tip.done_at,
            parts=load_parts(tip.parts, jobs, aboard),
            status=worst_status(job.status for job in jobs),
            mass_kg=mass_kg,
            volume_m3=volume_m3,
            nitrogen_kg=nitrogen_kg,
            weighed_net=tip.weighed_net,
            weigh_ticket=tip.weigh_ticket,
            explanation={"chosen": UNPLANNED},
        )
        load = with_ticket_before(unit, with_gate_ticket(unit, load))
        return charged(unit, with_gate_asked(unit, None, load))

    def _held(self, unit: UnitOfWork, load: Load, now: datetime) -> HoldEntry:
        """Return the entry of what was tipped into a bay: as of a planned one, but in it."""
        facts = read_day(
            unit, firm_id=load.firm_id, depot_id=load.depot_id, day=load.working_day, now=now
        )
        ids = [part.job_id for part in load.parts]
        # Its lots are asked about though a plan, or another vehicle, may have them on its way.
        jobs = {job.id: job for job in facts.jobs} | unit.jobs.get_many(load.firm_id, ids)
        facts = replace(
            facts,
            jobs=in_order_of_day(jobs.values()),
            lot_facts=read_lot_facts(unit, load.firm_id, list(jobs.values())),
            gone={lot: share for lot, share in facts.gone.items() if lot not in ids},
        )
        entry = hold_entry_of(
            load,
            facts=facts,
            rulebook=self.rulebook,
            asked=ask_day(facts, rulebook=self.rulebook),
            identifiers=self.identifiers,
        )
        return replace(entry, state=HoldState.IN_BAY, held_since=load.done_at)
