"""The number of a weigh ticket: it is given once, so another load with it is asked about."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Final

from service.core.loads import ENDED_STATES, Load, TicketReview
from service.core.places import DestinationKind
from service.usecases.base.ports.unit_of_work import UnitOfWork

# Weighbridges begin their numbers anew, mostly each year. Common practice, no source.
NUMBERS_LAST: Final = timedelta(days=180)


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


def named_again(unit: UnitOfWork, old: Load, new: Load) -> list[Load]:
    """Return the loads that are doubted for a ticket that a load does not have any more."""
    if old.weigh_ticket is None or (
        new.weigh_ticket == old.weigh_ticket and new.ticket_review is not TicketReview.SET_ASIDE
    ):
        return []
    return list(unit.loads.all(old.firm_id, ticket_like_id=old.id))


def _at_sites(*loads: Load) -> bool:
    return any(one.destination_kind is DestinationKind.COMPOST_SITE for one in loads)
