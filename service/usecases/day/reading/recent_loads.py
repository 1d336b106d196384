"""What the loads of the last days, and of the next, mean for a day: gone, laid, still to come."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import (
    FIXED_LOAD_STATES,
    OPEN_LOAD_STATES,
    Load,
    LoadState,
)
from service.core.mass_book import VEHICLE
from service.core.places import Depot, DestinationKind
from service.destinations.laid.ledger import LaidLayer, window_start
from service.usecases.base.calendar import DaySpan
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.base.ports.unit_of_work import SAID, UnitOfWork
from service.usecases.day.facts import NOTHING_LEFT
from service.usecases.day.problem.locks import bound_loads
from service.usecases.mass_book.heaps import Heap, shares_of_heaps_aboard
from service.usecases.mass_book.movements import is_bagged

# As far back as a plan was made ahead; and some days on, for a cut whose day was corrected after
# its load was tipped.
DAYS_BACK = 10
DAYS_ON = 3


def recent_loads(
    unit: UnitOfWork, firm_id: UUID, span: DaySpan, job_ids: Sequence[UUID]
) -> list[Load]:
    """Return what a day must know of the firm's loads: around it, and under way since before.

    In two statements, and not more on a day of a season than on its first.

    Parameters
    ----------
    job_ids
        Whose clippings must be accounted for, wherever they went.
    """
    days = [span.day + timedelta(days=apart) for apart in range(-DAYS_BACK, DAYS_ON + 1)]
    around = unit.loads.around(
        firm_id, span.day, days=days, start=span.start, end=span.end, job_ids=job_ids
    )
    known = {load.id for load in around}
    under_way = unit.loads.all(firm_id, state=LoadState.UNDER_WAY)
    return [*around, *(load for load in under_way if load.id not in known)]


def turned_away_before(
    unit: UnitOfWork, firm_id: UUID, loads: Iterable[Load], day: date
) -> tuple[Load, ...]:
    """Return the loads of days before that were refused, all or a part, and what lies refused."""
    refused = {LoadState.REFUSED, LoadState.PARTLY_REFUSED}
    lies = unit.loads.all(
        firm_id,
        destination_kind=DestinationKind.BED,
        state=LoadState.DELIVERED,
        refusal_reason=SAID,
    )
    return (*(one for one in loads if one.working_day < day and one.state in refused), *lies)


def said_no_at(unit: UnitOfWork, firm_id: UUID, loads: Iterable[Load]) -> dict[UUID, datetime]:
    """Return when it was said, of each load that lies though its client said no, that it may not.

    In one statement, and in none where nothing lies so. A load is changed by more than that word.
    """
    ids = [load.id for load in loads if load.waits_to_be_taken_up]
    said: dict[UUID, datetime] = {}
    for change in unit.amendments.of(firm_id, *ids) if ids else ():
        word = change.changes.get("refusal_reason")
        if isinstance(word, list | tuple) and word[0] is None:
            said[change.record_id] = change.at
    return said


def under_way(loads: Iterable[Load], depot_id: UUID) -> tuple[Load, ...]:
    """Return the loads of a depot that set off and have no end yet."""
    return tuple(
        load for load in loads if load.depot_id == depot_id and load.state is LoadState.UNDER_WAY
    )


def with_others_aboard(
    loads: Iterable[Load], jobs: Iterable[Job], heaps: Iterable[Heap], *, gone: Mapping[UUID, float]
) -> set[UUID]:
    """Return the loads under way whose bodies have had other grass loaded on them since.

    What lies in one body is mixed: where that makes it worse, it goes where all of it may. Of one
    status it stays on its way: a crew that forgets to say that it tipped mows on.
    """
    beside = [
        (job.vehicle_id, job.id, job.status)
        for job in jobs
        if is_bagged(job) and 1.0 - gone.get(job.id, 0.0) > NOTHING_LEFT
    ]
    beside += [
        (vehicle_id, lot_id, heap.entry.status)
        for heap in heaps
        for vehicle_id in heap.aboard
        if heap.share_aboard(vehicle_id) > NOTHING_LEFT
        for lot_id in heap.came
    ]
    return {
        load.id
        for load in loads
        if load.state is LoadState.UNDER_WAY
        and any(
            vehicle_id == load.vehicle_id and status is not load.status
            for vehicle_id, lot_id, status in beside
            if lot_id not in {part.lot_id for part in load.parts}
        )
    }


def lost_locks(
    unit: UnitOfWork,
    depot: Depot,
    day: date,
    jobs: Sequence[Job],
    held: Sequence[HeldGrass],
    *,
    gone: Mapping[UUID, float],
) -> tuple[Load, ...]:
    """Return the locked loads of a day that fell out of its plan, while they could come back."""
    ahead = {job.id for job in jobs if 1.0 - gone.get(job.id, 0.0) > NOTHING_LEFT}
    ahead |= {lot_id for grass in held for lot_id in grass.lot_ids}
    fallen = bound_loads(unit, depot.firm_id, depot.id, day, (LoadState.SUPERSEDED,))
    return tuple(load for load in fallen if any(part.lot_id in ahead for part in load.parts))


def shares_gone(loads: Iterable[Load], *, day: date, today: date) -> dict[UUID, float]:
    """Return, by lot, the share of a job's clippings that is tipped, on its way, or will be before.

    Loads that are planned for a day between today and the day in question count as gone:
    who plans tomorrow takes today's plan for done.
    """
    gone: dict[UUID, float] = defaultdict(float)
    for load in loads:
        earlier = today <= load.working_day < day
        if load.state in FIXED_LOAD_STATES or (earlier and load.state is LoadState.PLANNED):
            for part in load.parts:
                gone[part.lot_id] += part.share * load.kept_share
    return gone


def shares_gone_of(
    unit: UnitOfWork,
    jobs: Sequence[Job],
    loads: Iterable[Load],
    heaps: Sequence[Heap],
    *,
    day: date,
    today: date,
) -> dict[UUID, float]:
    """Return the same of jobs that were cut long ago: what is tipped of them the mass book knows.

    In one statement, however old they are.

    Parameters
    ----------
    heaps
        Those of which some is aboard again, as the book has them: that is no fresh grass.
    """
    if not jobs:
        return {}
    ids = sorted(job.id for job in jobs)
    gone = dict.fromkeys(ids, 1.0)
    for balance in unit.mass_balances.of_lots(jobs[0].firm_id, ids):
        if balance.place_kind == VEHICLE:
            gone[balance.lot_id] -= balance.share
    for job_id, share in shares_of_heaps_aboard(heaps).items():
        if job_id in gone:
            gone[job_id] += share
    still_open = [load for load in loads if load.state in OPEN_LOAD_STATES]
    promised = shares_gone(still_open, day=day, today=today)
    return {job_id: share + promised.get(job_id, 0.0) for job_id, share in gone.items()}


def promise(heaps: Iterable[Heap], loads: Iterable[Load], *, day: date, today: date) -> None:
    """Take off heaps what is on its way of them, or will be gone before a day."""
    going = [
        load
        for load in loads
        if load.state is LoadState.UNDER_WAY
        or (today <= load.working_day < day and load.state is LoadState.PLANNED)
    ]
    for heap in heaps:
        for load in going:
            heap.promise(load)


def laid_layers(
    unit: UnitOfWork, depot: Depot, bed_ids: Sequence[UUID], loads: Iterable[Load], *, day: date
) -> dict[UUID, list[LaidLayer]]:
    """Return by bed the layers of the year before the day, by the mass book.

    What was laid before the service knew of the bed is in the book, too.
    What is laid on the day itself takes of its room: loads of the day that were tipped before it.
    """
    laid: dict[UUID, list[LaidLayer]] = defaultdict(list)
    for brought in unit.mass_movements.brought(
        depot.firm_id,
        bed_ids,
        since=window_start(day),
        before=day,
        without=sorted(load.id for load in loads if load.working_day == day),
    ):
        laid[brought.place_id].append(
            LaidLayer(day=brought.day, mass_kg=brought.mass_kg, nitrogen_kg=brought.nitrogen_kg)
        )
    return laid


def layers_ahead(
    loads: Iterable[Load], bed_id: UUID, *, day: date, today: date
) -> Iterator[LaidLayer]:
    """Return the layers that open loads of days before this one will have laid on a bed."""
    for load in loads:
        if (
            load.destination_id == bed_id
            and load.state in OPEN_LOAD_STATES
            and today <= load.working_day < day
        ):
            yield LaidLayer(
                day=load.working_day,
                mass_kg=load.mass_kg.high,
                nitrogen_kg=load.nitrogen_kg.high,
            )
