"""Estimates as properties draw them."""

from hypothesis import strategies as st

from service.core.measures.estimates import Estimate


@st.composite
def intervals(
    draw: st.DrawFn, *, least: float = 0.01, most: float = 100.0, unit: str = "kg"
) -> Estimate:
    likely = draw(st.floats(least, most))
    low = likely * draw(st.floats(0.3, 1.0))
    high = likely * draw(st.floats(1.0, 3.0))
    return Estimate(low=low, likely=likely, high=high, unit=unit, basis="drawn", sources=("a",))


@st.composite
def fractions(draw: st.DrawFn, *, least: float, most: float) -> Estimate:
    low, likely, high = sorted(draw(st.tuples(*[st.floats(least, most)] * 3)))
    return Estimate(low=low, likely=likely, high=high, unit="1", basis="drawn", sources=("a",))
