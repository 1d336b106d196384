"""What would the day be if: the same planning on changed facts, and nothing is kept."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID, uuid4

from service.core.acceptance.live_status import SiteState, SupposedStatus
from service.core.callers.access import Caller
from service.core.crews import VehicleOutage
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.jobs import Job, JobState
from service.core.materials import Wetness
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import Bed, CompostSite, DestinationKind, Drainage, GroundState
from service.destinations.laid.ledger import BedLedger
from service.usecases.base.lots.lot_estimates import work_out
from service.usecases.base.lots.weigh_tickets import Tickets, read_tickets
from service.usecases.day.facts import DayFacts
from service.usecases.day.reading.read_day import read_day
from service.usecases.planning.dependencies import DayPlanning
from service.usecases.planning.supposed.faults import Supposed, supposed_faults
from service.usecases.planning.supposed.lots import (
    LOTS_AS_THEY_ARE,
    SupposedLots,
    untreated,
    with_lots,
)
from service.usecases.planning.supposed.work import (
    NO_OTHER_WORK,
    SupposedWork,
    jobs_of,
    lawns_of,
    with_work,
)
from service.usecases.planning.suppositions import (
    left_behind_kg,
    told_unkept,
    unplaced_kg,
)
from service.usecases.telling.changes.differences import held_kg, lots_that_moved
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.moved import Compared, StandingTold, SupposedTold

STANDS: Final = (
    "What the plan that stands costs as it was made. Before and after are both searched whole now: "
    "they differ by what is supposed alone, and before may cost less than the plan that stands. "
    "Planning the whole day again takes that up."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteCapacity:
    """What a compost site would still take [kg]."""

    compost_site_id: UUID
    capacity_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedBed:
    """A bed that is not there yet [m2]."""

    property_id: UUID
    area_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What to suppose of the day.

    Attributes
    ----------
    closed_site_ids
        Compost sites that are shut from now on.
    site_capacities
        What compost sites would still take from now on.
    lost_vehicle_ids
        Vehicles that do nothing more: others take over what they have not done and what they have
        aboard, as where a vehicle is on record as out.
    refusing_bed_ids
        Beds whose clients take nothing.
    rain
        Every lot still to be cut is cut in the rain, and counts at its wet end.
    added_bed
        A free-draining, willing bed.
    work
        Jobs and vehicles more, and longer hours.
    lots
        Single lots otherwise than they are on record.
    """

    closed_site_ids: tuple[UUID, ...] = ()
    site_capacities: tuple[SiteCapacity, ...] = ()
    lost_vehicle_ids: tuple[UUID, ...] = ()
    refusing_bed_ids: tuple[UUID, ...] = ()
    rain: bool = False
    added_bed: AddedBed | None = None
    work: SupposedWork = NO_OTHER_WORK
    lots: SupposedLots = LOTS_AS_THEY_ARE

    def as_supposed(self) -> Supposed:
        """Return them as they are looked at for faults."""
        return Supposed(
            sent={**plain(self), **plain(self.work), **plain(self.lots)},
            added_jobs=[asdict(added) for added in self.work.added_jobs],
            shift_ends=self.work.shift_ends,
        )


