"""Every physical function refuses what is no number and what is out of its range."""

import inspect
import math
from collections.abc import Callable
from importlib import import_module

import pytest

from service.agronomy.clippings import growth
from service.agronomy.drying import rate as drying
from service.agronomy.drying import time as drying_time
from service.agronomy.drying import weather as weather_quantities
from service.agronomy.estimates.validity import OutsideValidity, within
from service.agronomy.heat import (
    freshness,
    heap_temperature,
    kill,
    layer_heat,
    layer_safety,
    thermal_properties,
)
from service.agronomy.layers import material as layer_material
from service.agronomy.layers import oxygen as layer_oxygen
from service.agronomy.layers import oxygen_supply, oxygen_uptake

MODULES = (
    *(drying, drying_time, freshness, growth, heap_temperature),
    *(kill, layer_heat, layer_material, layer_oxygen, layer_safety),
    *(oxygen_supply, oxygen_uptake, thermal_properties, weather_quantities),
)
GRASS = layer_material.LayerMaterial(
    bulk_density_kg_per_m3=400, moisture=0.8, oxygen_uptake_g_per_kg_h=1.0
)
PACE = freshness.SouringPace(
    amber_hours=6, red_hours=24, reference_c=25, ratio_per_10_c=2, uptake_g_per_kg_h=1
)
NOON = drying.DryingHour(solar_w_per_m2=700, vapour_pressure_deficit_kpa=1.5, first_day=True)
STEP = kill.HeatStep(name="55_c", temperature_c=55, hours=72, turnings=5, consecutive=True)

# One good value for every argument that has a number in it, by its name.
GOOD: dict[str, object] = {
    "material": GRASS,
    "pace": PACE,
    "weather": NOON,
    "parts": [(1.0, GRASS), (2.0, GRASS)],
    "steps": [STEP],
    "readings": [(0.0, 60.0), (12.0, 61.0)],
    "stretches": [(1.0, 20.0)],
    "days": 30.0,
    "daily_potentials": [0.5, 0.6],
    "daily_temperatures_c": [10.0, 12.0],
    "practice_hours": (2.0, 4.0, 8.0),
    "thresholds_c": {"watch": 65.6},
    "full_above_optimum": True,
    "first_day": True,
    "consecutive": True,
    "open_faces": 1,
    "turnings": 5,
    "age_days": 3.0,
    "air_filled_porosity": 0.5,
    "air_temperature_c": 20.0,
    "area_m2": 450.0,
    "bulk_density_kg_per_m3": 300.0,
    "cap_hours": 48.0,
    "compressibility_per_kpa": 0.05,
    "cooling": 3.0,
    "density_after_kg_per_m3": 380.0,
    "density_before_kg_per_m3": 200.0,
    "depth_mm": 25.0,
    "dry_density_kg_per_m3": 80.0,
    "factor": 1.0,
    "goal_moisture": 0.4,
    "greatest_gap_hours": 24.0,
    "greatest_rise_c": 10.0,
    "greatest_temperature_c": 40.0,
    "half_time_hours": 2.0,
    "hours": 5.0,
    "ledger_mm": 20.0,
    "loose_density_kg_per_m3": 200.0,
    "lost_fraction": 0.5,
    "measured_at_c": 20.0,
    "moisture": 0.8,
    "nitrogen_fraction": 0.04,
    "nitrogen_g_per_m2_per_month": 3.0,
    "optimum_c": 20.0,
    "oxygen_floor": 0.05,
    "oxygen_fraction": 0.1,
    "physics_mm": 20.0,
    "porosity": 0.9,
    "potential": 0.5,
    "practice_mm": 12.7,
    "rate_per_day": 0.01,
    "rate_per_h": 0.1,
    "ratio_per_10_c": 2.0,
    "regrowth_g_per_m2": 15.0,
    "relative_humidity": 0.5,
    "rise_c": 5.0,
    "settled_density_kg_per_m3": 380.0,
    "soil_moisture": 0.1,
    "spread": 1.6,
    "start_c": 20.0,
    "surface_density_kg_per_m3": 300.0,
    "surface_w_per_m2_k": 10.0,
    "swath_density_g_per_m2": 400.0,
    "target_c": 40.0,
    "temperature_c": 25.0,
    "uptake_g_per_kg_h": 1.0,
    "width_c": 5.5,
}
# Where the shared good value is outside one function's range.
SPECIAL: dict[str, dict[str, object]] = {
    "hours_at_or_above": {"temperature_c": 55.0},
    "heap_caution": {"temperature_c": 70.0},
}


def public_functions() -> list[Callable[..., object]]:
    return [
        function
        for module in MODULES
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    ]


def good_arguments(function: Callable[..., object]) -> dict[str, object]:
    special = SPECIAL.get(function.__name__, {})
    return {name: special.get(name, GOOD[name]) for name in inspect.signature(function).parameters}


FUNCTIONS = public_functions()
NUMBERS = [
    (function, name)
    for function in FUNCTIONS
    for name, value in good_arguments(function).items()
    if isinstance(value, float)
]


def label(value):
    return getattr(value, "__name__", str(value))


def is_finite(value):
    if value is None or isinstance(value, bool | str):
        return True
    if isinstance(value, int | float):
        return math.isfinite(value)
    slots = getattr(type(value), "__slots__", ())
    return all(is_finite(getattr(value, slot)) for slot in slots)


@pytest.mark.parametrize("function", FUNCTIONS, ids=label)
def test_a_good_call_gives_a_finite_answer(function):
    assert is_finite(function(**good_arguments(function)))


@pytest.mark.parametrize("nonsense", [math.nan, math.inf, -math.inf, -1e12, 1e12])
@pytest.mark.parametrize(("function", "name"), NUMBERS, ids=label)
def test_no_function_takes_what_is_no_number_of_its_kind(function, name, nonsense):
    arguments = {**good_arguments(function), name: nonsense}
    with pytest.raises(OutsideValidity):
        function(**arguments)


@pytest.mark.parametrize("function", FUNCTIONS, ids=label)
def test_every_range_a_docstring_gives_is_for_an_argument_that_exists(function):
    text = inspect.getdoc(function) or ""
    parameters = text.split("Parameters\n----------\n")[1].split("\nReturns\n-------")[0]
    named = {
        name.strip()
        for line in parameters.splitlines()
        if line and not line.startswith(" ")
        for name in line.split(",")
    }
    assert named == set(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", FUNCTIONS, ids=label)
def test_every_function_names_its_source_or_says_it_needs_none(function):
    text = inspect.getdoc(function) or ""
    references = text.split("References\n----------\n")[1]
    assert (
        "[" in references
        or "`" in references
        or "no source needed" in references
        or ("The rule whose steps are given" in references)
    )


def test_a_refusal_names_the_value_and_the_range():
    with pytest.raises(
        OutsideValidity, match=r"moisture is 1\.2 1; the formula holds from 0 to 0.9"
    ):
        within("moisture", 1.2, low=0, high=0.9, unit="1")


def test_the_ends_of_a_range_belong_to_it():
    assert within("moisture", 0.0, low=0, high=0.9, unit="1") == 0.0
    assert within("moisture", 0.9, low=0, high=0.9, unit="1") == 0.9


def test_every_module_of_the_list_is_a_module_of_the_package():
    assert all(import_module(module.__name__) is module for module in MODULES)
