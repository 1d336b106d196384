"""The number of a weigh ticket: it is given once, so another load with it is asked about."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Final
from uuid import UUID

from service.core.loads import ENDED_STATES, Load, TicketReview
from service.core.places import DestinationKind
from service.usecases.base.ports.unit_of_work import SAID, UnitOfWork

# Weighbridges begin their numbers anew, mostly each year. Common practice, no source.
NUMBERS_LAST: Final = timedelta(days=180)
# A crew tells of a tip at once, or when it has a signal again; common practice, no source.
SEEN_WITHIN: Final = timedelta(minutes=15)
TOLD_WITHIN: Final = timedelta(days=1)


def with_ticket_before(unit: UnitOfWork, load: Load) -> Load:
    """Return a load with the one that its ticket was given with before, if it was.

    Every site has numbers of its own; what was brought elsewhere was weighed anywhere. A ticket
    that was set aside leaves its number free.
    """
    if load.weigh_ticket is None:
        return load if load.ticket_like_id is None else replace(load, ticket_like_id=None)
    like = [
        one.id
        for one in unit.loads.all(load.firm_id, weigh_ticket=load.weigh_ticket)
        if load.id not in {one.id, one.ticket_like_id}
        # What a gate said of one that is still to come goes on to what it becomes.
        and one.state in ENDED_STATES
        and one.ticket_review is not TicketReview.SET_ASIDE
        and abs(one.working_day - load.working_day) <= NUMBERS_LAST
        and (one.destination_id == load.destination_id or not _at_sites(one, load))
    ]
    return replace(load, ticket_like_id=min(like, default=None))


def with_gate_ticket(unit: UnitOfWork, load: Load) -> Load:
    """Return a load that ended with the ticket that its gate had for it before, if it has none.

    A gate may weigh what no crew has told of yet. What is tipped then may be another load than the
    gate knew: with a cut beside, or of a plan since. The ticket is of the vehicle that stood there.
    """
    if load.weighed_net is not None or load.destination_kind is not DestinationKind.COMPOST_SITE:
        return load
    at = load.done_at or load.arrive_at
    seen = [
        (abs(one.at_gate_at - at), one)
        for one in unit.loads.all(
            load.firm_id,
            vehicle_id=load.vehicle_id,
            destination_id=load.destination_id,
            working_day=tuple(load.working_day + timedelta(days=n) for n in (-1, 0, 1)),
            at_gate_at=SAID,
        )
        if one.id != load.id
        and one.at_gate_at is not None
        and one.weighed_net is not None
        and one.state not in ENDED_STATES
    ]
    meant = [
        (apart, one.id, one)
        for apart, one in seen
        if apart <= SEEN_WITHIN or (apart <= TOLD_WITHIN and not _lots(one).isdisjoint(_lots(load)))
    ]
    for _, _, one in sorted(meant, key=lambda found: found[:2]):
        with_it = replace(load, weighed_net=one.weighed_net, weigh_ticket=one.weigh_ticket)
        if with_ticket_before(unit, with_it).ticket_like_id is None:
            return with_it
    return load


def _lots(load: Load) -> set[UUID]:
    return {part.lot_id for part in load.parts}


def named_again(unit: UnitOfWork, old: Load, new: Load) -> list[Load]:
    """Return the loads that are doubted for a ticket that a load does not have any more."""
    if old.weigh_ticket is None or (
        new.weigh_ticket == old.weigh_ticket and new.ticket_review is not TicketReview.SET_ASIDE
    ):
        return []
    return list(unit.loads.all(old.firm_id, ticket_like_id=old.id))


def _at_sites(*loads: Load) -> bool:
    return any(one.destination_kind is DestinationKind.COMPOST_SITE for one in loads)