class WhatIf(DayPlanning):
    """Plan a supposed day and tell it beside the day as it is."""

    def __call__(
        self,
        caller: Caller,
        depot_id: UUID,
        day: date,
        changes: Changes,
        *,
        with_routing: bool = False,
    ) -> SupposedTold:
        """Return cost, held mass and what moves, against the day as it is, both planned now.

        What no other vehicle takes over of lost ones is in no cost; its mass is told apart.

        Parameters
        ----------
        with_routing
            Tell the supposed routing, too, explained: that takes about as long as a first plan.

        Raises
        ------
        RecordMissing
            If there is no such depot.
        RecordNotUsable
            If a change names what is not part of the day.
        """
        with self.open_unit_of_work() as unit:
            facts = read_day(
                unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=self.clock.now()
            )
            faults = supposed_faults(unit, facts, changes.as_supposed())
            if faults:
                raise RecordNotUsable(faults)
            lost = facts
            if changes.lost_vehicle_ids:
                lost = read_day(
                    unit,
                    firm_id=caller.firm_id,
                    depot_id=depot_id,
                    day=day,
                    now=facts.now,
                    supposed_out=_supposed_out(facts, changes),
                )
            if changes.added_bed is not None:
                named = [changes.added_bed.property_id]
                places = facts.properties | unit.properties.get_many(caller.firm_id, named)
                facts, lost = (replace(one, properties=places) for one in (facts, lost))
            lawns = lawns_of(unit, caller.firm_id, changes.work)
            added = jobs_of(facts, changes.work, lawns)
            wetted = facts.jobs if changes.rain else ()
            known = untreated(lost, changes.lots)
            tickets = read_tickets(unit, caller.firm_id, [*wetted, *added, *known])
            lost = with_work(unit, lost, changes.work, added, tickets, rulebook=self.rulebook)
            lost = with_lots(lost, changes.lots, tickets, rulebook=self.rulebook)
        before = self._told(facts, explain=False)
        after = self._told(self._supposed(lost, changes, tickets), explain=with_routing)
        return SupposedTold(
            day=day,
            depot_id=depot_id,
            standing=_standing(facts),
            cost_cents=Compared.of(before["cost_cents"]["total"], after["cost_cents"]["total"]),
            held_kg=Compared.of(held_kg(before), held_kg(after)),
            unplaced_high_kg=Compared.of(unplaced_kg(before), unplaced_kg(after)),
            left_behind_high_kg=Compared.of(left_behind_kg(before), left_behind_kg(after)),
            moved=lots_that_moved(before, after),
            routing=after if with_routing else None,
        )

    def faults(
        self, caller: Caller, depot_id: UUID, day: date, supposed: Supposed
    ) -> list[FieldFault]:
        """Return what is wrong with what can be read; nothing of a depot that is not there."""
        with self.open_unit_of_work() as unit, suppress(RecordMissing):
            facts = read_day(
                unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=self.clock.now()
            )
            return supposed_faults(unit, facts, supposed)
        return []

    def _told(self, facts: DayFacts, *, explain: bool) -> dict[str, Any]:
        made = self._make_day(facts, self._stop, explain=explain)
        return told_unkept(facts, made, identifiers=self.identifiers, rulebook=self.rulebook)

    def _supposed(self, facts: DayFacts, changes: Changes, tickets: Tickets) -> DayFacts:
        sites = tuple(_supposed_site(site, changes, facts) for site in facts.sites)
        beds = tuple(_supposed_bed(bed, changes) for bed in facts.beds)
        jobs = facts.jobs
        if changes.rain:
            jobs = tuple(self._in_the_rain(job, facts, tickets) for job in jobs)
        supposed = (
            replace(facts, jobs=jobs)
            .with_places(DestinationKind.COMPOST_SITE, sites)
            .with_places(DestinationKind.BED, beds)
        )
        return supposed if changes.added_bed is None else _with_bed(supposed, changes.added_bed)

    def _in_the_rain(self, job: Job, facts: DayFacts, tickets: Tickets) -> Job:
        if job.state is not JobState.PLANNED:
            return job
        wet = replace(job, wetness=Wetness.RAINED_ON)
        return work_out(wet, facts.lot_facts, tickets.of(job), rulebook=self.rulebook)


def _standing(facts: DayFacts) -> StandingTold | None:
    """Return the plan that stands, which other costs are not of: it was made step by step."""
    plan = facts.previous
    if plan is None:
        return None
    return StandingTold(
        day_plan_id=plan.id, revision=plan.revision, cost_cents=plan.cost_cents, sentence=STANDS
    )


def _supposed_out(facts: DayFacts, changes: Changes) -> list[VehicleOutage]:
    """Return lost vehicles as they would be on record: out by now, or before the day begins.

    One that stands already is on record, with the place where it stands.
    """
    since = max(facts.now, facts.span.start)
    return [
        VehicleOutage(
            id=uuid4(),
            firm_id=facts.depot.firm_id,
            version=1,
            created_at=facts.now,
            updated_at=facts.now,
            vehicle_id=vehicle_id,
            day=facts.span.day,
            out_since=since,
            reason="supposed",
        )
        for vehicle_id in dict.fromkeys(changes.lost_vehicle_ids)
        if not facts.stands(vehicle_id)
    ]


def _supposed_site(site: CompostSite, changes: Changes, facts: DayFacts) -> CompostSite:
    left_kg = {one.compost_site_id: one.capacity_kg for one in changes.site_capacities}.get(site.id)
    if site.id in changes.closed_site_ids:
        return replace(
            site, live_status=SupposedStatus(state=SiteState.CLOSED, as_of=_on_the_day(facts))
        )
    if left_kg is not None:
        return replace(
            site,
            live_status=SupposedStatus(
                state=SiteState.OPEN,
                as_of=_on_the_day(facts),
                capacity_left_kg=left_kg,
                closes_early_at=site.live_status.closes_early_at,
            ),
        )
    return site


def _on_the_day(facts: DayFacts) -> datetime:
    """Return now, or the day's own noon where the day supposed is another."""
    if facts.span.start <= facts.now < facts.span.end:
        return facts.now
    return facts.span.at_second(facts.span.second(facts.span.end) // 2)


def _supposed_bed(bed: Bed, changes: Changes) -> Bed:
    if bed.id not in changes.refusing_bed_ids:
        return bed
    return replace(bed, consent=replace(bed.consent, state=ConsentState.WITHDRAWN))


def _with_bed(facts: DayFacts, added: AddedBed) -> DayFacts:
    bed = Bed(
        id=uuid4(),
        firm_id=facts.depot.firm_id,
        version=1,
        created_at=facts.now,
        updated_at=facts.now,
        property_id=added.property_id,
        name="supposed bed",
        area=Measure(value=added.area_m2, unit="m2"),
        drainage=Drainage.FREE,
        ground_state=GroundState.FIRM,
        water_distance_m=1000.0,
        well_distance_m=1000.0,
        consent=Consent(state=ConsentState.GIVEN),
        legal_basis=LegalBasis(kind=LegalBasisKind.GENERAL_EXEMPTION),
    )
    return replace(
        facts.with_places(DestinationKind.BED, (*facts.beds, bed)),
        points={**facts.points, bed.id: facts.properties[added.property_id].point},
        ledgers=facts.ledgers | {bed.id: BedLedger()},
    )
