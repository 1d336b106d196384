"""Diffusion and uptake of oxygen against print and against the differential equation."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp, solve_ivp

from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen import (
    aerobic_depth_mm,
    hours_of_oxygen_in_pores,
)
from service.agronomy.layers.oxygen_supply import (
    AIR_OXYGEN_FRACTION,
    effective_diffusivity_m2_per_s,
    millington_quirk,
    oxygen_concentration_g_per_m3,
    oxygen_diffusivity_m2_per_s,
)
from service.agronomy.layers.oxygen_uptake import (
    uptake_temperature_factor,
    volumetric_uptake_g_per_m3_s,
)
from tests.published.printed import Printed

SETTLED = LayerMaterial(bulk_density_kg_per_m3=400, moisture=0.8, oxygen_uptake_g_per_kg_h=1.0)
WET = LayerMaterial(bulk_density_kg_per_m3=900, moisture=0.85, oxygen_uptake_g_per_kg_h=2.0)

PRINTED = (
    Printed(
        check="oxygen in air at 0 C [cm2/s]",
        source="ict-1929-diffusion",
        where="oxygen in air",
        printed="0.178",
        compute=lambda: oxygen_diffusivity_m2_per_s(0) * 1e4,
    ),
    Printed(
        check="oxygen in air at 20 C, the round figure [cm2/s]",
        source="cwmi-oxygen-air",
        where="10,800 times 0.0000197 cm2/s, rounded to a digit",
        printed="0.2",
        compute=lambda: oxygen_diffusivity_m2_per_s(20) * 1e4,
    ),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_diffusion_figure_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


@pytest.mark.parametrize(
    ("temperature_c", "in_water_cm2_per_s", "times"),
    [(20, 0.0000197, 10_800), (60, 0.0000482, 5_700)],
)
def test_our_oxygen_never_moves_faster_than_cornells_in_moist_air(
    temperature_c, in_water_cm2_per_s, times
):
    # [cwmi-oxygen-air] for saturated air with 15 % oxygen, where light water vapour
    # speeds it up. Dry air is the careful side, by less than a tenth.
    cornell_m2_per_s = in_water_cm2_per_s * times / 1e4
    ours = oxygen_diffusivity_m2_per_s(temperature_c)
    assert 0.90 * cornell_m2_per_s < ours < cornell_m2_per_s


def test_oxygen_in_air_agrees_with_kinetic_theory_to_four_percent():
    # Chapman and Enskog with the Lennard-Jones constants of Bird, Stewart and
    # Lightfoot (2002), table E.1: O2 3.433 A, 113 K; air 3.617 A, 97 K; the collision
    # integral of Neufeld (1972).
    for temperature_c in (0, 20, 40, 60):
        kelvin = temperature_c + 273.15
        reduced = kelvin / math.sqrt(113 * 97)
        integral = (
            1.06036 / reduced**0.15610
            + 0.19300 / math.exp(0.47635 * reduced)
            + 1.03587 / math.exp(1.52996 * reduced)
            + 1.76474 / math.exp(3.89411 * reduced)
        )
        cm2_per_s = (
            0.0018583
            * math.sqrt(kelvin**3 * (1 / 31.999 + 1 / 28.97))
            / (((3.433 + 3.617) / 2) ** 2 * integral)
        )
        assert oxygen_diffusivity_m2_per_s(temperature_c) * 1e4 == pytest.approx(
            cm2_per_s, rel=0.04
        )


def test_a_dry_layer_has_the_four_thirds_power_of_its_porosity():
    # The dry limit of Millington and Quirk, quoted as such in the soil literature.
    assert millington_quirk(air_filled_porosity=0.6, porosity=0.6) == pytest.approx(0.6 ** (4 / 3))


def test_uptake_while_composting_lies_in_haugs_range():
    # [haug-1993] from less than 1 to over 10 g per kg and hour.
    at_55_c = SETTLED.oxygen_uptake_g_per_kg_h * uptake_temperature_factor(55)
    assert 1 < at_55_c < 12


@pytest.mark.parametrize("material", [SETTLED, WET])
@pytest.mark.parametrize("floor", [0.0, 0.05, 0.10])
def test_a_layer_of_the_aerobic_depth_has_just_the_floor_at_its_ground(material, floor):
    temperature_c = 25.0
    depth_m = aerobic_depth_mm(material, temperature_c=temperature_c, oxygen_floor=floor) / 1000
    uptake = volumetric_uptake_g_per_m3_s(material, temperature_c=temperature_c)
    diffusivity = effective_diffusivity_m2_per_s(material, temperature_c=temperature_c)
    outside = oxygen_concentration_g_per_m3(
        oxygen_fraction=AIR_OXYGEN_FRACTION, temperature_c=temperature_c
    )
    # In units of the depth and the outside concentration, so that the solver's
    # tolerance means something.
    strength = uptake * depth_m**2 / (diffusivity * outside)
    solution = solve_bvp(
        lambda z, y: np.vstack((y[1], np.full_like(z, strength))),
        lambda top, bottom: np.array([top[0] - 1, bottom[1]]),
        np.linspace(0, 1, 21),
        np.ones((2, 21)),
        tol=1e-9,
    )
    assert solution.success
    assert solution.y[0, -1] == pytest.approx(floor / AIR_OXYGEN_FRACTION, abs=1e-6)


def test_in_a_layer_twice_too_deep_air_ends_at_the_depth_we_say():
    # Method of lines: 120 slices, oxygen cannot fall below nothing, run to the end.
    temperature_c = 25.0
    reach_m = aerobic_depth_mm(WET, temperature_c=temperature_c, oxygen_floor=0) / 1000
    depth_m, slices = 2 * reach_m, 120
    step_m = depth_m / slices
    uptake = volumetric_uptake_g_per_m3_s(WET, temperature_c=temperature_c)
    outside = oxygen_concentration_g_per_m3(
        oxygen_fraction=AIR_OXYGEN_FRACTION, temperature_c=temperature_c
    )
    diffusivity = effective_diffusivity_m2_per_s(WET, temperature_c=temperature_c)

    def change(_, oxygen):
        padded = np.concatenate(([2 * outside - oxygen[0]], oxygen, [oxygen[-1]]))
        flow = diffusivity * np.diff(padded, 2) / step_m**2
        # Uptake stops within a hundredth of a percent of nothing left.
        return flow - uptake * np.clip(oxygen / (1e-4 * outside), 0, 1)

    end = solve_ivp(
        change,
        (0, 20 * outside / uptake),
        np.zeros(slices),
        method="LSODA",
        lband=1,
        uband=1,
        rtol=1e-5,
        atol=1e-4,
    ).y[:, -1]
    middles_m = (np.arange(slices) + 0.5) * step_m
    # With nothing left at the reach, C(z) = C0 (1 - z / reach)^2 above it and 0 below.
    ours = np.clip(1 - middles_m / reach_m, 0, None) ** 2
    assert np.max(np.abs(end / outside - ours)) < 0.005


def test_air_shut_in_is_used_up_when_we_say():
    temperature_c = 30.0
    rate = volumetric_uptake_g_per_m3_s(SETTLED, temperature_c=temperature_c)
    stored = SETTLED.air_filled_porosity * oxygen_concentration_g_per_m3(
        oxygen_fraction=AIR_OXYGEN_FRACTION, temperature_c=temperature_c
    )
    empty = solve_ivp(
        lambda _t, _y: [-rate],
        (0, 1e6),
        [stored],
        events=[lambda _t, y: y[0]],
        max_step=600,
    )
    hours = empty.t_events[0][0] / 3600
    assert hours_of_oxygen_in_pores(SETTLED, temperature_c=temperature_c) == pytest.approx(hours)
