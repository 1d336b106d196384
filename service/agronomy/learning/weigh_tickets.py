"""Weigh tickets as evidence: how far each counts, and how far loads scatter."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from service.core.errors import Refusal

# A ticket counts in full within this many standard deviations of its fellows, less and less
# beyond, and not at all from the second number on (Hampel's rule, [hampel-1974]; the two numbers
# are common practice).
FULL_WEIGHT_WITHIN: Final = 2.0
NO_WEIGHT_BEYOND: Final = 3.5
# How many tickets' worth of belief the assumed load-to-load spread has against the observed one;
# common practice, chosen on the bench.
_SPREAD_BELIEF_TICKETS: Final = 12.0


class TicketRatioOutOfRange(Refusal):
    """A ticket's ratio cannot be a ratio of two masses."""

    code = "ticket_ratio_out_of_range"
    sentence = "Weighed by estimated mass is {ratio}; it must be above zero and finite."


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticket:
    """One reviewed weigh ticket.

    Parameters
    ----------
    group, lawn
        Grass kind and season; and the lawn within it. A lawn in another season
        is another lawn here.
    ratio
        Weighed by estimated mass [kg/kg], > 0, against the estimate as it was
        before any learning.
    """

    group: str
    lawn: str
    ratio: float


def logs_by_lawn(tickets: Sequence[Ticket]) -> dict[str, dict[str, list[float]]]:
    """Return the logarithms of the ratios by group and lawn, in an order of their own."""
    logs: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for ticket in tickets:
        if not (math.isfinite(ticket.ratio) and ticket.ratio > 0):
            raise TicketRatioOutOfRange(ratio=ticket.ratio)
        logs[ticket.group][ticket.lawn].append(math.log(ticket.ratio))
    # Sorted, so that no order of the tickets can change a sum by a rounding.
    return {
        name: {key: sorted(values) for key, values in sorted(lawns.items())}
        for name, lawns in sorted(logs.items())
    }


def weights(
    logs: Mapping[str, Mapping[str, Sequence[float]]],
    *,
    group_variance: float,
    lawn_variance: float,
) -> dict[str, dict[str, list[float]]]:
    """Return the weight of every ticket, by how far it lies from its group's middle."""
    weights: dict[str, dict[str, list[float]]] = {}
    for name, lawns in logs.items():
        values = [value for lawn_values in lawns.values() for value in lawn_values]
        # The median of few tickets is pulled to nought, as their mean would be.
        pull = len(values) / (len(values) + lawn_variance / group_variance)
        centre = median(values) * pull
        deviation = math.sqrt(lawn_variance + group_variance * (1 - pull))
        weights[name] = {
            key: [_weight(abs(value - centre) / deviation) for value in lawn_values]
            for key, lawn_values in lawns.items()
        }
    return weights


def _weight(deviations: float) -> float:
    if deviations <= FULL_WEIGHT_WITHIN:
        return 1.0
    if deviations >= NO_WEIGHT_BEYOND:
        return 0.0
    return (NO_WEIGHT_BEYOND - deviations) / (NO_WEIGHT_BEYOND - FULL_WEIGHT_WITHIN)


def load_variance(
    logs: Mapping[str, Mapping[str, Sequence[float]]],
    weights: Mapping[str, Mapping[str, Sequence[float]]],
    *,
    assumed: float,
) -> float:
    """Return the load-to-load variance: the assumed one, moved by what lawns show."""
    deviations = [
        abs(value - median(values))
        for name, lawns in logs.items()
        for key, values in lawns.items()
        for value, weight in zip(values, weights[name][key], strict=True)
        if len(values) > 1 and weight > 0
    ]
    if not deviations:
        return assumed
    # Of a lawn with n tickets, n - 1 deviations are free.
    free = len(deviations) - sum(
        len(values) > 1 for lawns in logs.values() for values in lawns.values()
    )
    if free <= 0:
        return assumed
    observed = (
        math.fsum(
            min(deviation, NO_WEIGHT_BEYOND * math.sqrt(assumed)) ** 2 for deviation in deviations
        )
        / free
    )
    return (assumed * _SPREAD_BELIEF_TICKETS + observed * free) / (_SPREAD_BELIEF_TICKETS + free)
