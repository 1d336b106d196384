import numpy as np
import pytest

from service.agronomy.compost.mix_range import MaterialPart, mix_range
from service.agronomy.estimates.uncertainty import NORMAL_90
from service.agronomy.estimates.validity import OutsideValidity
from service.core.estimates import Estimate, exactly
from service.rules.lookup import Rulebook

DRAWS = 300_000
MATERIALS = Rulebook.load().materials


def part(name: str, mass_kg: float) -> MaterialPart:
    row = MATERIALS[name]
    return MaterialPart(
        name=name,
        mass_kg=mass_kg,
        moisture=row.moisture,
        nitrogen_fraction=row.nitrogen_fraction,
        carbon_to_nitrogen=row.carbon_to_nitrogen,
        bulk_density=row.bulk_density_kg_per_m3,
    )


def drawn(rng: np.random.Generator, low: float, likely: float, high: float) -> np.ndarray:
    z = rng.standard_normal(DRAWS)
    spread = np.where(z < 0, np.log(likely / low), np.log(high / likely)) / NORMAL_90
    return likely * np.exp(z * spread)


def of(rng: np.random.Generator, estimate: Estimate) -> np.ndarray:
    return drawn(rng, estimate.low, estimate.likely, estimate.high)


@pytest.mark.parametrize(
    "parts",
    [
        [part("grass_clippings", 100), part("tree_leaves", 80)],
        [part("grass_clippings", 100), part("straw", 30), part("wood_chips", 40)],
        [part("grass_clippings", 100)],
    ],
    ids=["leaves", "straw and chips", "grass alone"],
)
def test_the_spread_of_a_mix_is_that_of_a_monte_carlo_run(parts: list[MaterialPart]) -> None:
    rng = np.random.default_rng(9)
    carbon, nitrogen, dry, volume = (np.zeros(DRAWS) for _ in range(4))
    for one in parts:
        m = one.moisture
        one_dry = one.mass_kg * drawn(rng, 1 - m.high, 1 - m.likely, 1 - m.low)
        one_carbon = one_dry * one.nitrogen_fraction.likely * one.carbon_to_nitrogen.likely
        dry += one_dry
        carbon += one_carbon
        nitrogen += one_carbon / of(rng, one.carbon_to_nitrogen)
        volume += one.mass_kg / of(rng, one.bulk_density)
    found = mix_range(parts)
    mass_kg = sum(one.mass_kg for one in parts)
    for estimate, draws, rel in (
        (found.moisture, 1 - dry / mass_kg, 0.03),
        (found.carbon_to_nitrogen, carbon / nitrogen, 0.04),
        (found.volume_m3, volume, 0.05),
    ):
        low, likely, high = np.percentile(draws, [10, 50, 90])
        assert estimate.low == pytest.approx(low, rel=rel)
        assert estimate.likely == pytest.approx(likely, rel=rel)
        assert estimate.high == pytest.approx(high, rel=rel)


def test_a_mix_of_weighed_and_analysed_materials_has_no_spread() -> None:
    known = MaterialPart(
        name="analysed",
        mass_kg=10,
        moisture=exactly(0.5, unit="1", basis="oven"),
        nitrogen_fraction=exactly(0.02, unit="1", basis="laboratory"),
        carbon_to_nitrogen=exactly(20, unit="1", basis="laboratory"),
        bulk_density=exactly(300, unit="kg/m3", basis="bucket"),
    )
    found = mix_range([known])
    assert found.moisture.low == pytest.approx(found.moisture.high)
    assert found.carbon_to_nitrogen.likely == pytest.approx(20)


def test_a_mix_names_the_sources_of_all_its_materials() -> None:
    found = mix_range([part("grass_clippings", 100), part("straw", 30)])
    wanted = set(MATERIALS["straw"].carbon_to_nitrogen.sources)
    assert wanted <= set(found.carbon_to_nitrogen.sources)


def test_a_material_without_mass_is_refused() -> None:
    with pytest.raises(OutsideValidity):
        mix_range([part("straw", 0)])
