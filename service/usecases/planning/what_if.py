"""What would the day be if: the same planning on changed facts, and nothing is kept."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID, uuid4

from service.core.callers.access import Caller
from service.core.crews import VehicleOutage
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.jobs import Job, JobState
from service.core.live_status import SiteState, SupposedStatus
from service.core.materials import Wetness
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import Bed, CompostSite, DestinationKind, Drainage, GroundState
from service.core.quantities import Measure
from service.destinations.bed_ledger import BedLedger
from service.usecases.base.lot_estimates import work_out
from service.usecases.base.weigh_tickets import Tickets, read_tickets
from service.usecases.day.facts import DayFacts
from service.usecases.day.reading import read_day
from service.usecases.planning.dependencies import DayPlanning
from service.usecases.planning.supposed_lots import (
    LOTS_AS_THEY_ARE,
    SupposedLots,
    lot_faults,
    untreated,
    with_lots,
)
from service.usecases.planning.supposed_work import (
    NO_OTHER_WORK,
    SupposedWork,
    jobs_of,
    lawns_of,
    with_work,
    work_faults,
)
from service.usecases.planning.suppositions import (
    compared,
    left_behind_kg,
    strangers,
    told_unkept,
    unplaced_kg,
)
from service.usecases.telling.differences import held_kg, lots_that_moved
from service.usecases.telling.told.forms import plain

STANDS: Final = (
    "What the plan that stands costs as it was made. Before and after are both searched whole now: "
    "they differ by what is supposed alone, and before may cost less than the plan that stands. "
    "Planning the whole day again takes that up."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What to suppose of the day.

    Attributes
    ----------
    closed_site_ids
        Compost sites that are shut from now on.
    site_capacity_kg
        Compost site -> what it would still take from now on [kg].
    lost_vehicle_ids
        Vehicles that do nothing more: others take over what they have not done and what they have
        aboard, as where a vehicle is on record as out.
    refusing_bed_ids
        Beds whose clients take nothing.
    rain
        Every lot still to be cut is cut in the rain, and counts at its wet end.
    added_bed
        A free-draining, willing bed: its property and area [m2].
    work
        Jobs and vehicles more, and longer hours.
    lots
        Single lots otherwise than they are on record.
    """

    closed_site_ids: tuple[UUID, ...] = ()
    site_capacity_kg: tuple[tuple[UUID, float], ...] = ()
    lost_vehicle_ids: tuple[UUID, ...] = ()
    refusing_bed_ids: tuple[UUID, ...] = ()
    rain: bool = False
    added_bed: tuple[UUID, float] | None = None
    work: SupposedWork = NO_OTHER_WORK
    lots: SupposedLots = LOTS_AS_THEY_ARE


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
    ) -> dict[str, object]:
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
        with self._open() as unit:
            facts = read_day(
                unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=self._clock.now()
            )
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
                place = unit.properties.get(caller.firm_id, changes.added_bed[0])
                if place is not None:
                    places = facts.properties | {place.id: place}
                    facts, lost = (replace(one, properties=places) for one in (facts, lost))
            lawns = lawns_of(unit, caller.firm_id, changes.work)
            faults = [
                *_faults(facts, changes),
                *work_faults(facts, changes.work, tuple(lawns)),
                *lot_faults(facts, changes.lots),
            ]
            if faults:
                raise RecordNotUsable(faults)
            added = jobs_of(facts, changes.work, lawns)
            wetted = facts.jobs if changes.rain else ()
            known = untreated(lost, changes.lots)
            tickets = read_tickets(unit, caller.firm_id, [*wetted, *added, *known], keep=False)
            lost = with_work(unit, lost, changes.work, added, tickets, rulebook=self._rulebook)
            lost = with_lots(lost, changes.lots, tickets, rulebook=self._rulebook)
        before = self._told(facts, explain=False)
        after = self._told(self._supposed(lost, changes, tickets), explain=with_routing)
        return {
            "day": day.isoformat(),
            "depot_id": str(depot_id),
            "standing": _standing(facts),
            "cost_cents": compared(before["cost_cents"]["total"], after["cost_cents"]["total"]),
            "held_kg": compared(held_kg(before), held_kg(after)),
            "unplaced_high_kg": compared(unplaced_kg(before), unplaced_kg(after)),
            "left_behind_high_kg": compared(left_behind_kg(before), left_behind_kg(after)),
            "moved": plain(lots_that_moved(before, after)),
            "routing": after if with_routing else None,
        }

    def strangers(
        self, caller: Caller, depot_id: UUID, day: date, named: Sequence[tuple[str, str, UUID]]
    ) -> list[FieldFault]:
        """Return a fault for every id that the day does not have; none of a depot that is not.

        Parameters
        ----------
        named
            Of each id the books it is looked for in, its pointer and itself.
        """
        with self._open() as unit:
            try:
                facts = read_day(
                    unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=self._clock.now()
                )
            except RecordMissing:
                return []
            ids: dict[str, list[UUID]] = {}
            for books, _, one in named:
                ids.setdefault(books, []).append(one)
            known: dict[str, Collection[UUID]] = {
                "sites": {site.id for site in facts.sites},
                "beds": {bed.id for bed in facts.beds},
                "vehicles": facts.vehicles,
                "crews": facts.crews,
                "jobs": {job.id for job in facts.jobs},
                "jobs_ahead": {job.id for job in facts.jobs if job.state is JobState.PLANNED},
                "properties": facts.properties.keys()
                | unit.properties.get_many(caller.firm_id, ids.get("properties", [])).keys(),
                "lawns": unit.lawns.get_many(caller.firm_id, ids.get("lawns", [])),
            }
        return strangers(*((pointer, [one], known[books]) for books, pointer, one in named))

    def _told(self, facts: DayFacts, *, explain: bool) -> dict[str, Any]:
        made = self._make_day(facts, self._stop, explain=explain)
        return told_unkept(facts, made, identifiers=self._identifiers, rulebook=self._rulebook)

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
        return work_out(wet, facts.lot_facts, tickets.of(job), rulebook=self._rulebook)


