"""How far each ticket can be believed: a mistake of the gate or the desk teaches nothing.

A ticket is right, or has pounds where kilograms should be, or is wrong by anything: another load,
the lorry weighed along, a digit lost. How likely each is follows from how far the ticket lies from
what all others lead to expect.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from service.agronomy.learning.error_tree import Tree, grown, without_itself
from service.agronomy.learning.hypotheses import Hypotheses
from service.agronomy.learning.weigh_tickets import Floats, TicketArrays
from service.core.measures.units import POUND_KG

# By how much a ticket with pounds for kilograms is too heavy, as a logarithm.
_LOG_POUNDS_PER_KILOGRAM: Final = -math.log(POUND_KG)
# Share of tickets with pounds for kilograms, and of those wrong by anything, before any is seen.
# Common practice, chosen on the bench.
_POUNDS_SHARE: Final = 0.01
_STRAY_SHARE: Final = 0.05
_RIGHT_SHARE: Final = 1 - _POUNDS_SHARE - _STRAY_SHARE
# What is wrong by anything is so by up to this factor either way, any as likely as any other; what
# is further off is no weight of this load, whatever its fellows say. Common practice, no source.
BEYOND_BELIEF: Final = 20.0
_STRAY_DENSITY: Final = 1 / (2 * math.log(BEYOND_BELIEF))
# To begin with, a ticket counts in full within this many standard deviations of its group's
# middle, less and less beyond, and not at all from the second number on (Hampel's rule,
# [hampel-1974]; the two numbers are common practice).
_FULL_WEIGHT_WITHIN: Final = 2.0
_NO_WEIGHT_BEYOND: Final = 3.5
# How often each ticket is held against what the others say, as far as these count by then. Common
# practice, chosen on the bench: after one round a wrong ticket still has a say in what is expected.
_ROUNDS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trust:
    """How far each ticket counts under each hypothesis.

    Parameters
    ----------
    weights
        Probability that the ticket is right, 0 to 1: one row a hypothesis.
    log_evidence
        What the doubt about the tickets adds to the logarithm of their density.
    tree
        What the tickets say, each counted by its weight.
    """

    weights: Floats
    log_evidence: Floats
    tree: Tree


def trust_in(tickets: TicketArrays, hypotheses: Hypotheses) -> Trust:
    """Return how far each ticket can be believed under each hypothesis.

    Notes
    -----
    The mixture of right and wrong tickets is bounded from below as in variational
    inference: each ticket counts with the probability that it is right, and the
    sum over all ways in which they could be right or wrong is not made.

    References
    ----------
    [box-tiao-1968] some observations come from another distribution; [bishop-2006]
    chapter 10, the bound.
    """
    weights = np.broadcast_to(
        _first_weights(tickets, hypotheses), (len(hypotheses.load), len(tickets.logs))
    )
    for _ in range(_ROUNDS):
        tree = grown(tickets, weights, hypotheses)
        expected = without_itself(tickets, weights, tree, hypotheses)
        off = tickets.logs - expected.mean
        half = -0.5 / expected.variance
        height = 1 / np.sqrt(2 * math.pi * expected.variance)
        density = height * np.exp(half * off**2)
        right = _RIGHT_SHARE * density
        either = (
            right
            + _STRAY_SHARE * _STRAY_DENSITY
            + _POUNDS_SHARE * height * np.exp(half * (off - _LOG_POUNDS_PER_KILOGRAM) ** 2)
        )
        weights = right / either
    # The density of the right ones is counted where their errors are: in the tree.
    log_evidence = np.sum(np.log(either) - weights * (np.log(height) + half * off**2), axis=1)
    tree = grown(tickets, weights, hypotheses)
    return Trust(weights=weights, log_evidence=log_evidence, tree=tree)


def _first_weights(tickets: TicketArrays, hypotheses: Hypotheses) -> Floats:
    """Return the weight of every ticket, by how far it lies from its group's median."""
    belief = np.exp(hypotheses.log_belief)
    common = float(belief @ (hypotheses.firm + hypotheses.group))
    alone = float(belief @ (hypotheses.lawn + hypotheses.load))
    # The median of few tickets is pulled to nought, as their mean would be.
    counts = np.bincount(tickets.group_of)
    pull = counts / (counts + alone / common)
    first = np.cumsum(counts) - counts
    middles = (
        tickets.by_group[first + (counts - 1) // 2] + tickets.by_group[first + counts // 2]
    ) / 2
    off = np.abs(tickets.logs - (middles * pull)[tickets.group_of])
    deviates = off / np.sqrt(alone + common * (1 - pull))[tickets.group_of]
    weights: Floats = np.clip(
        (_NO_WEIGHT_BEYOND - deviates) / (_NO_WEIGHT_BEYOND - _FULL_WEIGHT_WITHIN), 0.0, 1.0
    )
    return weights
