"""The firm's reviewed weigh tickets, as evidence for its estimates."""

from __future__ import annotations

from uuid import UUID

from service.agronomy.learning.weigh_tickets import Ticket
from service.core.jobs import Job
from service.core.loads import Load, TicketReview
from service.core.places import Depot, Property
from service.destinations.learning import ticket_group, ticket_lawn
from service.usecases.base.calendar import day_of
from service.usecases.base.ports import UnitOfWork


def read_tickets(unit: UnitOfWork, firm_id: UUID) -> list[Ticket]:
    """Return what the accepted tickets of a firm say, in four statements.

    A load of several lots counts for the lawn that gave most of it.
    """
    loads = [
        load
        for load in unit.loads.all(firm_id, ticket_review=TicketReview.ACCEPTED)
        if load.weighed_net is not None and load.parts
    ]
    if not loads:
        return []
    jobs = unit.jobs.get_many(
        firm_id, sorted({part.job_id for load in loads for part in load.parts})
    )
    properties = unit.properties.get_many(
        firm_id, sorted({job.property_id for job in jobs.values()})
    )
    depots = unit.depots.get_many(firm_id, sorted({job.depot_id for job in jobs.values()}))
    found = [_ticket(load, jobs, properties, depots) for load in loads]
    return [ticket for ticket in found if ticket is not None]


def _ticket(
    load: Load, jobs: dict[UUID, Job], properties: dict[UUID, Property], depots: dict[UUID, Depot]
) -> Ticket | None:
    shares = [
        (job, part.share * job.estimate.mass_unlearned_kg.likely)
        for part in load.parts
        if (job := jobs.get(part.job_id)) is not None and job.estimate is not None
    ]
    estimated_kg = sum(mass_kg for _, mass_kg in shares)
    if load.weighed_net is None or estimated_kg <= 0 or load.weighed_net.si_value <= 0:
        return None
    main = max(shares, key=_mass)[0]
    latitude = properties[main.property_id].point.latitude
    day = day_of(depots[main.depot_id], main.at)
    return Ticket(
        group=ticket_group(main, day=day, latitude=latitude),
        lawn=ticket_lawn(main),
        ratio=load.weighed_net.si_value / estimated_kg,
    )


def _mass(share: tuple[Job, float]) -> float:
    return share[1]