def _standing(facts: DayFacts) -> dict[str, object] | None:
    """Return the plan that stands, which other costs are not of: it was made step by step."""
    plan = facts.previous
    if plan is None:
        return None
    return {
        "day_plan_id": str(plan.id),
        "revision": plan.revision,
        "cost_cents": plan.cost_cents,
        "sentence": STANDS,
    }


def _faults(facts: DayFacts, changes: Changes) -> list[FieldFault]:
    sites = {site.id for site in facts.sites}
    capacities = tuple(site_id for site_id, _ in changes.site_capacity_kg)
    bed_on = () if changes.added_bed is None else (changes.added_bed[0],)
    return strangers(
        ("/closed_site_ids/{}", changes.closed_site_ids, sites),
        ("/site_capacities/{}/compost_site_id", capacities, sites),
        ("/lost_vehicle_ids/{}", changes.lost_vehicle_ids, facts.vehicles),
        ("/refusing_bed_ids/{}", changes.refusing_bed_ids, {bed.id for bed in facts.beds}),
        ("/added_bed/property_id", bed_on, facts.properties),
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
    left_kg = dict(changes.site_capacity_kg).get(site.id)
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


def _with_bed(facts: DayFacts, added: tuple[UUID, float]) -> DayFacts:
    property_id, area_m2 = added
    bed = Bed(
        id=uuid4(),
        firm_id=facts.depot.firm_id,
        version=1,
        created_at=facts.now,
        updated_at=facts.now,
        property_id=property_id,
        name="supposed bed",
        area=Measure(value=area_m2, unit="m2"),
        drainage=Drainage.FREE,
        ground_state=GroundState.FIRM,
        water_distance_m=1000.0,
        well_distance_m=1000.0,
        consent=Consent(state=ConsentState.GIVEN),
        legal_basis=LegalBasis(kind=LegalBasisKind.GENERAL_EXEMPTION),
    )
    return replace(
        facts.with_places(DestinationKind.BED, (*facts.beds, bed)),
        points={**facts.points, bed.id: facts.properties[property_id].point},
        ledgers=facts.ledgers | {bed.id: BedLedger()},
    )
