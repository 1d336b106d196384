"""What a weigh ticket may say of a load, and who says that it is right."""

from __future__ import annotations

from dataclasses import replace

from service.core.callers.access import Act, Caller, refuse_unless_allowed
from service.core.errors import FieldFault
from service.core.loads import Load, TicketReview
from service.usecases.base.ports import UnitOfWork


def reviewed(old: Load, new: Load, caller: Caller) -> Load:
    """Return the load with its review: by who may, and awaited again for another ticket.

    Raises
    ------
    NotAllowed
    """
    if new.ticket_review is not old.ticket_review:
        refuse_unless_allowed(caller.role, Act.REVIEW_TICKETS)
        return new
    same_ticket = (new.weighed_net, new.weigh_ticket) == (old.weighed_net, old.weigh_ticket)
    return new if same_ticket else replace(new, ticket_review=TicketReview.AWAITED)


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
