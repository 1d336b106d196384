"""What may be said of a load: its state and times, its weigh ticket, and who says it is right."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from service.core.callers.access import Act, Caller, refuse_unless_allowed
from service.core.errors import FieldFault
from service.core.loads import ENDED_STATES, Load, LoadState, TicketReview
from service.core.places import DestinationKind
from service.usecases.base.calendar import depot_clock
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import aboard_since
from service.usecases.records.loads.shut_gates import settling_faults

# How far a telephone may be ahead; common practice, no source.
DEVICE_CLOCK_TOLERANCE: Final = timedelta(minutes=5)


def load_faults(unit: UnitOfWork, old: Load, new: Load, *, now: datetime) -> list[FieldFault]:
    """Return all that is wrong with what is said of a load."""
    return [
        *_faults(new),
        *_time_faults(unit, old, new, now=now),
        *_gate_faults(old, new, now=now),
        *settling_faults(old, new),
        *weight_faults(unit, old, new),
    ]


def reviewed(old: Load, new: Load, caller: Caller, *, is_said: bool) -> Load:
    """Return the load with its review: by who may, and awaited again for another ticket.

    Parameters
    ----------
    is_said
        Whether a review is said beside it, be it the one of the ticket before.

    Raises
    ------
    NotAllowed
    """
    same_ticket = (new.weighed_net, new.weigh_ticket) == (old.weighed_net, old.weigh_ticket)
    if new.ticket_review is old.ticket_review and same_ticket:
        return new
    is_anew = is_said and new.ticket_review is not TicketReview.AWAITED
    if new.ticket_review is not old.ticket_review or is_anew:
        refuse_unless_allowed(caller.role, Act.REVIEW_TICKETS)
        return new
    return replace(new, ticket_review=TicketReview.AWAITED)


def weight_faults(unit: UnitOfWork, old: Load | None, new: Load) -> list[FieldFault]:
    """Return what is wrong with a load's ticket: alone, or with the vehicle that carried it.

    Parameters
    ----------
    old
        The load as it was kept; None for a new one.
    """
    found = []
    if (new.weighed_net is None) != (new.weigh_ticket is None):
        found.append(
            FieldFault(
                pointer="/weigh_ticket", detail="A weighed net and its ticket come together."
            )
        )
    if new.ticket_review is not TicketReview.AWAITED and new.weighed_net is None:
        found.append(
            FieldFault(pointer="/ticket_review", detail="There is no weigh ticket to review.")
        )
    is_known = old is not None and old.weighed_net == new.weighed_net
    if new.weighed_net is None or is_known:
        return found
    vehicle = unit.vehicles.get(new.firm_id, new.vehicle_id)
    if vehicle is not None and new.weighed_net.si_value > vehicle.carried_kg_max:
        found.append(
            FieldFault(
                pointer="/weighed_net",
                detail=(
                    f"{vehicle.registration} has a payload of {vehicle.payload_kg:g} kg: it cannot "
                    f"have carried more than {vehicle.carried_kg_max:g} kg, even overloaded. Look "
                    "whether it is the net weight, in the unit of the ticket, of this vehicle."
                ),
            )
        )
    return found


def _gate_faults(old: Load, new: Load, *, now: datetime) -> list[FieldFault]:
    """Return a fault if a load is said to be where it cannot be, or ahead of now."""
    if new.at_gate_at is None or new.at_gate_at == old.at_gate_at:
        return []
    if new.destination_kind is not DestinationKind.COMPOST_SITE or old.state in ENDED_STATES:
        detail = "Only a load that is still to come to a compost site is seen at its gate."
        return [FieldFault(pointer="/at_gate_at", detail=detail)]
    if new.at_gate_at > now + DEVICE_CLOCK_TOLERANCE:
        return [FieldFault(pointer="/at_gate_at", detail="What was seen lies in the past.")]
    return []


def _time_faults(unit: UnitOfWork, old: Load, new: Load, *, now: datetime) -> list[FieldFault]:
    """Return a fault if a load is said to have ended before its grass was aboard, or after now."""
    if new.done_at == old.done_at:
        return []
    if new.done_at is None:
        detail = "When it ended can be said otherwise, not taken away: all its clocks stand on it."
        lost = new.state is old.state and new.state in ENDED_STATES
        return [FieldFault(pointer="/done_at", detail=detail)] if lost else []
    if new.state not in ENDED_STATES:
        detail = "Only a load that ended did so at a time; send its state beside it."
        return [FieldFault(pointer="/done_at", detail=detail)]
    jobs = unit.jobs.get_many(new.firm_id, [part.job_id for part in new.parts])
    last = max((job.at for job in jobs.values()), default=new.done_at)
    came = max(aboard_since(unit, jobs.values(), new.vehicle_id).values(), default=last)
    if came <= new.done_at <= now + DEVICE_CLOCK_TOLERANCE:
        return []
    depot = unit.depots.get(new.firm_id, new.depot_id)
    what = "was cut" if came == last else "was forked over"
    detail = f"After the grass {what} ({depot_clock(depot, came, now=now)}) and not ahead of now."
    return [FieldFault(pointer="/done_at", detail=detail)]


def _faults(load: Load) -> list[FieldFault]:
    found = []
    if load.state is LoadState.PARTLY_REFUSED and not 0.0 < load.refused_share < 1.0:
        found.append(
            FieldFault(
                pointer="/refused_share",
                detail=(
                    "Part of a load was refused: give the share, above 0 and below 1, or a weight "
                    "of what stayed that is less than was likely aboard."
                ),
            )
        )
    if load.state in {LoadState.PARTLY_REFUSED, LoadState.REFUSED} and not load.refusal_reason:
        found.append(
            FieldFault(pointer="/refusal_reason", detail="A refusal is kept with its reason.")
        )
    if load.state in {LoadState.PLANNED, LoadState.UNDER_WAY, LoadState.DELIVERED} and (
        load.refused_share > 0.0
    ):
        found.append(
            FieldFault(
                pointer="/refused_share",
                detail="Only a load that is refused, or partly refused, has a refused share.",
            )
        )
    return found
