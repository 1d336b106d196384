"""What the loads of the last days, and of the next, mean for a day: gone, laid, still to come."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import FIXED_LOAD_STATES, OPEN_LOAD_STATES, Load, LoadState
from service.core.mass_book import VEHICLE
from service.core.places import Bed, Depot, DestinationKind
from service.destinations.bed_ledger import LaidLayer
from service.usecases.base.calendar import day_of
from service.usecases.base.ports import UnitOfWork

# As far back as a plan was made ahead; and some days on, for a cut whose day was corrected after
# its load was tipped.
DAYS_BACK = 10
DAYS_ON = 3


def recent_loads(unit: UnitOfWork, firm_id: UUID, day: date) -> list[Load]:
    """Return the firm's loads of the days around the day, and whatever is under way since before.

    In two statements.
    """
    days = tuple(day + timedelta(days=apart) for apart in range(-DAYS_BACK, DAYS_ON + 1))
    around = [
        load
        for load in unit.loads.all(firm_id, working_day=days)
        if load.state is not LoadState.SUPERSEDED
    ]
    known = {load.id for load in around}
    under_way = unit.loads.all(firm_id, state=LoadState.UNDER_WAY)
    return [*around, *(load for load in under_way if load.id not in known)]


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
    unit: UnitOfWork, jobs: Sequence[Job], loads: Iterable[Load], *, day: date, today: date
) -> dict[UUID, float]:
    """Return the same of jobs that were cut long ago: what is tipped of them the mass book knows.

    In one statement, however old they are.
    """
    if not jobs:
        return {}
    ids = sorted(job.id for job in jobs)
    gone = dict.fromkeys(ids, 1.0)
    for balance in unit.mass_balances.of_lots(jobs[0].firm_id, ids):
        if balance.place_kind == VEHICLE:
            gone[balance.lot_id] -= balance.share
    still_open = [load for load in loads if load.state in OPEN_LOAD_STATES]
    promised = shares_gone(still_open, day=day, today=today)
    return {job_id: share + promised.get(job_id, 0.0) for job_id, share in gone.items()}


def opening_layers(bed: Bed, *, day: date) -> Iterator[LaidLayer]:
    """Return what was laid on a bed before the service knew of it, if that was before the day."""
    balance = bed.opening_balance
    if balance is not None and balance.laid_on < day:
        yield LaidLayer(
            day=balance.laid_on, mass_kg=balance.mass_kg, nitrogen_kg=balance.nitrogen_kg
        )


def laid_layers(loads: Sequence[Load], depot: Depot, *, day: date) -> Iterator[LaidLayer]:
    """Return the layers of the days before; what is laid on the day itself takes of its room."""
    for load in loads:
        if load.destination_kind is not DestinationKind.BED or load.done_at is None:
            continue
        laid_on = day_of(depot, load.done_at)
        if load.working_day != day and laid_on < day:
            yield LaidLayer(
                day=laid_on,
                mass_kg=load.mass_kg.high * load.taken_share,
                nitrogen_kg=load.nitrogen_kg.high * load.taken_share,
            )


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
