"""What weigh tickets teach about the estimates of a firm, a kind of grass, a lawn.

Every reviewed ticket gives one number: the logarithm of weighed by estimated
mass. It is taken as the sum of four errors, each nested in the one before: of the
firm (how its crews measure), of the grass kind and season, of the lawn, and of
the single load. Their variances share out the spread the estimate has without
any ticket, so that with no ticket the estimate stays what it was.

The posterior of such a tree of normal errors has a closed form: precisions add
on the way up, and on the way down each branch sees its sisters but not itself.
Tickets far from their fellows count less or not at all. Nothing is kept between
calls: the tickets of a day give the estimate of that day again.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.agronomy.estimates.uncertainty import NORMAL_90, log_spreads
from service.agronomy.learning.weigh_tickets import Ticket, load_variance, logs_by_lawn, weights
from service.core.errors import Refusal
from service.core.estimates import Estimate, Factor

__all__ = ["Learned", "Ticket", "VarianceShares", "VarianceSharesWrong", "learn"]


class VarianceSharesWrong(Refusal):
    """The shares of the four errors do not make up the whole."""

    code = "variance_shares_wrong"
    sentence = "The shares {shares} must all be above zero and sum to 1."


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceShares:
    """How the estimate's spread is shared out, as fractions that sum to 1.

    Parameters
    ----------
    firm, group, lawn, load
        Share of the variance of the logarithm [1], each above 0.
    """

    firm: float
    group: float
    lawn: float
    load: float

    def __post_init__(self) -> None:
        """Refuse shares that are not shares."""
        shares = (self.firm, self.group, self.lawn, self.load)
        if min(shares) <= 0 or abs(math.fsum(shares) - 1) > 1e-9:  # noqa: PLR2004 - rounding of a sum
            raise VarianceSharesWrong(shares=shares)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """An estimate after what the tickets taught, and how much stands behind it.

    Parameters
    ----------
    estimate
        The estimate corrected, with its new spread.
    ratio
        What likely was multiplied by [kg/kg].
    tickets_firm, tickets_group, tickets_lawn
        Reviewed tickets of the firm, of them in the group, of them on the lawn.
    tickets_set_aside
        Tickets that counted for nothing because they lie far from their fellows.
    factors
        The "why": ratio and spreads as factors.
    """

    estimate: Estimate
    ratio: float
    tickets_firm: int
    tickets_group: int
    tickets_lawn: int
    tickets_set_aside: int
    factors: tuple[Factor, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Normal:
    """A normal belief: its mean, and its precision (one by the variance)."""

    mean: float
    precision: float

    @property
    def variance(self) -> float:
        return 1 / self.precision

    def widened(self, variance: float) -> "_Normal":
        """Return the belief about a quantity that differs by an error of that variance."""
        return _Normal(mean=self.mean, precision=1 / (self.variance + variance))


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
        How the spread is shared out between firm, group, lawn and load.

    Raises
    ------
    TicketRatioOutOfRange, IntervalReachesZero

    Notes
    -----
    y = ln(weighed / estimated) = firm + group + lawn + load, each normal with mean
    zero. The mean and variance for this lawn follow by passing normal beliefs up
    the tree (precisions add) and down again without the branch's own message. The
    lopsidedness of the estimate is kept: its two spreads shrink alike.

    References
    ----------
    [gelman-hill-2007] partial pooling in nested normal models; [hampel-1974] the
    weights.
    """
    if estimate.is_exact:
        # What was weighed or counted has no spread to share out, and nothing to learn.
        counts = (len(tickets), *_counts_of(tickets, group, lawn), 0)
        return _learned(estimate, ratio=1.0, spreads=(0.0, 0.0), counts=counts)
    below, above = log_spreads(estimate)
    prior_variance = (below**2 + above**2) / 2
    firm, between, within_group, single = (
        share * prior_variance for share in (shares.firm, shares.group, shares.lawn, shares.load)
    )
    logs = logs_by_lawn(tickets)
    ticket_weights = weights(
        logs, group_variance=firm + between, lawn_variance=within_group + single
    )
    single = load_variance(logs, ticket_weights, assumed=single)
    messages = {
        name: {
            key: _lawn_message(values, ticket_weights[name][key], single)
            for key, values in lawns.items()
        }
        for name, lawns in logs.items()
    }
    belief = _normal_sum(
        _Normal(mean=0.0, precision=1 / firm),
        [
            _group_message(lawns, within_group).widened(between)
            for name, lawns in messages.items()
            if name != group and _counts(lawns)
        ],
    ).widened(between)
    mine = messages.get(group, {})
    belief = _normal_sum(
        belief,
        [
            message.widened(within_group)
            for key, message in mine.items()
            if key != lawn and message.precision > 0
        ],
    ).widened(within_group)
    if lawn in mine and mine[lawn].precision > 0:
        belief = _normal_sum(belief, [mine[lawn]])
    shrink = math.sqrt((belief.variance + single) / prior_variance)
    return _learned(
        estimate,
        ratio=math.exp(belief.mean),
        spreads=(below * shrink, above * shrink),
        counts=(
            len(tickets),
            *_counts_of(tickets, group, lawn),
            sum(
                weight == 0
                for lawns in ticket_weights.values()
                for lawn_weights in lawns.values()
                for weight in lawn_weights
            ),
        ),
    )


def _counts_of(tickets: Sequence[Ticket], group: str, lawn: str) -> tuple[int, int]:
    """Return how many tickets are of the group, and of them on the lawn."""
    lawns = [ticket.lawn for ticket in tickets if ticket.group == group]
    return len(lawns), lawns.count(lawn)


def _learned(
    estimate: Estimate,
    *,
    ratio: float,
    spreads: tuple[float, float],
    counts: tuple[int, int, int, int],
) -> Learned:
    below, above = spreads
    likely = estimate.likely * ratio
    firm, group, lawn, set_aside = counts
    basis = f"{estimate.basis}; {firm} weigh tickets of the firm, {group} of the kind, {lawn} here"
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
        basis=f"{firm} reviewed weigh tickets",
        sources=(),
    )
    return Learned(
        estimate=corrected,
        ratio=ratio,
        tickets_firm=firm,
        tickets_group=group,
        tickets_lawn=lawn,
        tickets_set_aside=set_aside,
        factors=(
            Factor(name="estimate_before_tickets", value=estimate),
            Factor(name="learned_ratio", value=learned_ratio),
        ),
    )


def _lawn_message(values: Sequence[float], weights: Sequence[float], single: float) -> _Normal:
    total = math.fsum(weights)
    if total == 0:
        return _Normal(mean=0.0, precision=0.0)
    mean = math.fsum(v * w for v, w in zip(values, weights, strict=True)) / total
    return _Normal(mean=mean, precision=total / single)


def _group_message(lawns: Mapping[str, _Normal], within_group: float) -> _Normal:
    return _normal_sum(
        None, [lawn.widened(within_group) for lawn in lawns.values() if lawn.precision > 0]
    )


def _counts(lawns: Mapping[str, _Normal]) -> bool:
    return any(lawn.precision > 0 for lawn in lawns.values())


def _normal_sum(prior: _Normal | None, messages: Sequence[_Normal]) -> _Normal:
    """Return a belief after independent messages: precisions add, means weigh by them."""
    beliefs = [*([prior] if prior else []), *messages]
    precision = math.fsum(belief.precision for belief in beliefs)
    return _Normal(
        mean=math.fsum(belief.mean * belief.precision for belief in beliefs) / precision,
        precision=precision,
    )
