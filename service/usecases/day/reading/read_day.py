"""Read everything a day's plan is built on at once, or as much of it as a load meets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from service.core.crews import Crew, Vehicle, VehicleOutage, is_used_on
from service.core.errors import RecordMissing
from service.core.jobs import Job
from service.core.loads import HoldEntry, HoldState, Load, LoadState
from service.core.places import Bed, Depot, DestinationKind
from service.destinations.laid.ledger import BedLedger
from service.usecases.base.calendar import DaySpan, day_of, find_depot, span_of
from service.usecases.base.lots.held_grass import HeldGrass, read_held
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import (
    NOTHING_LEFT,
    DayFacts,
    in_order_of_day,
    is_over_for,
    lasts_the_day,
)
from service.usecases.day.freezes import read_recalls
from service.usecases.day.misplaced.refused_tips import consents_then
from service.usecases.day.reading.places import Places, homes_of, points_of, read_place, read_places
from service.usecases.day.reading.recent_loads import (
    laid_layers,
    layers_ahead,
    lost_locks,
    promise,
    recent_loads,
    said_no_at,
    shares_gone,
    shares_gone_of,
    turned_away_before,
    under_way,
    with_others_aboard,
)
from service.usecases.day.replanning.still_out import outages_on
from service.usecases.day.tainted import tainted_beds
from service.usecases.mass_book.heaps import Heap, heaps_of, with_some_aboard
from service.usecases.mass_book.settled import settled_loads


def read_day(
    unit: UnitOfWork,
    *,
    firm_id: UUID,
    depot_id: UUID,
    day: date,
    now: datetime,
    supposed_out: Sequence[VehicleOutage] = (),
    met_by: Load | None = None,
) -> DayFacts:
    """Return the facts of a depot's day, in a number of statements that does not grow with it.

    A load that was on its way in a vehicle that stands, or that is mixed with worse or better by
    now, is planned again: it is still aboard.

    Parameters
    ----------
    supposed_out
        Vehicles that are out beside those on record, whatever else is on record of them.
    met_by
        A load for which no more is read than it meets: the jobs of its vehicle, its destination,
        its crew; nothing that lies in bays, no plan before.

    Raises
    ------
    RecordMissing
        If the firm has no such depot.
    """
    depot, firm = unit.depots.get(firm_id, depot_id), unit.firms.get(firm_id)
    if depot is None or firm is None:
        raise RecordMissing(record="depot", id=depot_id)
    span = span_of(depot, day)
    # First of all: an event that comes while the rest is read must leave the plan overtaken.
    working_day = unit.working_days.of(firm_id, depot_id, day)
    since_before = unit.jobs.aboard(firm_id, depot_id, span.start)
    of_day = unit.jobs.of_day(
        firm_id,
        depot_id,
        span.start,
        span.end,
        vehicle_id=None if met_by is None else met_by.vehicle_id,
    )
    concerned = sorted({job.id for job in (*since_before, *of_day)})
    places = read_places(unit, depot) if met_by is None else read_place(unit, met_by)
    entries = _in_bays(unit, places, firm_id=firm_id) if met_by is None else _aboard(unit, met_by)
    heaps = heaps_of(unit, firm_id, entries)
    today = day_of(depot, now)

    def gone_with(loads: Sequence[Load]) -> dict[UUID, float]:
        before = shares_gone_of(unit, since_before, loads, heaps, day=day, today=today)
        return shares_gone(loads, day=day, today=today) | before

    recent = recent_loads(unit, firm_id, span, concerned)
    supposed = {outage.vehicle_id for outage in supposed_out}
    on_record = outages_on(unit, firm_id, span)
    outages = sorted(
        (*(outage for outage in on_record if outage.vehicle_id not in supposed), *supposed_out),
        key=lambda outage: (outage.out_since, outage.id),
    )
    standing = {
        outage.vehicle_id
        for outage in outages
        if lasts_the_day(outage, depot, span, now) and is_over_for(outage, depot, span, now)
    }
    gone = gone_with(recent)
    cuts = [*since_before, *of_day]
    mixed = with_others_aboard(recent, cuts, heaps, gone=gone)
    again = {
        load.id
        for load in recent
        if load.working_day == day
        and load.state is LoadState.UNDER_WAY
        and (load.vehicle_id in standing or load.id in mixed)
    }
    if again:
        recent = [
            replace(one, state=LoadState.PLANNED) if one.id in again else one for one in recent
        ]
        gone = gone_with(recent)
    # They come in the order of the day, whatever order they were posted in.
    jobs = in_order_of_day(
        [*(j for j in since_before if 1.0 - gone.get(j.id, 0.0) > NOTHING_LEFT), *of_day]
    )
    promise(heaps, recent, day=day, today=today)
    held = () if met_by is not None else _lying(unit, firm_id, heaps)
    loaded = _loaded(unit, firm_id, heaps)
    known = [*jobs, *(job for grass in (*held, *loaded) for job in grass.jobs)]
    beds: tuple[Bed, ...] = places[DestinationKind.BED]
    properties = unit.properties.get_many(
        firm_id, sorted(homes_of(places) | {job.property_id for job in known})
    )
    laid = laid_layers(unit, depot, [bed.id for bed in beds], recent, day=day)
    own = [load for load in recent if load.working_day == day and load.depot_id == depot_id]
    own_ids = {load.id for load in own}
    turned_away = turned_away_before(unit, firm_id, recent, day)
    with_some = {grass.vehicle_id for grass in loaded if grass.vehicle_id is not None}
    vehicles = _vehicles_of(unit, depot, jobs, own, with_some, day=day) if met_by is None else {}
    return DayFacts(
        depot=depot,
        span=span,
        now=now,
        working_day=working_day,
        previous=unit.day_plans.latest(firm_id, depot_id, day) if met_by is None else None,
        jobs=jobs,
        lot_facts=read_lot_facts(unit, firm_id, known),
        vehicles=vehicles,
        crews=_crews_of(unit, firm_id, met_by),
        properties=properties,
        places=places,
        points=points_of(places, depot=depot, properties=properties),
        ledgers={
            bed.id: BedLedger(
                layers=(
                    *laid.get(bed.id, ()),
                    *layers_ahead(recent, bed.id, day=day, today=today),
                )
            )
            for bed in beds
        },
        held=held,
        loaded=loaded,
        loads=tuple(own),
        elsewhere=tuple(
            load
            for load in recent
            if load.id not in own_ids
            and (load.working_day == day or (load.done_at is not None and _within(span, load)))
        ),
        outages=tuple(outage for outage in outages if outage.vehicle_id in vehicles),
        gone=gone,
        turned_away_before=turned_away,
        said_no_at=said_no_at(unit, firm_id, turned_away),
        under_way=under_way(recent, depot_id),
        recalls=read_recalls(unit, depot, known, own if met_by is None else [*own, met_by]),
        settled=settled_loads(unit, firm_id, own) if met_by is None else frozenset(),
        consents_then=consents_then(unit, firm_id, own, beds, day=day),
        tainted=tainted_beds(unit, firm_id, [bed.id for bed in beds]) if met_by is None else {},
        lost_locks=lost_locks(unit, depot, day, jobs, [*held, *loaded], gone=gone)
        if met_by is None
        else (),
        currency=firm.currency,
        lawns=unit.lawns.get_many(firm_id, sorted({job.lawn_id for job in jobs if job.lawn_id})),
    )


def read_today(unit: UnitOfWork, firm_id: UUID, depot_id: UUID, *, now: datetime) -> DayFacts:
    """Return a depot's day that it is there. Raises RecordMissing."""
    day = day_of(find_depot(unit, firm_id, depot_id), now)
    return read_day(unit, firm_id=firm_id, depot_id=depot_id, day=day, now=now)


