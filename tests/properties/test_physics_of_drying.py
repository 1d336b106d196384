"""What must hold for moist air and for drying, whatever the weather."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.agronomy.drying.rate import DryingHour, drying_rate_per_h, swath_density_g_per_m2
from service.agronomy.drying.weather import (
    saturation_vapour_pressure_kpa,
    vapour_pressure_deficit_kpa,
    vapour_pressure_kpa,
)

temperatures = st.floats(-20, 45)
humidities = st.floats(0.05, 1)
rates = st.floats(0.001, 0.9)
weathers = st.builds(
    DryingHour,
    solar_w_per_m2=st.floats(0, 1000),
    vapour_pressure_deficit_kpa=st.floats(0, 4),
    first_day=st.booleans(),
)


@given(temperature_c=temperatures, humidity=humidities)
def test_what_is_held_and_what_can_be_taken_up_make_saturation(temperature_c, humidity):
    held = vapour_pressure_kpa(temperature_c=temperature_c, relative_humidity=humidity)
    room = vapour_pressure_deficit_kpa(temperature_c=temperature_c, relative_humidity=humidity)
    assert held + room == pytest.approx(saturation_vapour_pressure_kpa(temperature_c))
    assert room >= 0


@given(weather=weathers, soil=st.floats(0, 0.4), swath=st.floats(60, 1500), more=st.floats(1, 500))
def test_a_wetter_soil_and_a_thicker_swath_never_dry_faster(weather, soil, swath, more):
    rate = drying_rate_per_h(weather, soil_moisture=soil, swath_density_g_per_m2=swath)
    assert rate >= drying_rate_per_h(
        weather, soil_moisture=soil, swath_density_g_per_m2=swath + more
    )
    assert rate >= drying_rate_per_h(
        weather, soil_moisture=soil + 0.1, swath_density_g_per_m2=swath
    )


@given(weather=weathers, sun=st.floats(0, 300), room=st.floats(0, 3), swath=st.floats(60, 2000))
def test_more_sun_and_drier_air_never_dry_slower(weather, sun, room, swath):
    better = DryingHour(
        solar_w_per_m2=weather.solar_w_per_m2 + sun,
        vapour_pressure_deficit_kpa=weather.vapour_pressure_deficit_kpa + room,
        first_day=weather.first_day,
    )
    assert drying_rate_per_h(better, soil_moisture=0.1, swath_density_g_per_m2=swath) >= (
        drying_rate_per_h(weather, soil_moisture=0.1, swath_density_g_per_m2=swath)
    )


@given(depth=st.floats(1, 400), density=st.floats(20, 1000), moisture=st.floats(0, 0.9))
def test_dry_matter_on_the_ground_doubles_with_the_depth(depth, density, moisture):
    once = swath_density_g_per_m2(depth_mm=depth, bulk_density_kg_per_m3=density, moisture=moisture)
    assume(depth * 1.25 <= 500)
    assert swath_density_g_per_m2(
        depth_mm=depth * 1.25, bulk_density_kg_per_m3=density, moisture=moisture
    ) == pytest.approx(1.25 * once)
