import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.measures.estimates import Estimate, EstimateOutOfOrder, exactly


@pytest.mark.parametrize(
    "ends",
    [
        (2.0, 1.0, 3.0),
        (1.0, 3.0, 2.0),
        (-1.0, 0.0, 1.0),
        (0.0, math.nan, 1.0),
        (0.0, 1.0, math.inf),
    ],
)
def test_an_estimate_out_of_order_or_not_finite_cannot_exist(
    ends: tuple[float, float, float],
) -> None:
    low, likely, high = ends
    with pytest.raises(EstimateOutOfOrder):
        Estimate(low=low, likely=likely, high=high, unit="kg", basis="a test", sources=())


def test_a_weighed_mass_has_no_spread() -> None:
    assert exactly(12.0, unit="kg", basis="weigh ticket").is_exact


@given(st.floats(min_value=0.0, max_value=1e6))
def test_scaling_scales_all_three_and_keeps_the_sources(factor: float) -> None:
    start = Estimate(low=1.0, likely=2.0, high=4.0, unit="kg", basis="a test", sources=("a",))
    scaled = start.scaled(factor, unit="g")
    assert (scaled.low, scaled.likely, scaled.high) == (factor, 2 * factor, 4 * factor)
    assert (scaled.unit, scaled.sources) == ("g", ("a",))
