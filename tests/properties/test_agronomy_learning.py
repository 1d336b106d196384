"""What must hold for what weigh tickets teach, whatever they say."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.agronomy.learning.estimator import Ticket, VarianceShares, learn
from service.core.measures.estimates import Estimate
from tests.properties.estimates import intervals

SHARES = VarianceShares(firm=0.35, group=0.25, lawn=0.25, load=0.15)


tickets = st.builds(
    Ticket,
    group=st.sampled_from(["g0", "g1", "g2"]),
    lawn=st.sampled_from(["l0", "l1", "l2"]),
    ratio=st.floats(0.2, 5.0),
)


@given(intervals(least=10, most=1000), st.lists(tickets, max_size=25), st.randoms())
def test_learning_keeps_the_estimate_in_order_whatever_the_tickets_and_their_order(
    estimate: Estimate, found: list[Ticket], shuffler: st.DataObject
) -> None:
    assume(estimate.high > estimate.low * 1.01)
    learned = learn(estimate, found, group="g0", lawn="l0", shares=SHARES)
    again = found[:]
    shuffler.shuffle(again)  # type: ignore[attr-defined]  # hypothesis hands over a Random
    assert learned == learn(estimate, again, group="g0", lawn="l0", shares=SHARES)
    assert 0 < learned.estimate.low <= learned.estimate.likely <= learned.estimate.high
    assert learned.tickets_set_aside <= learned.tickets_firm == len(found)


BENCH = Estimate(low=50, likely=100, high=200, unit="kg", basis="drawn", sources=())


# Tickets as gates write them: within a factor of four of the estimate.
likely_tickets = st.builds(
    Ticket,
    group=st.sampled_from(("g0", "g1")),
    lawn=st.sampled_from(("l0", "l1", "l2")),
    ratio=st.floats(0.25, 4.0),
)


@given(st.lists(likely_tickets, max_size=25))
def test_one_more_ticket_that_agrees_with_the_estimate_never_widens_it(
    found: list[Ticket],
) -> None:
    before = learn(BENCH, found, group="g0", lawn="l0", shares=SHARES)
    agreeing = Ticket(group="g0", lawn="l0", ratio=before.ratio)
    after = learn(BENCH, [*found, agreeing], group="g0", lawn="l0", shares=SHARES)
    assert (
        after.estimate.high / after.estimate.low
        <= before.estimate.high / before.estimate.low * 1.000001
    )


@given(st.lists(likely_tickets, max_size=25), st.one_of(st.floats(1e-6, 0.049), st.floats(21, 1e6)))
def test_a_ticket_beyond_a_factor_of_twenty_teaches_nothing_at_all(
    found: list[Ticket], ratio: float
) -> None:
    before = learn(BENCH, found, group="g0", lawn="l0", shares=SHARES)
    wrong = Ticket(group="g0", lawn="l0", ratio=ratio)
    after = learn(BENCH, [*found, wrong], group="g0", lawn="l0", shares=SHARES)
    assert (after.estimate.low, after.estimate.likely, after.estimate.high) == (
        before.estimate.low,
        before.estimate.likely,
        before.estimate.high,
    )
    assert after.tickets_set_aside == before.tickets_set_aside + 1


@given(
    st.lists(st.floats(0.7, 1.4), min_size=5, max_size=20),
    st.floats(0.4, 2.5),
    st.sampled_from((0.1, 10.0)),
)
def test_a_ticket_ten_times_off_moves_the_estimate_of_a_lawn_with_five_by_less_than_five_percent(
    scatter: list[float], level: float, times: float
) -> None:
    found = [Ticket(group="g0", lawn="l0", ratio=level * one) for one in scatter]
    before = learn(BENCH, found, group="g0", lawn="l0", shares=SHARES)
    wrong = Ticket(group="g0", lawn="l0", ratio=times * before.ratio)
    after = learn(BENCH, [*found, wrong], group="g0", lawn="l0", shares=SHARES)
    assert after.ratio / before.ratio == pytest.approx(1, abs=0.05)
