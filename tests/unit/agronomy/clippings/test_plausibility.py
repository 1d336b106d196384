import pytest

from service.agronomy.estimates.plausibility import Plausibility, check_mowing
from service.core.measures.estimates import Estimate


def interval(low: float, likely: float, high: float, unit: str) -> Estimate:
    return Estimate(low=low, likely=likely, high=high, unit=unit, basis="a test", sources=("a",))


@pytest.mark.parametrize(
    ("dry_matter_kg", "expected"),
    [
        (1.0, Plausibility.BELOW_PUBLISHED),
        (10.0, Plausibility.ORDINARY),
        (40.0, Plausibility.ABOVE_PUBLISHED),
        (100.0, Plausibility.FAR_ABOVE_PUBLISHED),
    ],
)
def test_a_mowing_is_held_against_published_ones(
    dry_matter_kg: float, expected: Plausibility
) -> None:
    published = interval(5, 17, 50, "g/m2")
    found = check_mowing(dry_matter_kg=dry_matter_kg, area_m2=500, published_g_per_m2=published)
    assert found.plausibility is expected
    assert found.times_high == pytest.approx(dry_matter_kg * 1000 / 500 / 50)