def read_met(unit: UnitOfWork, load: Load, *, now: datetime) -> DayFacts:
    """Return as much of a load's own day as it meets."""
    return read_day(
        unit,
        firm_id=load.firm_id,
        depot_id=load.depot_id,
        day=load.working_day,
        now=now,
        met_by=load,
    )


def routed_on(unit: UnitOfWork, depot: Depot, job: Job, *, now: datetime) -> date:
    """Return the day whose plan routes a job's clippings: its own, or today if still aboard."""
    day, today = day_of(depot, job.at), day_of(depot, now)
    if day >= today:
        return day
    aboard = unit.jobs.aboard(depot.firm_id, depot.id, span_of(depot, today).start)
    return today if any(one.id == job.id for one in aboard) else day


def _vehicles_of(
    unit: UnitOfWork,
    depot: Depot,
    jobs: Sequence[Job],
    loads: Sequence[Load],
    loaded: set[UUID],
    *,
    day: date,
) -> dict[UUID, Vehicle]:
    """Return the depot's vehicles that are used on the day, and whichever others it names."""
    named = {job.vehicle_id for job in jobs} | {load.vehicle_id for load in loads} | loaded
    of_depot: list[Vehicle] = unit.vehicles.all(depot.firm_id, depot_id=depot.id)
    own = {one.id: one for one in of_depot if is_used_on(day, one)}
    return own | unit.vehicles.get_many(depot.firm_id, sorted(named))


