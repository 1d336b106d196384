import math
import random
from collections.abc import Sequence

import numpy as np
import pytest

from service.agronomy.estimates.uncertainty import NORMAL_90
from service.agronomy.learning.estimator import (
    Learned,
    Ticket,
    VarianceShares,
    VarianceSharesWrong,
    learn,
)
from service.agronomy.learning.weigh_tickets import TicketRatioOutOfRange
from service.core.measures.estimates import Estimate, exactly

SHARES = VarianceShares(firm=0.35, group=0.25, lawn=0.25, load=0.15)
ESTIMATE = Estimate(low=50, likely=100, high=200, unit="kg", basis="a test", sources=("a",))
VARIANCE = (math.log(2) / NORMAL_90) ** 2


def taught(tickets: Sequence[Ticket], *, group: str = "g0", lawn: str = "l0") -> Learned:
    return learn(ESTIMATE, tickets, group=group, lawn=lawn, shares=SHARES)


def world(
    rng: np.random.Generator, tickets: int, *, shares: VarianceShares = SHARES
) -> tuple[list[Ticket], float]:
    """Return tickets of three kinds and five lawns each, and the next load's true logarithm."""
    firm, group, lawn, load = (
        math.sqrt(VARIANCE * share)
        for share in (shares.firm, shares.group, shares.lawn, shares.load)
    )
    of_firm = rng.normal(0, firm)
    found: list[Ticket] = []
    truth = 0.0
    for kind in range(3):
        of_group = of_firm + rng.normal(0, group)
        of_lawns = of_group + rng.normal(0, lawn, 5)
        found += [
            Ticket(
                group=f"g{kind}",
                lawn=f"l{number % 5}",
                ratio=math.exp(of_lawns[number % 5] + rng.normal(0, load)),
            )
            for number in range(tickets)
        ]
        if kind == 0:
            truth = of_lawns[0] + rng.normal(0, load)
    return found, truth


def test_without_tickets_the_estimate_stays_what_it_was() -> None:
    learned = taught([])
    assert learned.estimate.low == pytest.approx(50)
    assert learned.estimate.likely == pytest.approx(100)
    assert learned.estimate.high == pytest.approx(200)
    assert (learned.tickets_firm, learned.tickets_group, learned.tickets_lawn) == (0, 0, 0)


def test_a_single_ticket_is_believed_by_about_the_share_it_could_explain() -> None:
    # One ticket on this lawn: everything but the load itself, 85 % of the spread, is shared. How
    # far loads scatter is in doubt, and rather more than assumed: so a little less is believed.
    learned = taught([Ticket(group="g0", lawn="l0", ratio=1.5)])
    assert 0.65 < math.log(learned.ratio) / math.log(1.5) < 0.85


def test_a_ticket_of_another_kind_teaches_less_than_one_of_another_lawn_than_one_of_this() -> None:
    ratios = [
        taught([Ticket(group=group, lawn=lawn, ratio=1.5)]).ratio
        for group, lawn in (("g1", "l0"), ("g0", "l1"), ("g0", "l0"))
    ]
    assert 1 < ratios[0] < ratios[1] < ratios[2] < 1.5


def test_the_order_of_the_tickets_changes_nothing() -> None:
    tickets, _ = world(np.random.default_rng(4), 20)
    shuffled = random.Random(2).sample(tickets, len(tickets))  # noqa: S311 - no secret depends on it
    assert taught(tickets) == taught(shuffled)


def test_tickets_of_a_later_day_do_not_change_the_estimate_of_an_earlier_one() -> None:
    tickets, _ = world(np.random.default_rng(5), 20)
    assert taught(tickets[:7]) == taught(list(tickets[:7]))


@pytest.mark.parametrize(("tickets", "error_left"), [(5, 0.6), (20, 0.5)])
def test_eighty_of_a_hundred_loads_lie_in_the_interval_and_the_error_is_halved(
    tickets: int, error_left: float
) -> None:
    rng = np.random.default_rng(11)
    inside, before, after = [], [], []
    for _ in range(300):
        found, truth = world(rng, tickets)
        learned = taught(found)
        weighed = 100 * math.exp(truth)
        inside.append(learned.estimate.low <= weighed <= learned.estimate.high)
        before.append(abs(truth))
        after.append(abs(math.log(learned.estimate.likely / weighed)))
    assert 0.75 <= np.mean(inside) <= 0.88
    assert np.median(after) <= np.median(before) * error_left


# A world whose loads scatter by 40 % of the variance, not by 15 %.
SCATTERED = VarianceShares(firm=0.25, group=0.17, lawn=0.18, load=0.40)


@pytest.mark.parametrize("tickets", [5, 20])
def test_three_of_four_loads_lie_in_the_interval_where_loads_scatter_more_than_assumed(
    tickets: int,
) -> None:
    rng = np.random.default_rng(13)
    inside = []
    for _ in range(300):
        found, truth = world(rng, tickets, shares=SCATTERED)
        learned = taught(found).estimate
        inside.append(learned.low <= 100 * math.exp(truth) <= learned.high)
    # 300 firms tell the share to two or three in a hundred.
    assert 0.73 <= np.mean(inside) <= 0.88


