import numpy as np
import pytest

from service.agronomy.estimates.skewed import median_above
from service.agronomy.estimates.uncertainty import (
    NORMAL_90,
    CorrelationOutOfRange,
    FractionOutOfRange,
    IntervalReachesZero,
    complement,
    mean_of,
    product,
    total,
)
from service.core.measures.estimates import Estimate, exactly

DRAWS = 400_000


def interval(low: float, likely: float, high: float, unit: str = "kg") -> Estimate:
    return Estimate(low=low, likely=likely, high=high, unit=unit, basis="a test", sources=("a",))


def drawn(estimate: Estimate, seed: int) -> np.ndarray:
    z = np.random.default_rng(seed).standard_normal(DRAWS)
    below = np.log(estimate.likely / estimate.low) / NORMAL_90
    above = np.log(estimate.high / estimate.likely) / NORMAL_90
    return estimate.likely * np.exp(z * np.where(z < 0, below, above))


def assert_percentiles(estimate: Estimate, draws: np.ndarray, *, rel: float) -> None:
    low, likely, high = np.percentile(draws, [10, 50, 90])
    assert estimate.low == pytest.approx(low, rel=rel)
    assert estimate.likely == pytest.approx(likely, rel=rel)
    assert estimate.high == pytest.approx(high, rel=rel)


# As far as the expansion is off: a hair for the rulebook's intervals, three per cent where one
# end is four times as far as the other, a tenth at the worst interval anybody would write down.
@pytest.mark.parametrize(
    ("factors", "rel"),
    [
        ([(interval(0.5, 1.4, 3.85), 1.0), (interval(0.15, 0.2, 0.25), -1.0)], 0.01),
        ([(interval(1, 2, 4), 1.0), (interval(1, 3, 9), -0.5)], 0.01),
        ([(interval(1, 2, 8), 1.0), (interval(1, 4, 5), 1.0), (interval(2, 3, 4), -1.0)], 0.04),
        ([(interval(1, 1.1, 10), 1.0), (interval(1, 5, 6), 1.0)], 0.12),
    ],
    ids=["mass", "root", "three lopsided", "opposite skews"],
)
def test_a_product_has_the_percentiles_of_a_monte_carlo_run(
    factors: list[tuple[Estimate, float]], rel: float
) -> None:
    draws = np.ones(DRAWS)
    for seed, (factor, power) in enumerate(factors):
        draws *= drawn(factor, seed) ** power
    assert_percentiles(product(factors, unit="kg", basis="a test"), draws, rel=rel)


def test_water_drawn_from_a_beta_distribution_gives_the_same_mass() -> None:
    # The two-piece lognormal is a choice; a beta distribution of the moisture with the same
    # spread must not move the fresh mass by more than the figures are worth.
    rng = np.random.default_rng(7)
    moisture = rng.beta(82.0, 20.5, DRAWS)
    low, likely, high = np.percentile(moisture, [10, 50, 90])
    dry = complement(interval(low, likely, high, "1"), basis="dry")
    sward = interval(0.5, 1.4, 3.85)
    mass = product([(sward, 1.0), (dry, -1.0)], unit="kg", basis="a test")
    assert_percentiles(mass, drawn(sward, 3) / (1 - moisture), rel=0.02)


@pytest.mark.parametrize("correlation", [0.0, 0.5, 1.0])
def test_a_sum_has_the_percentiles_of_a_monte_carlo_run(correlation: float) -> None:
    rng = np.random.default_rng(11)
    shared = rng.standard_normal(DRAWS)
    draws = np.zeros(DRAWS)
    parts = [interval(50, 100, 200), interval(20, 60, 180), interval(80, 90, 101)]
    for part in parts:
        own = rng.standard_normal(DRAWS)
        z = np.sqrt(correlation) * shared + np.sqrt(1 - correlation) * own
        below = np.log(part.likely / part.low) / NORMAL_90
        above = np.log(part.high / part.likely) / NORMAL_90
        draws += part.likely * np.exp(z * np.where(z < 0, below, above))
    summed = total(parts, unit="kg", basis="a test", correlation=correlation)
    assert_percentiles(summed, draws, rel=0.04)


def test_a_sum_of_parts_that_lean_low_has_the_percentiles_of_a_monte_carlo_run() -> None:
    parts = [interval(50, 100, 105), interval(60, 90, 92)]
    draws = drawn(parts[0], 1) + drawn(parts[1], 2)
    assert_percentiles(total(parts, unit="kg", basis="a test"), draws, rel=0.06)


def test_parts_that_err_together_leave_a_wider_sum() -> None:
    parts = [interval(50, 100, 200)] * 4
    alone = total(parts, unit="kg", basis="a test")
    together = total(parts, unit="kg", basis="a test", correlation=1.0)
    assert together.high - together.low > alone.high - alone.low


def test_a_weighed_part_only_shifts_the_sum() -> None:
    lot = interval(50, 100, 200)
    summed = total([lot, exactly(40, unit="kg", basis="ticket")], unit="kg", basis="a test")
    assert (summed.low, summed.likely, summed.high) == (90, 140, 240)


def test_nothing_sums_to_nothing() -> None:
    summed = total([], unit="kg", basis="no lots")
    assert (summed.low, summed.likely, summed.high) == (0, 0, 0)


def test_the_mean_of_a_lopsided_interval_is_that_of_a_monte_carlo_run() -> None:
    lot = interval(50, 60, 200)
    assert mean_of(lot) == pytest.approx(float(drawn(lot, 5).mean()), rel=0.01)
    assert mean_of(exactly(3, unit="kg", basis="ticket")) == 3


def test_a_factor_that_may_be_nothing_is_refused() -> None:
    with pytest.raises(IntervalReachesZero):
        product([(interval(0, 1, 2), 1.0)], unit="kg", basis="a test")


def test_water_that_may_be_everything_is_refused() -> None:
    with pytest.raises(FractionOutOfRange):
        complement(interval(0.5, 0.9, 1.0, "1"), basis="dry")


def test_a_correlation_beyond_one_is_refused() -> None:
    with pytest.raises(CorrelationOutOfRange):
        total([], unit="kg", basis="a test", correlation=1.1)


@pytest.mark.parametrize("value", [100.0, 130.0, 180.0, 198.0])
def test_what_is_known_to_be_more_is_in_the_middle_of_what_is_left(value):
    estimate = interval(60.0, 100.0, 180.0)
    draws = drawn(estimate, seed=1)
    found = median_above(estimate, value)
    assert found == pytest.approx(np.median(draws[draws > value]), rel=0.01)
    assert found > value


@pytest.mark.parametrize("value", [110.0, 1000.0])
def test_what_is_far_more_than_a_narrow_estimate_is_hardly_more_than_itself(value):
    found = median_above(interval(99.0, 100.0, 101.0), value)
    assert value <= found < 1.001 * value