def _crews_of(unit: UnitOfWork, firm_id: UUID, met_by: Load | None) -> dict[UUID, Crew]:
    if met_by is None:
        return {crew.id: crew for crew in unit.crews.all(firm_id)}
    return unit.crews.get_many(firm_id, [met_by.crew_id] if met_by.crew_id else [])


def _in_bays(unit: UnitOfWork, places: Places, *, firm_id: UUID) -> list[HoldEntry]:
    bays = tuple(bay.id for bay in places[DestinationKind.HOLD_BAY])
    return unit.hold_entries.all(firm_id, hold_bay_id=bays, state=HoldState.IN_BAY)


def lying_there(unit: UnitOfWork, load: Load) -> tuple[HeldGrass, ...]:
    """Return what lies in the bay of a load, its own as well, oldest first."""
    entries = _in_bays(unit, read_place(unit, load), firm_id=load.firm_id)
    return _lying(unit, load.firm_id, heaps_of(unit, load.firm_id, entries))


def _aboard(unit: UnitOfWork, load: Load) -> list[HoldEntry]:
    """Return the entries of which anything may be in bodies, or was in a load."""
    waiting = unit.hold_entries.all(load.firm_id, state=HoldState.IN_BAY)
    return with_some_aboard(waiting)


def _lying(unit: UnitOfWork, firm_id: UUID, heaps: Sequence[Heap]) -> tuple[HeldGrass, ...]:
    """Return what lies in bays, oldest first."""
    gone = {
        lot_id: share for heap in heaps for lot_id, share in heap.gone_from(heap.in_bay).items()
    }
    return read_held(unit, firm_id, [heap.entry for heap in heaps], gone)


def _loaded(unit: UnitOfWork, firm_id: UUID, heaps: Sequence[Heap]) -> tuple[HeldGrass, ...]:
    """Return what came out of bays and is in bodies, by vehicle, oldest first."""
    found: list[HeldGrass] = []
    for vehicle_id in sorted({one for heap in heaps for one in heap.aboard}):
        some = [heap for heap in heaps if vehicle_id in heap.aboard]
        gone = {
            lot_id: share
            for heap in some
            for lot_id, share in heap.gone_from(heap.aboard[vehicle_id]).items()
        }
        entries = [heap.entry for heap in some]
        found += read_held(unit, firm_id, entries, gone, vehicle_id=vehicle_id)
    return tuple(found)


def _within(span: DaySpan, load: Load) -> bool:
    return load.done_at is not None and span.start <= load.done_at < span.end
