"""Weigh tickets as evidence: how they lie in groups and lawns."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from service.core.errors import Refusal

Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TicketArrays:
    """Tickets in an order of their own, by group, lawn and ratio.

    Parameters
    ----------
    logs
        Logarithm of each ticket's ratio, ascending in each lawn.
    by_group, group_of
        The same, ascending in each group; and the number of that group.
    lawn_starts, group_starts
        Where each lawn begins among the tickets, and each group among the lawns.
    ticket_places, lawn_places
        The number of each ticket's lawn, and of each lawn's group.
    lawns, lawn_groups, groups
        Names of the lawns, of the group of each lawn, and of the groups.
    """

    logs: Floats
    by_group: Floats
    group_of: Places
    lawn_starts: Places
    group_starts: Places
    ticket_places: Places
    lawn_places: Places
    lawns: npt.NDArray[np.str_]
    lawn_groups: npt.NDArray[np.str_]
    groups: npt.NDArray[np.str_]


def arranged(tickets: Sequence[Ticket]) -> TicketArrays:
    """Return some tickets, at least one, as arrays; their order does not matter."""
    # Sorted, so that no order of the tickets can change a sum by a rounding.
    in_turn = sorted((ticket.group, ticket.lawn, math.log(ticket.ratio)) for ticket in tickets)
    lawns: list[tuple[str, str]] = []
    lawn_starts: list[int] = []
    for place, (group, lawn, _) in enumerate(in_turn):
        if not lawns or lawns[-1] != (group, lawn):
            lawns.append((group, lawn))
            lawn_starts.append(place)
    group_starts = [
        place for place, (group, _) in enumerate(lawns) if not place or lawns[place - 1][0] != group
    ]
    logs = np.array([log for _, _, log in in_turn])
    lawn_places = np.repeat(np.arange(len(group_starts)), np.diff(group_starts, append=len(lawns)))
    ticket_places = np.repeat(np.arange(len(lawns)), np.diff(lawn_starts, append=len(logs)))
    group_of = lawn_places[ticket_places]
    return TicketArrays(
        logs=logs,
        by_group=logs[np.lexsort((logs, group_of))],
        group_of=group_of,
        lawn_starts=np.array(lawn_starts, dtype=np.intp),
        group_starts=np.array(group_starts, dtype=np.intp),
        ticket_places=ticket_places,
        lawn_places=lawn_places,
        lawns=np.array([lawn for _, lawn in lawns]),
        lawn_groups=np.array([group for group, _ in lawns]),
        groups=np.array([lawns[place][0] for place in group_starts]),
    )
