import math
from itertools import product

import numpy as np
import pytest

from service.agronomy.estimates.uncertainty import NORMAL_90
from service.agronomy.learning.error_tree import grown, log_evidence, next_load, without_itself
from service.agronomy.learning.hypotheses import Hypotheses, VarianceShares, hypotheses_of
from service.agronomy.learning.mixtures import mixture_quantiles
from service.agronomy.learning.weigh_tickets import Floats, Ticket, TicketArrays, arranged

TWO = Hypotheses(
    firm=np.array([0.10, 0.02]),
    group=np.array([0.07, 0.20]),
    lawn=np.array([0.08, 0.03]),
    load=np.array([0.04, 0.30]),
    log_belief=np.log([0.5, 0.5]),
)
TICKETS = [
    Ticket(group=group, lawn=lawn, ratio=ratio)
    for group, lawn, ratio in (
        ("g0", "l0", 1.10),
        ("g0", "l0", 0.70),
        ("g0", "l1", 1.20),
        ("g0", "l2", 0.95),
        ("g1", "l0", 1.05),
        ("g1", "l3", 1.30),
        ("g1", "l3", 2.30),
        ("g2", "l1", 0.90),
    )
]
PLACES = [("g0", "l0"), ("g0", "new"), ("g2", "l1"), ("new", "new")]


def covariance_of(places: list[tuple[str, str]], hypothesis: int) -> Floats:
    """Return the covariance of loads, pair by pair: an independent way to the same numbers."""
    firm, group, lawn, load = (
        variances[hypothesis] for variances in (TWO.firm, TWO.group, TWO.lawn, TWO.load)
    )
    return np.array(
        [
            [
                firm + group * (one[0] == other[0]) + lawn * (one == other) + load * (row == column)
                for column, other in enumerate(places)
            ]
            for row, one in enumerate(places)
        ]
    )


def in_turn(arrays: TicketArrays) -> list[tuple[str, str]]:
    return [(arrays.lawn_groups[place], arrays.lawns[place]) for place in arrays.ticket_places]


@pytest.mark.parametrize(("place", "hypothesis"), list(product(PLACES, (0, 1))))
def test_the_belief_is_that_of_the_joint_normal_distribution(
    place: tuple[str, str], hypothesis: int
) -> None:
    arrays = arranged(TICKETS)
    tree = grown(arrays, np.ones((2, len(TICKETS))), TWO)
    found = next_load(arrays, tree, TWO, group=place[0], lawn=place[1])
    covariance = covariance_of([*in_turn(arrays), place], hypothesis)
    seen, cross = covariance[:-1, :-1], covariance[-1, :-1]
    assert found.mean[hypothesis] == pytest.approx(cross @ np.linalg.solve(seen, arrays.logs))
    assert found.variance[hypothesis] == pytest.approx(
        covariance[-1, -1] - cross @ np.linalg.solve(seen, cross)
    )


@pytest.mark.parametrize("hypothesis", [0, 1])
def test_the_evidence_is_the_density_of_the_joint_normal_distribution(hypothesis: int) -> None:
    arrays = arranged(TICKETS)
    found = log_evidence(grown(arrays, np.ones((2, len(TICKETS))), TWO), TWO)
    covariance = covariance_of(in_turn(arrays), hypothesis)
    expected = -0.5 * (
        arrays.logs @ np.linalg.solve(covariance, arrays.logs)
        + np.linalg.slogdet(2 * math.pi * covariance)[1]
    )
    assert found[hypothesis] == pytest.approx(expected)


@pytest.mark.parametrize("left_out", range(len(TICKETS)))
def test_what_others_say_of_a_ticket_is_what_they_say_without_it(left_out: int) -> None:
    arrays = arranged(TICKETS)
    ones = np.ones((2, len(TICKETS)))
    found = without_itself(arrays, ones, grown(arrays, ones, TWO), TWO)
    weights = ones.copy()
    weights[:, left_out] = 0
    group, lawn = in_turn(arrays)[left_out]
    others = next_load(arrays, grown(arrays, weights, TWO), TWO, group=group, lawn=lawn)
    assert found.mean[:, left_out] == pytest.approx(others.mean)
    assert found.variance[:, left_out] == pytest.approx(others.variance)


def test_a_ticket_without_weight_is_as_if_it_were_not_there() -> None:
    fewer = arranged(TICKETS[:-1])
    arrays = arranged(TICKETS)  # the last one is alone in its group, and last in turn
    weights = np.ones((2, len(TICKETS)))
    weights[:, -1] = 0
    assert log_evidence(grown(arrays, weights, TWO), TWO) == pytest.approx(
        log_evidence(grown(fewer, weights[:, :-1], TWO), TWO)
    )


@pytest.mark.parametrize("load", [0.05, 0.15, 0.4])
def test_all_hypotheses_together_have_the_spread_of_the_estimate(load: float) -> None:
    rest = (1 - load) / 3
    grid = hypotheses_of(VarianceShares(firm=rest, group=rest, lawn=rest, load=load))
    beliefs = np.exp(grid.log_belief)
    assert beliefs.sum() == pytest.approx(1)
    spreads = np.sqrt(grid.firm + grid.group + grid.lawn + grid.load)
    below = [0.5 * math.erfc(-NORMAL_90 / spread / math.sqrt(2)) for spread in spreads]
    assert beliefs @ below == pytest.approx(0.9, abs=1e-9)


def test_a_mixture_has_as_much_below_each_percentile_as_it_says() -> None:
    weights, means, variances = (
        np.array(row) for row in ((0.2, 0.5, 0.3), (-3.0, 0.1, 4.0), (0.01, 1.0, 9.0))
    )
    for deviate in (-NORMAL_90, 0.0, NORMAL_90, 3.0):
        (found,) = mixture_quantiles(weights, means, variances, (deviate,))
        below = [
            0.5 * math.erfc((mean - found) / math.sqrt(2 * variance))
            for mean, variance in zip(means, variances, strict=True)
        ]
        assert weights @ below == pytest.approx(0.5 * math.erfc(-deviate / math.sqrt(2)), abs=1e-7)


def test_a_mixture_of_one_is_that_normal() -> None:
    found = mixture_quantiles(np.ones(1), np.array([2.0]), np.array([0.25]), (-1.0, 0.0, 2.0))
    assert found == pytest.approx([1.5, 2.0, 3.0])