def test_how_far_loads_scatter_is_learned() -> None:
    rng = np.random.default_rng(14)
    for shares in (SHARES, SCATTERED):
        found = [taught(world(rng, 60, shares=shares)[0]).load_scatter for _ in range(20)]
        assert np.median(found) == pytest.approx(math.sqrt(VARIANCE * shares.load), rel=0.1)


def test_the_basis_says_how_many_tickets_and_how_far_loads_scatter() -> None:
    tickets, _ = world(np.random.default_rng(6), 20)
    learned = taught([*tickets, Ticket(group="g0", lawn="l0", ratio=40.0)])
    assert "61 weigh tickets of the firm, 21 of the kind, 5 here, 1 of them set aside" in (
        learned.estimate.basis
    )
    assert f"scatter by {math.exp(learned.load_scatter) - 1:.0%}" in learned.estimate.basis


def test_pounds_for_kilograms_on_every_tenth_ticket_teach_nothing() -> None:
    right = [Ticket(group="g0", lawn=f"l{n % 3}", ratio=1.1) for n in range(18)]
    pounds = [Ticket(group="g0", lawn=f"l{n}", ratio=1.1 / 0.45359237) for n in range(2)]
    learned = taught([*right, *pounds])
    assert learned.tickets_set_aside == len(pounds)
    assert learned.ratio == pytest.approx(taught(right).ratio, rel=0.01)


def test_one_ticket_of_ten_times_the_mass_moves_the_estimate_by_less_than_five_percent() -> None:
    rng = np.random.default_rng(12)
    moves = []
    for _ in range(300):
        tickets, _ = world(rng, 20)
        wrong = Ticket(group="g0", lawn="l0", ratio=10 * tickets[0].ratio)
        moves.append(abs(taught([*tickets, wrong]).ratio / taught(tickets).ratio - 1))
    assert np.percentile(moves, 99) < 0.05


def test_a_ticket_far_from_its_fellows_is_set_aside_and_said_so() -> None:
    tickets = [Ticket(group="g0", lawn=f"l{n % 3}", ratio=1.1) for n in range(12)]
    learned = taught([*tickets, Ticket(group="g0", lawn="l0", ratio=30.0)])
    assert learned.tickets_set_aside == 1
    assert learned.ratio == pytest.approx(taught(tickets).ratio, rel=1e-3)


def test_only_tickets_that_were_set_aside_teach_nothing() -> None:
    learned = taught([Ticket(group="g0", lawn="l0", ratio=1e4)])
    assert learned.tickets_set_aside == 1
    assert learned.ratio == pytest.approx(1)


def test_a_weighed_mass_has_nothing_to_learn() -> None:
    weighed = exactly(480, unit="kg", basis="ticket 17")
    learned = learn(
        weighed,
        [Ticket(group="g0", lawn="l0", ratio=1.5)],
        group="g0",
        lawn="l0",
        shares=SHARES,
    )
    assert (learned.estimate.low, learned.estimate.high, learned.ratio) == (480, 480, 1)
    assert learned.tickets_lawn == 1


def test_the_tickets_behind_an_estimate_are_counted() -> None:
    tickets = [
        Ticket(group=group, lawn=lawn, ratio=1.1)
        for group, lawn in (("g0", "l0"), ("g0", "l0"), ("g0", "l1"), ("g1", "l0"))
    ]
    learned = taught(tickets)
    assert (learned.tickets_firm, learned.tickets_group, learned.tickets_lawn) == (4, 3, 2)
    assert [factor.name for factor in learned.factors] == [
        "estimate_before_tickets",
        "learned_ratio",
    ]


def test_more_tickets_on_a_lawn_leave_less_spread() -> None:
    spreads = [
        (estimate := taught([Ticket(group="g0", lawn="l0", ratio=1.2)] * count).estimate).high
        / estimate.low
        for count in (0, 1, 3, 9, 27)
    ]
    assert spreads == sorted(spreads, reverse=True)


def test_a_lopsided_estimate_stays_lopsided() -> None:
    lopsided = Estimate(low=80, likely=100, high=250, unit="kg", basis="a test", sources=())
    learned = learn(
        lopsided,
        [Ticket(group="g0", lawn="l0", ratio=1.1)],
        group="g0",
        lawn="l0",
        shares=SHARES,
    ).estimate
    below, above = learned.likely / learned.low, learned.high / learned.likely
    assert math.log(above) / math.log(below) == pytest.approx(math.log(2.5) / math.log(1.25))


@pytest.mark.parametrize("ratio", [0.0, -1.0, math.nan, math.inf])
def test_a_ratio_that_is_none_is_refused(ratio: float) -> None:
    with pytest.raises(TicketRatioOutOfRange):
        taught([Ticket(group="g0", lawn="l0", ratio=ratio)])


@pytest.mark.parametrize("load", [0.0, 0.2])
def test_shares_that_are_no_whole_are_refused(load: float) -> None:
    with pytest.raises(VarianceSharesWrong):
        VarianceShares(firm=0.35, group=0.25, lawn=0.25, load=load)
