"""Whether the parts of a cost are what the replay gives, and add up to its total."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from fractions import Fraction

from service.planning.model.result import CostCents


def whole(exact: Fraction) -> int:
    """Return whole cents, half a cent upwards."""
    return math.floor(exact + Fraction(1, 2))


def cost_faults(
    cost: CostCents, parts: Mapping[str, Fraction], total: Fraction
) -> Iterator[tuple[str, str]]:
    """Yield where a cost is another than the replay's, and what it should be."""
    if cost.total != whole(total):
        yield "/cost_cents/total", f"The replay gives {whole(total)}."
    told = {name: getattr(cost, name) for name in cost.__slots__ if name != "total"}
    for name, cents in told.items():
        exact = parts.get(name, Fraction(0))
        if abs(cents - exact) >= 1:
            yield f"/cost_cents/{name}", f"The replay gives {whole(exact)}."
    if sum(told.values()) != cost.total:
        yield "/cost_cents", "The parts do not add up to the total."
