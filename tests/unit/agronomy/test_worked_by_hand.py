"""Examples worked on paper from the printed equations, one a formula.

A slip in a coefficient moves these; the arithmetic stands beside each.
"""

import pytest

from service.agronomy.clippings.growth import (
    daily_growth_g_per_m2,
    growth_potential,
    next_mowing_mass_kg,
)
from service.agronomy.drying.rate import (
    DryingHour,
    drying_rate_per_h,
)
from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.heat.heap_course import heap_courses
from service.agronomy.heat.kill import hours_at_or_above
from service.agronomy.heat.thermal_properties import thermal_conductivity_w_per_m_k
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen_supply import (
    oxygen_concentration_g_per_m3,
)
from service.agronomy.layers.oxygen_uptake import (
    uptake_temperature_factor,
)


def test_a_drying_hour_by_the_deficit():
    # [rotz-chen-1985] (600 + 43.8 x 1.5) / (61.4 x 15 + 450 x 0.99 x 1.68 + 2767)
    # = 665.7 / (921 + 748.44 + 2767) = 665.7 / 4436.44
    rate = drying_rate_per_h(
        DryingHour(solar_w_per_m2=600, vapour_pressure_deficit_kpa=1.5, first_day=True),
        soil_moisture=0.15,
        swath_density_g_per_m2=450,
    )
    assert rate == pytest.approx(0.150053, abs=5e-7)


def test_a_drying_hour_of_a_later_day_by_the_deficit():
    # 665.7 / (921 + 450 x 1.82 x 1.68 + 2767) = 665.7 / 5063.92
    rate = drying_rate_per_h(
        DryingHour(solar_w_per_m2=600, vapour_pressure_deficit_kpa=1.5, first_day=False),
        soil_moisture=0.15,
        swath_density_g_per_m2=450,
    )
    assert rate == pytest.approx(0.131459, abs=5e-7)


@pytest.mark.parametrize(
    ("temperature_c", "factor"),
    # [haug-1993] 1 - 0.00049; 3.5904 - 0.0221; 9.3649 - 0.3855; 12.8910 - 1
    [(20, 0.9995), (40, 3.5683), (55, 8.9794), (60, 11.8910)],
)
def test_the_pace_of_composting(temperature_c, factor):
    assert uptake_temperature_factor(temperature_c) == pytest.approx(factor, abs=1e-4)


def test_the_printed_pace_still_rises_at_seventy_degrees_and_is_not_answered_beyond():
    # Its top lies at 71.5 C, where 0.0639 x 1.066^(T - 20) = 0.1906 x 1.21^(T - 60);
    # it is often quoted, wrongly, with a top near 60 C.
    assert uptake_temperature_factor(70) > uptake_temperature_factor(69)
    with pytest.raises(OutsideValidity):
        uptake_temperature_factor(71)


@pytest.mark.parametrize("temperature_c", [0, 20, 60])
def test_oxygen_in_air_weighs_what_the_gas_tables_say(temperature_c, fluids):
    # 20.946 % by volume in the standard atmosphere; CoolProp's equation of state.
    pure_kg_per_m3 = fluids.PropsSI("D", "T", temperature_c + 273.15, "P", 101325, "Oxygen")
    assert oxygen_concentration_g_per_m3(
        oxygen_fraction=0.2095, temperature_c=temperature_c
    ) == pytest.approx(209.46 * pure_kg_per_m3, rel=1.5e-3)


def test_flooded_peat_conducts_as_measured():
    # [de-vries-1963] 0.50 W/m/K for peat with 0.90 water, by way of table 2.2 of
    # Moene and van Dam; 0.25^0.1 x 0.57^0.9 = 0.525 is five percent above.
    flooded = LayerMaterial(
        bulk_density_kg_per_m3=1050, moisture=900 / 1050, oxygen_uptake_g_per_kg_h=0
    )
    assert thermal_conductivity_w_per_m_k(flooded) == pytest.approx(0.50, rel=0.06)


def test_a_heap_warms_in_ten_minutes_by_what_its_oxygen_gives():
    # 330 kg/m3 at 0.8: 66 kg dry matter, 66 g of oxygen an hour at 1 g/kg/h; x 14 kJ / 6 = 154 kJ
    # in ten minutes; 66/1500 x 2.5e6 + 0.264 x 4.18e6 = 1.2135e6 J/m3/K: 0.1269 K at the start.
    grass = LayerMaterial(bulk_density_kg_per_m3=330, moisture=0.8, oxygen_uptake_g_per_kg_h=1.0)
    (first,) = next(
        heap_courses(
            [grass],
            depth_mm=800,
            temperature_c=20,
            air_temperature_c=20,
            surface_w_per_m2_k=10,
            open_faces=1,
            souring_reference_c=25,
            souring_ratio_per_10_c=2,
        )
    )
    assert first.hottest_c - 20 == pytest.approx(0.1269, rel=0.01)


def test_a_gap_a_little_too_long_is_not_believed():
    readings = [(0, 60), (30, 60)]
    settings = {"temperature_c": 55, "consecutive": False}
    assert hours_at_or_above(readings, greatest_gap_hours=24, **settings) == 0
    assert hours_at_or_above(readings, greatest_gap_hours=30, **settings) == 30


def test_a_month_of_full_growth_and_the_lawn_it_comes_from():
    # 3 g of nitrogen at 4 % is 75 g of dry matter in 30.436875 days; 450 m2 of 15 g/m2
    # at 80 % water is 6.75 / 0.2 kg.
    assert daily_growth_g_per_m2(
        potential=1, nitrogen_g_per_m2_per_month=3, nitrogen_fraction=0.04
    ) == pytest.approx(75 / 30.436875)
    assert next_mowing_mass_kg(area_m2=450, regrowth_g_per_m2=15, moisture=0.8) == pytest.approx(
        33.75
    )


def test_growth_potential_one_width_from_the_optimum():
    # [woods-2014-gp] exp(-1/2) = 0.60653
    for temperature_c in (14.5, 25.5):
        assert growth_potential(
            temperature_c=temperature_c, optimum_c=20, width_c=5.5, full_above_optimum=False
        ) == pytest.approx(0.60653, abs=5e-6)
