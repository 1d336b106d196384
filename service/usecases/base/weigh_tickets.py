"""The firm's reviewed weigh tickets, as evidence for its estimates.

What a ticket says follows from its load and from the jobs in it. It is kept in small rows with the
versions it was worked out from, so that an estimate costs the same after a season as on the first
day, and a corrected weight, share or area counts at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Final
from uuid import UUID

from service.agronomy.learning.weigh_tickets import Ticket
from service.core.jobs import Job
from service.core.loads import Load
from service.core.places import Depot, Property
from service.destinations.learning import ticket_group, ticket_lawn
from service.usecases.base.calendar import day_of
from service.usecases.base.kept_beside import TicketPart, WeighedLoad, together
from service.usecases.base.ports import UnitOfWork

# How many of the newest tickets speak: enough for the firm's and the grass's own error to be known
# to a twentieth of their spread, few enough that old mowers and crews are forgotten. A lawn's own
# last ones count besides, however long ago. Common practice, no source.
NEWEST_OF_FIRM: Final = 200
NEWEST_OF_LAWN: Final = 20


class Tickets:
    """What accepted tickets say: the firm's newest ones, and a lawn's own last ones."""

    def __init__(self, loads: Iterable[WeighedLoad]) -> None:
        """Take what weighed loads say."""
        in_turn = sorted(loads, key=lambda load: (load.weighed_at, load.load_id), reverse=True)
        self._newest = [said for load in in_turn[:NEWEST_OF_FIRM] if (said := _said(load))]
        self._earlier: dict[str, list[Ticket]] = defaultdict(list)
        for load in in_turn[NEWEST_OF_FIRM:]:
            if said := _said(load):
                self._earlier[said.lawn].append(said)

    def of(self, job: Job) -> list[Ticket]:
        """Return the tickets that speak for a job's estimate."""
        return [*self._newest, *self._earlier.get(ticket_lawn(job), ())]


def read_tickets(unit: UnitOfWork, firm_id: UUID, jobs: Iterable[Job], *, keep: bool) -> Tickets:
    """Return what tickets say for the estimates of some jobs; nearly always in one statement.

    Parameters
    ----------
    keep
        Keep what had to be worked out anew: in a unit that may write.
    """
    loads, overtaken = unit.ticket_parts.newest(
        firm_id,
        of_firm=NEWEST_OF_FIRM,
        lawns=sorted({ticket_lawn(job) for job in jobs}),
        of_lawn=NEWEST_OF_LAWN,
    )
    if overtaken:
        anew = parts_of(unit, firm_id, overtaken)
        loads = [*loads, *by_load(anew)]
        if keep:
            unit.ticket_parts.keep(anew)
    return Tickets(loads)


def by_load(parts: Iterable[TicketPart]) -> list[WeighedLoad]:
    """Return what each load says of which there are parts."""
    loads: dict[UUID, list[TicketPart]] = defaultdict(list)
    for part in parts:
        loads[part.load_id].append(part)
    return [together(load) for load in loads.values()]


def parts_of(unit: UnitOfWork, firm_id: UUID, load_ids: Sequence[UUID]) -> list[TicketPart]:
    """Return what some weighed loads say, by the records of loads and jobs."""
    loads = unit.loads.get_many(firm_id, load_ids)
    jobs = unit.jobs.get_many(
        firm_id, sorted({part.job_id for load in loads.values() for part in load.parts})
    )
    properties = unit.properties.get_many(
        firm_id, sorted({job.property_id for job in jobs.values()})
    )
    depots = unit.depots.get_many(firm_id, sorted({job.depot_id for job in jobs.values()}))
    return [
        _part(load, jobs[job_id], share, properties, depots)
        for load in loads.values()
        for job_id, share in _shares(load).items()
        if job_id in jobs
    ]


def _shares(load: Load) -> dict[UUID, float]:
    """Return the share of each job's clippings in a load, however many parts they came in."""
    shares: dict[UUID, float] = defaultdict(float)
    for part in load.parts:
        shares[part.job_id] += part.share
    return shares


def _part(
    load: Load,
    job: Job,
    share: float,
    properties: Mapping[UUID, Property],
    depots: Mapping[UUID, Depot],
) -> TicketPart:
    # What lay in a bay has dried and rotted since the cut: its weight teaches nothing of cuts.
    teaches = job.estimate is not None and not load.is_held_grass
    mass_kg = 0.0 if job.estimate is None or not teaches else job.estimate.mass_unlearned_kg.likely
    return TicketPart(
        firm_id=load.firm_id,
        load_id=load.id,
        job_id=job.id,
        load_version=load.version,
        job_version=job.version,
        grass_group=ticket_group(
            job,
            day=day_of(depots[job.depot_id], job.at),
            latitude=properties[job.property_id].point.latitude,
        ),
        lawn=ticket_lawn(job),
        weighed_at=load.arrive_at,
        # A ticket is of what stayed: what was turned away is not in its kilograms.
        estimated_kg=share * load.kept_share * mass_kg,
        weighed_kg=0.0 if load.weighed_net is None else load.weighed_net.si_value,
    )


def _said(load: WeighedLoad) -> Ticket | None:
    """Return what a ticket says of the lawn that gave most of its load."""
    # To the milligram: a database adds up in an order of its own.
    estimated_kg = round(load.estimated_kg, 6)
    if estimated_kg <= 0:
        return None
    return Ticket(group=load.grass_group, lawn=load.lawn, ratio=load.weighed_kg / estimated_kg)
