"""The tree of errors, for many hypotheses at once: evidence for each, and what it believes.

Beliefs travel as log f(x) = constant + linear x - precision x^2 / 2, so that a branch in which no
ticket counts is nothing but noughts. Arrays have one row a hypothesis.
"""

from dataclasses import dataclass

import numpy as np

from service.agronomy.learning.hypotheses import Hypotheses
from service.agronomy.learning.weigh_tickets import Floats, Places, TicketArrays


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Message:
    """What some tickets say of one number: log f(x) = constant + linear x - precision x^2 / 2."""

    constant: Floats
    linear: Floats
    precision: Floats

    def widened(self, variance: Floats) -> "Message":
        """Return what they say of a number that differs by a normal error of that variance."""
        stretch = 1 + self.precision * variance
        return Message(
            constant=self.constant
            - 0.5 * np.log(stretch)
            + 0.5 * variance * self.linear**2 / stretch,
            linear=self.linear / stretch,
            precision=self.precision / stretch,
        )

    def summed(self, starts: Places) -> "Message":
        """Return the messages of neighbours put together: independent ones add."""
        return Message(
            constant=np.add.reduceat(self.constant, starts, axis=1),
            linear=np.add.reduceat(self.linear, starts, axis=1),
            precision=np.add.reduceat(self.precision, starts, axis=1),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tree:
    """What the tickets say at every level: of lawns, of groups, of the firm.

    Parameters
    ----------
    of_lawns
        Of each lawn by its own tickets.
    to_groups
        The same, of the group of each.
    to_firm
        Of the firm by each group.
    """

    of_lawns: Message
    to_groups: Message
    to_firm: Message


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Normals:
    """Normal distributions, by mean and variance."""

    mean: Floats
    variance: Floats


def grown(tickets: TicketArrays, weights: Floats, hypotheses: Hypotheses) -> Tree:
    """Return what the tickets say, each counted by its weight.

    Parameters
    ----------
    tickets
        At least one.
    weights
        How far each ticket counts, 0 to 1: a row for each hypothesis or one for all, a column
        for each ticket.

    Notes
    -----
    y = ln(weighed / estimated) = firm + group + lawn + load, each normal with mean zero. Up the
    tree precisions add; down again each branch sees its sisters but not itself.

    References
    ----------
    [gelman-hill-2007] partial pooling in nested normal models.
    """
    single = hypotheses.load[:, None]
    counted = np.add.reduceat(weights, tickets.lawn_starts, axis=1)
    sums = np.add.reduceat(weights * tickets.logs, tickets.lawn_starts, axis=1)
    squares = np.add.reduceat(weights * tickets.logs**2, tickets.lawn_starts, axis=1)
    of_lawns = Message(
        constant=-0.5 * (counted * np.log(2 * np.pi * single) + squares / single),
        linear=sums / single,
        precision=counted / single,
    )
    to_groups = of_lawns.widened(hypotheses.lawn[:, None])
    of_groups = to_groups.summed(tickets.group_starts)
    to_firm = of_groups.widened(hypotheses.group[:, None])
    return Tree(of_lawns=of_lawns, to_groups=to_groups, to_firm=to_firm)


def log_evidence(tree: Tree, hypotheses: Hypotheses) -> Floats:
    """Return the logarithm of the density of the tickets under each hypothesis."""
    everything = Message(
        constant=tree.to_firm.constant.sum(axis=1),
        linear=tree.to_firm.linear.sum(axis=1),
        precision=tree.to_firm.precision.sum(axis=1),
    )
    return everything.widened(hypotheses.firm).constant


def next_load(
    tickets: TicketArrays, tree: Tree, hypotheses: Hypotheses, *, group: str, lawn: str
) -> Normals:
    """Return what each hypothesis says of the next load of a lawn, known or not."""
    others = tickets.groups != group
    sisters = (tickets.lawn_groups == group) & (tickets.lawns != lawn)
    own = (tickets.lawn_groups == group) & (tickets.lawns == lawn)
    linear = tree.to_firm.linear[:, others].sum(axis=1)
    precision = 1 / hypotheses.firm + tree.to_firm.precision[:, others].sum(axis=1)
    linear, precision = _further(linear, precision, hypotheses.group)
    linear = linear + tree.to_groups.linear[:, sisters].sum(axis=1)
    precision = precision + tree.to_groups.precision[:, sisters].sum(axis=1)
    linear, precision = _further(linear, precision, hypotheses.lawn)
    linear = linear + tree.of_lawns.linear[:, own].sum(axis=1)
    precision = precision + tree.of_lawns.precision[:, own].sum(axis=1)
    return Normals(mean=linear / precision, variance=1 / precision + hypotheses.load)


def without_itself(
    tickets: TicketArrays, weights: Floats, tree: Tree, hypotheses: Hypotheses
) -> Normals:
    """Return what all other tickets say of each ticket.

    Parameters
    ----------
    weights
        Those the tree was grown with.
    """
    firm, between, within, single = (
        variances[:, None]
        for variances in (hypotheses.firm, hypotheses.group, hypotheses.lawn, hypotheses.load)
    )
    firm_sum, group_sum = tree.to_firm, tree.to_groups.summed(tickets.group_starts)
    linear, precision = _further(
        firm_sum.linear.sum(axis=1, keepdims=True) - firm_sum.linear,
        1 / firm + firm_sum.precision.sum(axis=1, keepdims=True) - firm_sum.precision,
        between,
    )
    linear, precision = _further(
        (linear + group_sum.linear)[:, tickets.lawn_places] - tree.to_groups.linear,
        (precision + group_sum.precision)[:, tickets.lawn_places] - tree.to_groups.precision,
        within,
    )
    linear = (linear + tree.of_lawns.linear)[:, tickets.ticket_places]
    precision = (precision + tree.of_lawns.precision)[:, tickets.ticket_places]
    linear = linear - weights * tickets.logs / single
    precision = precision - weights / single
    return Normals(mean=linear / precision, variance=1 / precision + single)


def _further(linear: Floats, precision: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """Return a belief about a number that differs by one more error."""
    stretch = 1 + precision * variance
    return linear / stretch, precision / stretch
