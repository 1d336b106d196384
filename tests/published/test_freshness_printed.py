"""Souring against what composting texts print about air and wet grass."""

import pytest

from service.agronomy.heat.freshness import airless_share
from service.agronomy.heat.layer_safety import physical_layer_depth
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen import aerobic_depth_mm
from service.core.measures.quantities import to_si
from service.rules.lookup import Rulebook
from tests.published.printed import Printed

RULES = Rulebook.load()


def row(name, **case):
    return next(
        found
        for found in RULES.rules[name].rows
        if dict(found.case) == case and found.jurisdiction is None
    )


PRINTED = (
    Printed(
        check="oxygen a layer should keep, acceptable [%]",
        source="cooperband-2002",
        where="Table 1, oxygen",
        printed="5",
        compute=lambda: 100 * row("oxygen_fraction_min").value,
    ),
    Printed(
        check="start of the thermophilic stage [C]",
        source="cwmi-physics",
        where="thermophilic stage, 40-60 C",
        printed="40",
        compute=lambda: row("layer_temperature_c_max").value,
    ),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_air_figure_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


def clippings(packing_density, moisture, uptake):
    return LayerMaterial(
        bulk_density_kg_per_m3=packing_density,
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=uptake,
    )


def test_a_foot_of_wet_packed_grass_is_mostly_airless_as_every_text_warns():
    # Matted wet grass "goes anaerobic" in heaps (extension services, all of them).
    wet = clippings(900, 0.85, row("oxygen_uptake_g_per_kg_h", material="clippings").likely)
    share = airless_share(wet, depth_mm=to_si(12, "[in_i]") * 1000, temperature_c=25, open_faces=1)
    assert share > 0.9


def test_half_an_inch_of_ordinary_clippings_stays_aired_and_cool():
    # Practice has half an inch (12.7 mm) fresh; physics must not contradict what
    # gardeners have found to work.
    uptake = row("oxygen_uptake_g_per_kg_h", material="clippings")
    for density, moisture in ((204, 0.76), (383, 0.80), (640, 0.82)):
        depth = physical_layer_depth(
            clippings(density, moisture, uptake.high),
            air_temperature_c=25,
            surface_w_per_m2_k=row("surface_w_per_m2_k").low,
            oxygen_floor=row("oxygen_fraction_min").value,
            greatest_temperature_c=row("layer_temperature_c_max").value,
        )
        assert depth.depth_mm > 12.7


def test_half_an_inch_of_soaked_matted_clippings_on_a_hot_day_does_not():
    uptake = row("oxygen_uptake_g_per_kg_h", material="clippings")
    depth = physical_layer_depth(
        clippings(900, 0.86, uptake.high),
        air_temperature_c=32,
        surface_w_per_m2_k=row("surface_w_per_m2_k").low,
        oxygen_floor=row("oxygen_fraction_min").value,
        greatest_temperature_c=row("layer_temperature_c_max").value,
    )
    assert depth.depth_mm < 12.7


def test_compost_heaps_of_leaves_are_aired_much_deeper_than_heaps_of_grass():
    # [cwmi-rapid-substrate] grass uses oxygen much faster than leaves: reduce the pile.
    grass = clippings(383, 0.80, row("oxygen_uptake_g_per_kg_h", material="clippings").likely)
    leaves = clippings(200, 0.38, row("oxygen_uptake_g_per_kg_h", material="browns").likely)
    reach = [aerobic_depth_mm(m, temperature_c=40, oxygen_floor=0.05) for m in (grass, leaves)]
    assert reach[1] > 2 * reach[0]
