"""Heat in a layer against print and against the differential equation."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp, solve_ivp

from service.agronomy.heat.layer_heat import GROWTH_PER_C, critical_source, layer_heat
from service.agronomy.heat.thermal_properties import (
    heat_capacity_j_per_m3_k,
    heat_production_w_per_m3,
    thermal_conductivity_w_per_m_k,
)
from service.agronomy.layers.material import LayerMaterial
from service.core.measures.quantities import to_si
from service.rules.lookup import Rulebook
from tests.published.printed import Printed

RULES = Rulebook.load()


def of_volumes(solid, water):
    """Return a layer with these shares of solids and water; the density follows."""
    dry, wet = 1500 * solid, 1000 * water
    return LayerMaterial(
        bulk_density_kg_per_m3=dry + wet,
        moisture=wet / (dry + wet),
        oxygen_uptake_g_per_kg_h=1.0,
    )


def de_vries(check, printed, compute):
    return Printed(
        check=check,
        source="de-vries-1963",
        where="table 2.2 of Moene and van Dam: peat soil, pore fraction 0.9",
        printed=printed,
        compute=compute,
    )


def hay(source, fahrenheit, printed):
    return Printed(
        check=f"{fahrenheit} F of the hay table [C]",
        source=source,
        where="temperatures to watch for",
        printed=printed,
        compute=lambda: to_si(fahrenheit, "[degF]"),
    )


def hay_rule(action, printed):
    """Return the check that a rule kept in Celsius is the Fahrenheit one of the table."""
    name = "hay_heap_temperature_c_min"
    (row,) = (row for row in RULES.rules[name].rows if dict(row.case)["action"] == action)
    return Printed(
        check=f"hay heap: {action.replace('_', ' ')} [F]",
        source="purdue-hay",
        where="critical temperatures",
        printed=printed,
        compute=lambda: row.value * 1.8 + 32,
    )


PRINTED = (
    de_vries(
        "heat capacity of dry peat [MJ/m3/K]",
        "0.25",
        lambda: heat_capacity_j_per_m3_k(of_volumes(0.1, 0.0)) / 1e6,
    ),
    de_vries(
        "heat capacity of peat with 0.45 water [MJ/m3/K]",
        "2.13",
        lambda: heat_capacity_j_per_m3_k(of_volumes(0.1, 0.45)) / 1e6,
    ),
    de_vries(
        "heat capacity of peat with 0.90 water [MJ/m3/K]",
        "4.01",
        lambda: heat_capacity_j_per_m3_k(of_volumes(0.1, 0.9)) / 1e6,
    ),
    Printed(
        check="critical heat source of a slab with cooled faces [1]",
        source="frank-kamenetskii-1969",
        where="chapter VI, infinite slab",
        printed="0.88",
        compute=lambda: critical_source(1e9),
    ),
    hay("neshoba-hay", 185, "85"),
    hay("neshoba-hay", 212, "100"),
    hay_rule("check_twice_daily", "150"),
    hay_rule("check_every_two_hours", "160"),
    hay_rule("alert_fire_service", "175"),
    hay_rule("move_only_with_fire_service", "190"),
    hay_rule("fire_imminent", "200"),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_heat_figure_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


@pytest.mark.parametrize(("fahrenheit", "printed_c"), [(150, 65), (160, 70), (175, 80)])
def test_three_celsius_figures_of_a_hay_table_are_rounded_to_five(fahrenheit, printed_c):
    # Erratum of [neshoba-hay]: 65.6, 71.1 and 79.4 C are what the Fahrenheit stand for.
    exact_c = to_si(fahrenheit, "[degF]")
    assert 0.5 < abs(exact_c - printed_c) < 2.5
    assert round(exact_c / 5) * 5 == printed_c


@pytest.mark.parametrize(
    ("density", "moisture"), [(250, 0.76), (400, 0.80), (640, 0.83), (900, 0.85)]
)
def test_clippings_conduct_and_store_heat_as_silage_was_measured_to(density, moisture):
    # [ahn-2009] silage, over five densities: 0.09 to 0.47 W/m/K, 0.93 to 3.09 MJ/m3/K
    # at 80 % of its water capacity. Looser grass than any silage conducts less, down
    # to dry straw's 0.03; wetter grass stores more, up to water's 4.18.
    material = LayerMaterial(
        bulk_density_kg_per_m3=density, moisture=moisture, oxygen_uptake_g_per_kg_h=1
    )
    assert 0.03 < thermal_conductivity_w_per_m_k(material) < 0.47
    assert 0.8e6 < heat_capacity_j_per_m3_k(material) < 4.18e6


@pytest.mark.parametrize(("water", "printed"), [(0.0, 0.04), (0.45, 0.27)])
def test_our_peat_conducts_less_than_the_measured_so_that_heat_is_overstated(water, printed):
    # The geometric mean is the careful side for unsaturated peat: down to half.
    ours = thermal_conductivity_w_per_m_k(of_volumes(0.1, water))
    assert 0.45 * printed < ours < printed


def test_burning_hexose_gives_within_five_percent_of_the_heat_we_count():
    # Heat of combustion of glucose 2805 kJ/mol (handbook), six moles of oxygen.
    glucose_j_per_g = 2805e3 / (6 * 31.998)
    counted = heat_production_w_per_m3(of_volumes(0.1, 0.4), factor=1.0) / (150 / 3600)
    assert counted == pytest.approx(glucose_j_per_g, rel=0.05)
    assert counted < glucose_j_per_g


MATERIALS = [
    LayerMaterial(bulk_density_kg_per_m3=400, moisture=0.8, oxygen_uptake_g_per_kg_h=1.0),
    LayerMaterial(bulk_density_kg_per_m3=900, moisture=0.85, oxygen_uptake_g_per_kg_h=2.0),
]


def runaway_number(material, depth_m, air_c):
    source = heat_production_w_per_m3(material, factor=math.exp(GROWTH_PER_C * (air_c - 20)))
    return GROWTH_PER_C * source * depth_m**2 / thermal_conductivity_w_per_m_k(material)


@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("share", [0.2, 0.6, 0.95])
def test_the_settled_temperature_solves_the_heat_equation(material, share):
    air_c, surface = 25.0, 10.0
    critical_mm = layer_heat(
        material, depth_mm=1, air_temperature_c=air_c, surface_w_per_m2_k=surface
    ).critical_depth_mm
    depth_m = share * critical_mm / 1000
    strength = runaway_number(material, depth_m, air_c)
    biot = surface * depth_m / thermal_conductivity_w_per_m_k(material)
    # theta = a (T - air), z from the ground; the cold start finds the lower branch.
    solution = solve_bvp(
        lambda _z, y: np.vstack((y[1], -strength * np.exp(y[0]))),
        lambda ground, face: np.array([ground[1], face[1] + biot * face[0]]),
        np.linspace(0, 1, 41),
        np.zeros((2, 41)),
        tol=1e-9,
        max_nodes=20_000,
    )
    assert solution.success
    ours = layer_heat(
        material, depth_mm=depth_m * 1000, air_temperature_c=air_c, surface_w_per_m2_k=surface
    )
    assert ours.peak_temperature_c == pytest.approx(
        air_c + solution.y[0, 0] / GROWTH_PER_C, abs=1e-3
    )


@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize(("share", "settles"), [(0.97, True), (1.03, False)])
def test_a_layer_settles_just_below_the_critical_depth_and_runs_away_just_above(
    material, share, settles
):
    # The heat equation itself, slice by slice, for a long time.
    air_c, surface, slices = 25.0, 10.0, 60
    heat = layer_heat(material, depth_mm=1, air_temperature_c=air_c, surface_w_per_m2_k=surface)
    depth_m = share * heat.critical_depth_mm / 1000
    step_m = depth_m / slices
    conductivity = thermal_conductivity_w_per_m_k(material)
    capacity = heat_capacity_j_per_m3_k(material)
    source = heat_production_w_per_m3(material, factor=math.exp(GROWTH_PER_C * (air_c - 20)))
    face = 1 / (step_m / 2 / conductivity + 1 / surface)

    def warming(_, rise):
        flow = np.empty(slices + 1)
        flow[0] = 0
        flow[1:-1] = conductivity * -np.diff(rise) / step_m
        flow[-1] = face * rise[-1]
        made = source * np.exp(GROWTH_PER_C * np.minimum(rise, 200))
        return (made - np.diff(flow) / step_m) / capacity

    hot = lambda _t, rise: rise[0] - 100  # noqa: E731 - an event of the solver, used once
    hot.terminal = True
    run = solve_ivp(warming, (0, 3e7), np.zeros(slices), method="LSODA", events=hot, rtol=1e-6)
    assert (run.t_events[0].size == 0) is settles
