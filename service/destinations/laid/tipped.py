"""What a place says to a load that was tipped there all the same, at the moment it came."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from service.core.acceptance.live_status import NOTHING_HEARD, LiveStatus
from service.core.loads import Load, TicketReview
from service.core.places import Bed, CompostSite, DestinationKind, GroundState
from service.core.plans import RuleClass
from service.destinations.reasons import Reason
from service.destinations.verdicts import Destination, Limit

# By how much a limit may be passed untold [kg]: what is told is whole kilograms, and nobody spreads
# less. Of a law nothing but what sums of parts are rounded by. Common practice, no source.
WHOLE_KG: Final = 1.0
ROUNDED_KG: Final = 1e-6


def as_known_by(place: Any, at: datetime) -> Any:  # noqa: ANN401 - the record of any kind
    """Return a place without what was seen of it, or said by it, only after a moment."""
    match place:
        case Bed(ground_state_at=datetime() as seen) if seen > at:
            return replace(place, ground_state=GroundState.UNKNOWN, ground_state_at=None)
        case CompostSite(live_status=LiveStatus(as_of=datetime() as said)) if said > at:
            return replace(place, live_status=NOTHING_HEARD)
    return place


def standing_of(destination: Destination) -> tuple[Reason, ...]:
    """Return all that stands against whatever comes at the moment a place is made ready for.

    A kind without a word of its own (``standing``) stands against no load as such.
    """
    asked: Any = getattr(destination, "standing", None)
    return () if asked is None else tuple(asked())


def broken_of(
    destination: Destination, *, mass_kg: float, volume_m3: float, nitrogen_kg: float
) -> tuple[Limit, ...]:
    """Return the limits that so much breaks; a kind without a word of its own has none to break."""
    asked: Any = getattr(destination, "broken_by", None)
    if asked is None:
        return ()
    broken: tuple[Limit, ...] = asked(mass_kg=mass_kg, volume_m3=volume_m3, nitrogen_kg=nitrogen_kg)
    return broken


def broken(limits: Iterable[Limit], mass_kg: float) -> tuple[Limit, ...]:
    """Return the limits that leave no room for so much."""
    return tuple(
        limit
        for limit in limits
        if mass_kg > limit.mass_kg + (ROUNDED_KG if limit.rule_class is RuleClass.LAW else WHOLE_KG)
    )


def let_in(load: Load) -> bool:
    """Return whether a gate has shown that it took a load: its ticket is not set aside.

    What is said against its hours or its room is then wrong in the records, not at the gate.
    """
    is_of_gate = load.destination_kind is DestinationKind.COMPOST_SITE
    is_weighed = load.weighed_net is not None and load.ticket_review is not TicketReview.SET_ASIDE
    return is_of_gate and is_weighed
