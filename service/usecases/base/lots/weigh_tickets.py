"""The firm's reviewed weigh tickets, as evidence for its estimates.

What a ticket says follows from its load and from the jobs in it. It is kept in a small row a load
until one of them is written, so that an estimate costs the same after a season as on the first
day, and a corrected weight, share or area counts at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from typing import Final
from uuid import UUID

from service.agronomy.learning.weigh_tickets import Ticket
from service.core.errors import Refusal
from service.core.jobs import Job
from service.core.loads import Load
from service.core.places import Depot, Property
from service.destinations.learning import ticket_group, ticket_lawn
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.kept_beside import WeighedLoad
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork

# How many of the newest tickets speak: enough for the firm's and the grass's own error to be known
# to a twentieth of their spread, few enough that old mowers and crews are forgotten. A lawn's own
# last ones count besides, however long ago. Common practice, no source.
NEWEST_OF_FIRM: Final = 200
NEWEST_OF_LAWN: Final = 20


class Tickets:
    """What accepted tickets say: the firm's newest ones, and a lawn's own last ones.

    ``anew`` are the loads of which that had to be worked out anew.
    """

    def __init__(self, loads: Sequence[WeighedLoad], *, anew: Sequence[UUID] = ()) -> None:
        """Take what weighed loads say, newest first."""
        self.anew = anew
        self._newest = [said for load in loads[:NEWEST_OF_FIRM] if (said := _said(load))]
        self._earlier: dict[str, list[Ticket]] = defaultdict(list)
        for load in loads[NEWEST_OF_FIRM:]:
            if said := _said(load):
                self._earlier[said.lawn].append(said)

    def of(self, job: Job) -> list[Ticket]:
        """Return the tickets that speak for a job's estimate."""
        return [*self._newest, *self._earlier.get(ticket_lawn(job), ())]


def read_tickets(unit: UnitOfWork, firm_id: UUID, jobs: Iterable[Job]) -> Tickets:
    """Return what tickets say for the estimates of some jobs; nearly always in one statement."""
    loads: list[WeighedLoad] = unit.weighed_loads.newest(
        firm_id,
        of_firm=NEWEST_OF_FIRM,
        lawns=sorted({ticket_lawn(job) for job in jobs}),
        of_lawn=NEWEST_OF_LAWN,
    )
    overtaken = sorted(load.load_id for load in loads if not load.is_as_recorded)
    if overtaken:
        anew = weighed_loads(unit, firm_id, overtaken)
        loads = [anew.get(load.load_id, load) for load in loads]
    return Tickets(loads, anew=overtaken)


def keep_tickets(open_unit: OpenUnitOfWork, firm_id: UUID, tickets: Tickets) -> None:
    """Keep what had to be worked out anew; if it cannot be now, whoever reads it next does.

    In a unit that does nothing else: it holds loads and jobs, and one that held days after them
    would lock out who holds them after days.
    """
    if not tickets.anew:
        return
    with suppress(Refusal), open_unit() as unit:
        # First held, then read: what somebody writes meanwhile would be kept as it was before.
        standing = sorted(unit.weighed_loads.standing(firm_id, tickets.anew))
        anew = weighed_loads(unit, firm_id, standing)
        unit.weighed_loads.keep(firm_id, [anew[one] for one in standing])
        unit.commit()


def weighed_loads(
    unit: UnitOfWork, firm_id: UUID, load_ids: Sequence[UUID]
) -> dict[UUID, WeighedLoad]:
    """Return what some weighed loads say, by the records of loads and jobs."""
    loads = unit.loads.get_many(firm_id, load_ids)
    jobs = unit.jobs.get_many(
        firm_id, sorted({part.job_id for load in loads.values() for part in load.parts})
    )
    properties = unit.properties.get_many(
        firm_id, sorted({job.property_id for job in jobs.values()})
    )
    depots = unit.depots.get_many(firm_id, sorted({job.depot_id for job in jobs.values()}))
    return {load.id: _weighed(load, jobs, properties, depots) for load in loads.values()}


def _shares(load: Load) -> dict[UUID, float]:
    """Return the share of each job's clippings in a load, however many parts they came in."""
    shares: dict[UUID, float] = defaultdict(float)
    for part in load.parts:
        shares[part.job_id] += part.share
    return shares


def _weighed(
    load: Load,
    jobs: Mapping[UUID, Job],
    properties: Mapping[UUID, Property],
    depots: Mapping[UUID, Depot],
) -> WeighedLoad:
    estimated_kg = {
        # A ticket is of what stayed, or of all that was sent away.
        job_id: share * load.weighed_share * _teaching_kg(load, jobs[job_id])
        for job_id, share in _shares(load).items()
        if job_id in jobs
    }
    # Every load names jobs, and a job that is named stays.
    main = jobs[max(estimated_kg, key=lambda job_id: (estimated_kg[job_id], job_id))]
    return WeighedLoad(
        load_id=load.id,
        grass_group=ticket_group(
            main,
            day=day_of(depots[main.depot_id], main.at),
            latitude=properties[main.property_id].point.latitude,
        ),
        lawn=ticket_lawn(main),
        # With leaves in it, how many nobody knows, a weight teaches nothing of grass.
        estimated_kg=0.0
        if any(jobs[job_id].leaves_mixed for job_id in estimated_kg)
        else sum(estimated_kg.values()),
        weighed_kg=0.0 if load.weighed_net is None else load.weighed_net.si_value,
    )


def _teaching_kg(load: Load, job: Job) -> float:
    # What lay in a bay has dried and rotted since the cut: its weight teaches nothing of cuts.
    if job.estimate is None or load.is_held_grass:
        return 0.0
    return job.estimate.mass_unlearned_kg.likely


def _said(load: WeighedLoad) -> Ticket | None:
    """Return what a ticket says of the lawn that gave most of its load."""
    if load.estimated_kg <= 0:
        return None
    ratio = load.weighed_kg / load.estimated_kg
    return Ticket(group=load.grass_group, lawn=load.lawn, ratio=ratio)
