"""What a dispatcher must know of the weights of a day: tickets that nobody believes, overloads."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from service.core.loads import Load, TicketReview
from service.core.measures.units import POUND_KG
from service.usecases.day.facts import DayFacts
from service.usecases.day.planned_day import range_of


def weight_warnings(facts: DayFacts) -> Iterator[dict[str, object]]:
    """Yield the loads whose weight waits for a review, and those heavier than was allowed."""
    for load in facts.fixed_loads:
        if load.weighed_net is None or load.ticket_review is TicketReview.SET_ASIDE:
            continue
        vehicle = facts.vehicles[load.vehicle_id]
        weighed_kg = round(load.weighed_net.si_value)
        about: dict[str, object] = {
            "vehicle_id": str(load.vehicle_id),
            "load_id": str(load.id),
            "lot_codes": [part.lot_code for part in load.parts],
            "weighed_net_kg": weighed_kg,
        }
        if is_to_review(load):
            yield {**about, **doubted(load, facts.loads)}
        elif weighed_kg > vehicle.payload_kg:
            yield {
                **about,
                "code": "vehicle_was_overloaded",
                "payload_kg": vehicle.payload_kg,
                "why": (
                    f"{vehicle.registration} carried {weighed_kg} kg; its payload is "
                    f"{vehicle.payload_kg:g} kg. Load less until its estimates are corrected."
                ),
            }
        if load.weight_counts and _may_be_pounds(load):
            yield {
                **about,
                "code": "ticket_may_be_in_pounds",
                "why": (
                    f"Ticket {load.weigh_ticket} says {weighed_kg} kg; the load is thought to be "
                    f"{range_of(load.mass_kg)['low']:g} to {range_of(load.mass_kg)['high']:g} kg. "
                    f"Were it {weighed_kg} lb, it would be {weighed_kg * POUND_KG:.0f} kg. Look at "
                    "the ticket's unit before you accept it."
                ),
            }


def is_to_review(load: Load) -> bool:
    """Return whether a load has a weight that counts for nothing until somebody looked at it."""
    is_awaited = load.ticket_review is TicketReview.AWAITED
    return load.weighed_net is not None and is_awaited and not load.weight_counts


def doubted(load: Load, others: Iterable[Load] = ()) -> dict[str, object]:
    """Return why a weight counts for nothing yet, with its numbers; what is done about it too."""
    ends = range_of(load.mass_kg)
    weighed_kg = 0 if load.weighed_net is None else round(load.weighed_net.si_value)
    told = {
        "ticket": load.weigh_ticket,
        "weighed_net_kg": weighed_kg,
        "mass_low_kg": ends["low"],
        "mass_high_kg": ends["high"],
    }
    if load.ticket_like_id is not None:
        like = [one for one in others if one.id == load.ticket_like_id]
        lots = [part.lot_code for one in like for part in one.parts]
        return {
            **told,
            "code": "ticket_given_before",
            "ticket_like_id": str(load.ticket_like_id),
            "why": (
                f"Ticket {load.weigh_ticket} ({weighed_kg} kg) was given before, with "
                f"{', '.join(lots) or 'a load of another day'}: a number mistyped, or one weighing "
                "of both. The estimate counts until somebody looks: correct the number, take the "
                "weight off one of both, or accept it."
            ),
        }
    return {
        **told,
        "code": "ticket_awaits_review",
        "why": (
            f"Ticket {load.weigh_ticket} says {weighed_kg} kg of a load thought to be "
            f"{ends['low']:g} to {ends['high']:g} kg. The estimate counts until somebody "
            "looks: accept the ticket, set it aside, or correct the job's area and height."
        ),
    }


def _may_be_pounds(load: Load) -> bool:
    """Whether a ticket nobody reviewed is too heavy in kilograms, and would not be in pounds."""
    if load.weighed_net is None or load.ticket_review is not TicketReview.AWAITED:
        return False
    if load.weighed_net.unit != "kg":
        return False
    weighed_kg, share = load.weighed_net.si_value, load.weighed_share
    low_kg, high_kg = load.mass_kg.low * share, load.mass_kg.high * share
    return weighed_kg > high_kg and low_kg <= weighed_kg * POUND_KG <= high_kg
