"""What weigh tickets teach about the estimates of a firm, a kind of grass, a lawn.

Every reviewed ticket gives one number: the logarithm of weighed by estimated
mass. It is taken as the sum of four errors, each nested in the one before: of the
firm (how its crews measure), of the grass kind and season, of the lawn, and of
the single load. How the spread the estimate has without any ticket is shared out
between them is itself in doubt: a grid of hypotheses stands for it, each is
believed by how well it foretold the tickets, and the answer is their mixture. So
few tickets narrow an estimate only as far as they can be trusted to.

Nothing is kept between calls: the tickets of a day give the estimate of that day
again.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from service.agronomy.estimates.uncertainty import NORMAL_90, log_spreads
from service.agronomy.learning.error_tree import log_evidence, next_load
from service.agronomy.learning.hypotheses import (
    VarianceShares,
    VarianceSharesWrong,
    hypotheses_of,
)
from service.agronomy.learning.mixtures import mixture_quantiles
from service.agronomy.learning.trust import BEYOND_BELIEF, trust_in
from service.agronomy.learning.weigh_tickets import Ticket, TicketRatioOutOfRange, arranged
from service.core.measures.estimates import Estimate, Factor

__all__ = ["Learned", "Ticket", "VarianceShares", "VarianceSharesWrong", "learn"]

# A ticket that is less likely right than wrong is told as set aside: by definition.
_RATHER_RIGHT: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """An estimate after what the tickets taught, and how much stands behind it.

    Parameters
    ----------
    estimate
        The estimate corrected, with its new spread.
    ratio
        What likely was multiplied by [kg/kg].
    load_scatter
        How far single loads of one lawn scatter, as the standard deviation of the
        logarithm [1].
    tickets_firm, tickets_group, tickets_lawn
        Reviewed tickets of the firm, of them in the group, of them on the lawn.
    tickets_set_aside
        Tickets that are rather wrong than right, as they lie far from their fellows.
    factors
        The "why": ratio and spreads as factors.
    """

    estimate: Estimate
    ratio: float
    load_scatter: float
    tickets_firm: int
    tickets_group: int
    tickets_lawn: int
    tickets_set_aside: int
    factors: tuple[Factor, ...]


def learn(
    estimate: Estimate,
    tickets: Sequence[Ticket],
    *,
    group: str,
    lawn: str,
    shares: VarianceShares,
) -> Learned:
    """Return an estimate corrected by the firm's reviewed tickets.

    Parameters
    ----------
    estimate
        Mass of a load before any learning [kg], above zero; an exact one stays.
    tickets
        Reviewed tickets up to the day that counts; their order does not matter.
    group, lawn
        Grass kind and season, and the lawn, of the load in question.
    shares
        How the spread is likely shared out between firm, group, lawn and load.

    Raises
    ------
    TicketRatioOutOfRange, IntervalReachesZero

    Notes
    -----
    Each hypothesis has a closed form (`error_tree`); its weight is what was
    believed of it times the density it gives the tickets. The percentiles are those
    of the mixture. The lopsidedness of the estimate is kept: its two spreads shrink
    alike.

    References
    ----------
    [gelman-bda-2013] chapter 5; [gelman-hill-2007] partial pooling.
    """
    counts = (len(tickets), *_counts_of(tickets, group, lawn))
    if estimate.is_exact:
        # What was weighed or counted has no spread to share out, and nothing to learn.
        return _learned(estimate, ratio=1.0, spreads=(0.0, 0.0), scatter=0.0, counts=(*counts, 0))
    below, above = log_spreads(estimate)
    prior_variance = (below**2 + above**2) / 2
    believable = [ticket for ticket in tickets if _is_believable(ticket)]
    beyond = len(tickets) - len(believable)
    if not believable:
        scatter = math.sqrt(shares.load * prior_variance)
        return _learned(
            estimate, ratio=1.0, spreads=(below, above), scatter=scatter, counts=(*counts, beyond)
        )
    hypotheses = hypotheses_of(shares).scaled(prior_variance)
    arrays = arranged(believable)
    trust = trust_in(arrays, hypotheses)
    beliefs = next_load(arrays, trust.tree, hypotheses, group=group, lawn=lawn)
    scores = hypotheses.log_belief + trust.log_evidence + log_evidence(trust.tree, hypotheses)
    weights = np.exp(scores - scores.max())
    weights /= weights.sum()
    low, likely, high = mixture_quantiles(
        weights, beliefs.mean, beliefs.variance, (-NORMAL_90, 0.0, NORMAL_90)
    )
    shrink = (high - low) / (2 * NORMAL_90 * math.sqrt(prior_variance))
    return _learned(
        estimate,
        ratio=math.exp(likely),
        spreads=(below * shrink, above * shrink),
        scatter=math.sqrt(float(weights @ hypotheses.load)),
        counts=(*counts, beyond + int(np.sum(weights @ trust.weights < _RATHER_RIGHT))),
    )


def _is_believable(ticket: Ticket) -> bool:
    if not (math.isfinite(ticket.ratio) and ticket.ratio > 0):
        raise TicketRatioOutOfRange(ratio=ticket.ratio)
    return 1 / BEYOND_BELIEF <= ticket.ratio <= BEYOND_BELIEF


def _counts_of(tickets: Sequence[Ticket], group: str, lawn: str) -> tuple[int, int]:
    """Return how many tickets are of the group, and of them on the lawn."""
    lawns = [ticket.lawn for ticket in tickets if ticket.group == group]
    return len(lawns), lawns.count(lawn)


def _learned(
    estimate: Estimate,
    *,
    ratio: float,
    spreads: tuple[float, float],
    scatter: float,
    counts: tuple[int, int, int, int],
) -> Learned:
    below, above = spreads
    likely = estimate.likely * ratio
    firm, group, lawn, set_aside = counts
    basis = (
        f"{estimate.basis}; {firm} weigh tickets of the firm, {group} of the kind, {lawn} here, "
        f"{set_aside} of them set aside; single loads scatter by {math.expm1(scatter):.0%}"
    )
    corrected = Estimate(
        low=likely * math.exp(-NORMAL_90 * below),
        likely=likely,
        high=likely * math.exp(NORMAL_90 * above),
        unit=estimate.unit,
        basis=basis,
        sources=estimate.sources,
    )
    learned_ratio = Estimate(
        low=ratio * math.exp(-NORMAL_90 * below),
        likely=ratio,
        high=ratio * math.exp(NORMAL_90 * above),
        unit="1",
        basis=f"{firm} reviewed weigh tickets, {set_aside} of them set aside",
        sources=(),
    )
    return Learned(
        estimate=corrected,
        ratio=ratio,
        load_scatter=scatter,
        tickets_firm=firm,
        tickets_group=group,
        tickets_lawn=lawn,
        tickets_set_aside=set_aside,
        factors=(
            Factor(name="estimate_before_tickets", value=estimate),
            Factor(name="learned_ratio", value=learned_ratio),
        ),
    )
