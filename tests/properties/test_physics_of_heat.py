"""What must hold for the warmth, the depth and the freshness of every layer."""

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.agronomy.heat.freshness import (
    FreshnessLimit,
    SouringPace,
    airless_share,
    freshness_clock,
)
from service.agronomy.heat.layer_heat import critical_depth_mm, layer_heat
from service.agronomy.heat.layer_safety import (
    DepthLimit,
    physical_layer_depth,
    safe_layer_depth_mm,
)
from service.agronomy.layers.material import LayerMaterial, greatest_density_kg_per_m3
from service.agronomy.layers.oxygen import aerobic_depth_mm
from service.agronomy.layers.oxygen_uptake import BREATHING_POWER
from tests.properties.layers import layers

PACE = SouringPace(
    amber_hours=6, red_hours=24, reference_c=25, ratio_per_10_c=2, uptake_g_per_kg_h=1
)
STEP_HOURS = 1 / 6
CAP_HOURS = 48.0
STILL_AIR = 10.0

air_temperatures = st.floats(2, 38)
depths_mm = st.floats(5, 2000)
more = st.floats(1.05, 3)


@given(material=layers(), air_c=air_temperatures, depth_mm=st.floats(1, 300), factor=more)
def test_a_thicker_layer_is_never_cooler(material, air_c, depth_mm, factor):
    thin, thick = (
        layer_heat(material, depth_mm=depth, air_temperature_c=air_c, surface_w_per_m2_k=STILL_AIR)
        for depth in (depth_mm, depth_mm * factor)
    )
    assert thin.critical_depth_mm == thick.critical_depth_mm
    if thin.runs_away:
        assert thick.runs_away
    elif not thick.runs_away:
        assert air_c <= thin.peak_temperature_c <= thick.peak_temperature_c + 1e-9


@settings(max_examples=40)  # each example solves the layer a hundred times
@given(material=layers(), air_c=air_temperatures, rise=st.floats(0.5, 5))
def test_a_hotter_day_never_lets_a_layer_lie_thicker(material, air_c, rise):
    def depth(temperature_c):
        return critical_depth_mm(
            material, air_temperature_c=temperature_c, surface_w_per_m2_k=STILL_AIR
        )

    def safe(temperature_c):
        return physical_layer_depth(
            material,
            air_temperature_c=temperature_c,
            surface_w_per_m2_k=STILL_AIR,
            oxygen_floor=0.05,
            greatest_temperature_c=45,
        ).depth_mm

    assert depth(air_c + rise) <= depth(air_c)
    assert safe(air_c + rise) <= safe(air_c) * (1 + 1e-6)


@settings(max_examples=40)  # each example solves the layer a hundred times
@given(material=layers(), air_c=st.floats(2, 29))
def test_the_physical_depth_is_aired_and_cool_and_a_tenth_more_is_not(material, air_c):
    found = physical_layer_depth(
        material,
        air_temperature_c=air_c,
        surface_w_per_m2_k=STILL_AIR,
        oxygen_floor=0.05,
        greatest_temperature_c=40,
    )

    limit_c = max(min(40, air_c + 10), air_c + 5)

    def is_safe(depth_mm):
        heat = layer_heat(
            material, depth_mm=depth_mm, air_temperature_c=air_c, surface_w_per_m2_k=STILL_AIR
        )
        if heat.peak_temperature_c is None or heat.peak_temperature_c > limit_c + 1e-6:
            return False
        return depth_mm <= aerobic_depth_mm(
            material, temperature_c=heat.peak_temperature_c, oxygen_floor=0.05
        ) * (1 + 1e-6)

    if found.depth_mm > 0:
        assert is_safe(max(1.0, found.depth_mm))
    assume(found.depth_mm < 9000)
    assert not is_safe(max(1.0, found.depth_mm) * 1.1) or found.depth_mm == 0


@given(
    practice=st.floats(0, 100),
    ledger=st.none() | st.floats(0, 200),
    physics=st.none() | st.floats(0, 200),
)
def test_physics_can_only_tighten_and_the_binding_limit_is_the_smallest(practice, ledger, physics):
    without = safe_layer_depth_mm(practice_mm=practice, ledger_mm=ledger)
    found = safe_layer_depth_mm(practice_mm=practice, ledger_mm=ledger, physics_mm=physics)
    assert found.depth_mm <= without.depth_mm <= practice
    assert found.depth_mm == min(depth for _, depth in found.considered)
    assert dict(found.considered)[found.binds] == found.depth_mm
    if physics is None or physics >= without.depth_mm:
        assert found.depth_mm == without.depth_mm
        assert found.binds is not DepthLimit.PHYSICS


