"""What of a heap came into a body without a word of it: found missing when its load set off.

The crew forgot to say that it loaded. All that the plan had them load then counts as loaded, at the
hour of the tip, and what the tip leaves of it as aboard until somebody says otherwise. Whoever
brings one bed its share seldom drives with that share alone; and of the two mistakes the one that
has too little in a body puts a vehicle on the road with too much, while the one that has too little
in a bay is seen there by anybody.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID, uuid5

from service.core.errors import FieldFault, RecordNotUsable
from service.core.loads import FIXED_LOAD_STATES, BayLoading, HoldEntry, Load, LoadState
from service.core.mass_book import NOTHING
from service.usecases.base.calendar import depot_clock, find_depot
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.told_routing import LOAD_HELD, ToldDay
from service.usecases.mass_book.heaps import Heap, heaps_of
from service.usecases.mass_book.keeping import loads_with
from service.usecases.mass_book.movements import TIPPED_STATES


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLoading:
    """The stop at which a plan has a vehicle load of a heap: up to how much, and when.

    ``is_known`` is whether the plan was made with all that was said of the heap.
    """

    mass_high_kg: float
    at: datetime
    is_known: bool

    def share_of(self, heap: Heap) -> float:
        """Return the share of a heap that it is."""
        high_kg = heap.mass_kg.high
        return min(1.0, self.mass_high_kg / high_kg) if high_kg > 0.0 else 1.0


def planned_loading(
    unit: UnitOfWork,
    heap: Heap,
    vehicle_id: UUID,
    place: tuple[UUID, date],
    before: UUID | None = None,
) -> PlannedLoading | None:
    """Return the stop of the newest plan of a day at which a vehicle loads of a heap; None: none.

    Parameters
    ----------
    place
        Depot and day.
    before
        The load that the stop stands before, the last one of several; the first stop if left out.
    """
    depot_id, day = place
    plan = unit.day_plans.latest(heap.entry.firm_id, depot_id, day)
    told = ToldDay.of(plan).vehicles.get(str(vehicle_id))
    found: PlannedLoading | None = None
    for stop in () if told is None else told["stops"]:
        if stop["kind"] == LOAD_HELD and stop["hold_entry_id"] == str(heap.entry.id):
            at = datetime.fromisoformat(stop["at"])
            found = PlannedLoading(
                mass_high_kg=float(stop["mass_high_kg"]),
                at=at,
                is_known=plan is not None and heap.entry.updated_at <= plan.planned_at,
            )
            if before is None:
                return found
        elif before is not None and stop.get("load_id") == str(before):
            return found
    return None


def follow_loadings(unit: UnitOfWork, old: Load, load: Load, now: datetime) -> None:
    """Let what a load brings on have been in its body, and never have been if it is planned again.

    Parameters
    ----------
    old, load
        As it was, and as it is now and is kept.

    Raises
    ------
    RecordNotUsable
        If it was loaded only after it was tipped.
    """
    ids = sorted({part.hold_entry_id for part in load.parts if part.hold_entry_id is not None})
    # Who sets off with a fresh cut has not said that the heap was fetched on the way, or will be.
    is_fresh = any(part.hold_entry_id is None for part in load.parts)
    if not ids or load.is_by_hand or (load.state is LoadState.UNDER_WAY and is_fresh):
        return
    for entry in unit.hold_entries.get_many(load.firm_id, ids).values():
        if load.state in FIXED_LOAD_STATES:
            loadings = _brought(unit, entry, old, load, now)
        else:
            loadings = _never_brought(unit, entry, load)
        if loadings != (entry.loadings or ()):
            unit.hold_entries.replace(
                with_loadings(entry, loadings, now), expected_version=entry.version
            )


def with_loadings(entry: HoldEntry, loadings: Sequence[BayLoading], now: datetime) -> HoldEntry:
    """Return the next version of an entry, with other loadings."""
    in_order = tuple(sorted(loadings, key=lambda one: (one.at, one.id)))
    return replace(entry, loadings=in_order or None).renewed(now)


def _brought(
    unit: UnitOfWork, entry: HoldEntry, old: Load, load: Load, now: datetime
) -> tuple[BayLoading, ...]:
    """Return the loadings of an entry by which a load that set off can have been in its body."""
    at, kept = load.done_at or now, entry.loadings or ()
    own = [one for one in kept if one.load_id == load.id]
    others = tuple(
        # Nobody said that hour: it was loaded before it was tipped.
        replace(one, at=min(one.at, at))
        if one.load_id is not None and one.vehicle_id == load.vehicle_id
        else one
        for one in kept
        if one.load_id != load.id
    )
    if own:
        is_of_the_end = own[0].at == old.done_at
        hours = [at, *(_other_ends(unit, entry, load) if is_of_the_end else [own[0].at])]
        return (*others, *(replace(one, at=min(hours)) for one in own))
    by_then = tuple(one for one in others if one.vehicle_id != load.vehicle_id or one.at <= at)
    (heap,) = heaps_of(
        unit,
        load.firm_id,
        [replace(entry, loadings=by_then)],
        known=[replace(load, state=LoadState.PLANNED)],
    )
    missing = heap.share_of(load) - max(0.0, heap.share_aboard(load.vehicle_id))
    if missing <= NOTHING:
        return others
    later = [one.at for one in others if one not in by_then]
    if later:
        clock = depot_clock(find_depot(unit, load.firm_id, load.depot_id), min(later), now=at)
        detail = f"It was loaded out of the bay at {clock}, after that. Correct the wrong hour."
        raise RecordNotUsable([FieldFault(pointer="/done_at", detail=detail)])
    return (*others, *_found_missing(unit, heap, load, missing, at))


def _found_missing(
    unit: UnitOfWork, heap: Heap, load: Load, missing: float, at: datetime
) -> list[BayLoading]:
    """Return how what a load brings came into its body, by what is on record of all else.

    Out of vehicles that are out first, as a plan has it forked over; then out of the bay, all that
    was planned; then out of whichever body has it.
    """
    outages = unit.vehicle_outages.all(load.firm_id, day=load.working_day, back_at=None)
    out = {outage.vehicle_id for outage in outages}
    bodies = [one for one in sorted(heap.aboard) if one != load.vehicle_id]
    found: list[BayLoading] = []

    def take(share: float, giver: UUID | None, since: datetime = at) -> float:
        name = f"{heap.entry.id} {giver or ''}"
        if share > NOTHING:
            found.append(
                BayLoading(
                    id=uuid5(load.id, name),
                    vehicle_id=load.vehicle_id,
                    at=min(since, at),
                    share=share,
                    from_vehicle_id=giver,
                    load_id=load.id,
                )
            )
        return max(0.0, share)

    for giver in (one for one in bodies if one in out):
        missing -= take(min(missing, heap.share_aboard(giver)), giver)
    if missing > NOTHING:
        place = (load.depot_id, load.working_day)
        planned = planned_loading(unit, heap, load.vehicle_id, place, before=load.id)
        whole = missing
        since = at
        if planned is not None and not found and heap.share_aboard(load.vehicle_id) <= NOTHING:
            whole = max(missing, planned.share_of(heap))
            since = at if load.done_at is not None else planned.at
        missing -= take(min(whole, heap.share_in_bay), None, since)
    for giver in (one for one in bodies if one not in out):
        missing -= take(min(missing, heap.share_aboard(giver)), giver)
    # More than is on record anywhere: the mass book refuses it in words.
    take(missing, None)
    return found


def _never_brought(unit: UnitOfWork, entry: HoldEntry, load: Load) -> tuple[BayLoading, ...]:
    """Return the loadings of an entry without those that a load was found to need, if none else."""
    kept = entry.loadings or ()
    own = [one for one in kept if one.load_id == load.id]
    ends = _other_ends(unit, entry, load) if own else []
    if not ends:
        return tuple(one for one in kept if one.load_id != load.id)
    # Another tip was out of the same body: then it is that one that needs it.
    (heir,) = _others_by_body(unit, entry, load)[:1]
    later = (
        replace(one, load_id=heir.id, at=min(ends)) if one.load_id == load.id else one
        for one in kept
    )
    return tuple(later)


def _other_ends(unit: UnitOfWork, entry: HoldEntry, load: Load) -> list[datetime]:
    return [one.done_at or one.arrive_at for one in _others_by_body(unit, entry, load)]


def _others_by_body(unit: UnitOfWork, entry: HoldEntry, load: Load) -> list[Load]:
    """Return the other loads that were tipped out of the same body with grass of the same heap."""
    kept = unit.mass_movements.of_lots(load.firm_id, sorted({part.job_id for part in load.parts}))
    others = (one for one in loads_with(unit, load.firm_id, kept) if one.id != load.id)
    return sorted(
        (
            one
            for one in others
            if one.state in TIPPED_STATES
            and one.vehicle_id == load.vehicle_id
            and any(part.hold_entry_id == entry.id for part in one.parts)
            and entry.came_by_body(one)
        ),
        key=lambda one: (one.done_at or one.arrive_at, one.id),
    )
