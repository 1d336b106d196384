"""What is learned ends where the truth is: beside the textbook's closed form, and in worlds."""

import math

import numpy as np
import pytest

from service.agronomy.learning.estimator import Learned, Ticket, VarianceShares, learn
from service.agronomy.learning.hypotheses import hypotheses_of
from tests.unit.agronomy.learning.test_learning import ESTIMATE, SHARES, VARIANCE

TRUE_FACTOR, NOISE = 0.7, 0.15


def taught(ratios: list[float], *, lawns: int = 1) -> Learned:
    tickets = [
        Ticket(group="g0", lawn=f"l{number % lawns}", ratio=ratio)
        for number, ratio in enumerate(ratios)
    ]
    return learn(ESTIMATE, tickets, group="g0", lawn="l0", shares=SHARES)


def weighed(rng: np.random.Generator, tickets: int, *, blunders: float) -> list[float]:
    """Return tickets of a firm whose grass is 0.7 of the estimate; a blunder is twice the mass."""
    scattered = TRUE_FACTOR * np.exp(rng.normal(0, NOISE, tickets))
    return list(np.where(rng.random(tickets) < blunders, 2, 1) * scattered)


@pytest.mark.parametrize("tickets", [1, 2, 5, 20])
@pytest.mark.parametrize("ratio", [0.7, 1.4])
def test_tickets_of_one_lawn_are_believed_as_the_conjugate_normal_says(
    tickets: int, ratio: float
) -> None:
    # [gelman-bda-2013], section 2.5: the posterior mean of a normal mean under a normal prior is
    # (n y / load) / (1 / prior + n / load), here of each division of the variance on the grid.
    grid = hypotheses_of(SHARES).scaled(VARIANCE)
    prior = grid.firm + grid.group + grid.lawn
    believed = (tickets / grid.load) / (1 / prior + tickets / grid.load)
    share = math.log(taught([ratio] * tickets).ratio) / math.log(ratio)
    assert believed.min() < share < believed.max()
    # Equal tickets speak for loads that scatter little: rather the upper end, the more of them.
    assert share > float(np.exp(grid.log_belief) @ believed) - 0.05


@pytest.mark.parametrize(("tickets", "within"), [(5, 0.20), (12, 0.15), (40, 0.10)])
@pytest.mark.parametrize("lawns", [1, 5])
@pytest.mark.parametrize("blunders", [0.0, 0.05])
def test_the_factor_ends_at_the_truth_though_one_ticket_in_twenty_is_double(
    tickets: int, within: float, lawns: int, blunders: float
) -> None:
    rng = np.random.default_rng(7)
    found = [
        taught(weighed(rng, tickets, blunders=blunders), lawns=lawns).ratio / TRUE_FACTOR
        for _ in range(60)
    ]
    assert np.median(found) == pytest.approx(1, abs=0.06)
    assert np.mean(np.abs(np.log(found)) < within) > 0.75


@pytest.mark.parametrize("tickets", [1, 5, 20, 60])
def test_the_next_load_lies_in_the_interval_four_times_in_five_or_oftener(tickets: int) -> None:
    rng = np.random.default_rng(8)
    inside = []
    for _ in range(120):
        told = taught(weighed(rng, tickets, blunders=0.05)).estimate
        (load,) = weighed(rng, 1, blunders=0.0)
        inside.append(told.low <= ESTIMATE.likely * load <= told.high)
    assert np.mean(inside) > 0.76


def test_a_firm_that_doubles_every_fifth_weight_is_told_a_little_too_much_and_is_less_sure() -> (
    None
):
    rng = np.random.default_rng(9)
    often = [taught(weighed(rng, 40, blunders=0.2)) for _ in range(40)]
    never = [taught(weighed(rng, 40, blunders=0.0)) for _ in range(40)]
    assert 1.0 < np.median([one.ratio for one in often]) / TRUE_FACTOR < 1.2
    width = [
        np.median([one.estimate.high / one.estimate.low for one in of]) for of in (often, never)
    ]
    assert width[0] > 1.2 * width[1]


def test_shares_that_leave_single_loads_nothing_do_not_matter_for_where_it_ends() -> None:
    for load in (0.05, 0.4):
        rest = (1 - load) / 3
        shares = VarianceShares(firm=rest, group=rest, lawn=rest, load=load)
        rng = np.random.default_rng(10)
        tickets = [
            Ticket(group="g0", lawn="l0", ratio=ratio) for ratio in weighed(rng, 60, blunders=0.0)
        ]
        learned = learn(ESTIMATE, tickets, group="g0", lawn="l0", shares=shares)
        assert learned.ratio == pytest.approx(TRUE_FACTOR, rel=0.06)