def clock(material, depth_mm, air_c, faces=1):
    return freshness_clock(
        material,
        depth_mm=depth_mm,
        temperature_c=air_c,
        air_temperature_c=air_c,
        surface_w_per_m2_k=STILL_AIR,
        open_faces=faces,
        pace=PACE,
        cap_hours=CAP_HOURS,
    )


@given(
    material=layers(),
    depth_mm=depths_mm,
    air_c=st.floats(2, 36),
    rise=st.floats(0.5, 8),
    faces=st.integers(0, 2),
)
@settings(max_examples=15, deadline=None)
def test_hotter_turns_sooner(material, depth_mm, air_c, rise, faces):
    cool, hot = (clock(material, depth_mm, at, faces) for at in (air_c, air_c + rise))
    # Air reaches a little less far into a warmer heap: by less than a step of the course.
    assert hot.red_hours <= cool.red_hours + STEP_HOURS
    assert hot.amber_hours <= cool.amber_hours + STEP_HOURS
    assert hot.amber_hours <= hot.red_hours <= CAP_HOURS


@given(
    pair=st.tuples(*[st.floats(30, 300)] * 2, *[st.floats(0.68, 0.93)] * 2),
    uptake=st.floats(0.3, 4),
    depth_mm=depths_mm,
    air_c=st.floats(2, 36),
    faces=st.integers(0, 2),
)
@settings(max_examples=60, deadline=None)
def test_wetter_or_more_packed_never_keeps_longer(pair, uptake, depth_mm, air_c, faces):
    def leaves(dry, moisture):
        # The same leaves: water is on them and in them, and makes them breathe.
        assume(dry / (1 - moisture) < 0.98 * greatest_density_kg_per_m3(moisture))
        return LayerMaterial(
            bulk_density_kg_per_m3=dry / (1 - moisture),
            moisture=moisture,
            oxygen_uptake_g_per_kg_h=uptake * (moisture / 0.8) ** BREATHING_POWER,
        )

    first, second = (
        clock(leaves(dry, moisture), depth_mm, air_c, faces)
        for dry, moisture in zip(sorted(pair[:2]), sorted(pair[2:]), strict=True)
    )
    # Looser pockets are a grid: between two of them there is less than a step.
    assert second.red_hours <= first.red_hours + STEP_HOURS
    assert second.amber_hours <= first.amber_hours + STEP_HOURS
    assert second.free_air_space <= first.free_air_space + 1e-12


@given(material=layers(), depth_mm=depths_mm, air_c=air_temperatures, faces=st.integers(0, 2))
@settings(max_examples=15, deadline=None)
def test_red_is_never_after_sixty_degrees_nor_amber_after_forty(material, depth_mm, air_c, faces):
    found = clock(material, depth_mm, air_c, faces)
    assert found.amber_hours <= found.red_hours
    if found.hours_to_hot is not None:
        assert found.red_hours <= found.hours_to_hot
        assert found.hours_to_warm <= found.hours_to_hot
    if found.hours_to_warm is not None:
        assert found.amber_hours <= found.hours_to_warm


@given(material=layers(), air_c=st.floats(2, 29))
@settings(max_examples=15, deadline=None)
def test_a_mat_as_thin_as_is_safe_never_turns_while_it_lies(material, air_c):
    safe = physical_layer_depth(
        material,
        air_temperature_c=air_c,
        surface_w_per_m2_k=STILL_AIR,
        oxygen_floor=0.05,
        greatest_temperature_c=40,
    )
    assume(safe.depth_mm >= 1)
    found = clock(material, min(safe.depth_mm, 10_000), air_c)
    assert found.limit is FreshnessLimit.CAP
    assert found.hours_to_warm is None


@given(material=layers(), depth_mm=depths_mm)
def test_a_closed_bag_is_airless_and_every_open_face_helps(material, depth_mm):
    shares = [
        airless_share(material, depth_mm=depth_mm, temperature_c=25, open_faces=faces)
        for faces in (0, 1, 2)
    ]
    assert shares[0] == 1
    assert shares == sorted(shares, reverse=True)
    assert shares[2] >= 0
