"""What a person may set aside at a place, and what stands all the same."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from service.core.places import DestinationKind
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.reasons import Reason
from service.destinations.verdicts import Destination, Limit, Lot, refused

# Advice for somebody's health: animals that eat clippings, disease and weeds that compost carries.
HARMS: Final = frozenset({"grazing_animals_in_reach", "kill_not_shown", "process_does_not_kill"})

# What may not lie there is settled first, by its recall or a better record: what comes on top of it
# is fetched back with it.
SETTLED_FIRST: Final = frozenset({"bed_tainted"})


def insisted_on(lot: Lot, destination: Destination) -> Verdict | None:
    """Return what stands against a lot where a person sets advice aside; None: nothing.

    A refusal is told by its first reason: behind one that is advice there may be law.
    """
    insisted = getattr(destination, "insisted", None)
    found: Verdict | None = (
        None if insisted is None else insisted(lot.offered_to(destination.property_id))
    )
    return found


def is_only_advice(said: Reason | Limit | Verdict) -> bool:
    """Return whether a person may set it aside: plain advice, and nothing else.

    What may be law here, for all we know, is not; nor what is wrong with the lot itself, wherever
    it goes (it is unknown, treated, diseased, littered, sour); nor what hurts somebody, or lies
    there already and may not.
    """
    return (
        said.rule_class is RuleClass.ADVICE
        and said.facts.get("law") != "not_known"
        and getattr(said, "ground", None) is not Ground.LOT
        and said.code not in HARMS | SETTLED_FIRST
    )


def strictest(refusals: Iterable[Verdict]) -> Verdict | None:
    """Return of refusals that nobody may set aside the one that binds most; None of none."""
    order = tuple(RuleClass)
    return min(refusals, key=lambda said: order.index(said.rule_class), default=None)


def insisted_on_all(
    lots: Iterable[Lot], destination: Destination, *, mass_kg: float
) -> Verdict | None:
    """Return what binds lots that lie together most where a person sets advice aside; or None.

    Parameters
    ----------
    mass_kg
        What they weigh: who takes that much does not stand against them.
    """
    said = (insisted_on(lot, destination) for lot in lots)
    return strictest(one for one in said if one is not None and one.accepted_kg < mass_kg)


def strict_verdict(
    kind: DestinationKind, destination_id: UUID, reasons: Iterable[Reason]
) -> Verdict | None:
    """Return the strictest of all refusals that no person may set aside; None of none."""
    return strictest(
        refused(kind, destination_id, one) for one in reasons if not is_only_advice(one)
    )
