import math

import pytest

from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.layers.bed_layer import browns_for, depth_mm, layers_for
from service.agronomy.layers.bed_room import (
    LedgerEntry,
    LedgerSums,
    bed_room,
    ledger_sums,
    nitrogen_kg_per_ha,
)

EMPTY = LedgerSums(mass_kg_per_m2=0, nitrogen_kg_per_ha=0, entries=0)


def room(laid: LedgerSums = EMPTY, bed_limit: float | None = None) -> tuple[str, float]:
    answer = bed_room(
        area_m2=20,
        density_kg_per_m3=300,
        nitrogen_kg_per_kg=0.008,
        layer_depth_mm_max=12.7,
        yearly_mass_kg_per_m2_max=5,
        yearly_nitrogen_kg_per_ha_max=250,
        laid=laid,
        bed_limit_kg_per_m2_year=bed_limit,
    )
    return answer.binding, answer.mass_kg


def test_an_empty_bed_is_bound_by_nitrogen_before_depth() -> None:
    # 250 kg N/ha at 8 kg N a fresh tonne is 3.1 kg/m2; 12.7 mm at 300 kg/m3 is 3.8 kg/m2.
    binding, mass_kg = room()
    assert binding == "yearly_nitrogen"
    assert mass_kg == pytest.approx(3.125 * 20)


def test_a_bed_that_had_its_year_takes_nothing() -> None:
    laid = LedgerSums(mass_kg_per_m2=5.5, nitrogen_kg_per_ha=0, entries=3)
    assert room(laid) == ("yearly_mass", 0)


def test_half_a_kilogram_of_nitrogen_on_twenty_square_metres_is_the_years_limit() -> None:
    assert nitrogen_kg_per_ha(nitrogen_kg=0.5, area_m2=20) == 250


def test_the_clients_own_limit_binds_when_it_is_smallest() -> None:
    assert room(bed_limit=1.0) == ("yearly_bed_limit", 20)


def test_an_entry_of_a_year_ago_still_counts_and_an_older_one_does_not() -> None:
    entries = [
        LedgerEntry(age_days=days, mass_kg_per_m2=1, nitrogen_kg_per_ha=10)
        for days in (0, 365, 366)
    ]
    assert ledger_sums(entries) == LedgerSums(mass_kg_per_m2=2, nitrogen_kg_per_ha=20, entries=2)


def test_an_entry_of_tomorrow_is_refused() -> None:
    with pytest.raises(OutsideValidity):
        ledger_sums([LedgerEntry(age_days=-1, mass_kg_per_m2=1, nitrogen_kg_per_ha=1)])


@pytest.mark.parametrize("area_m2", [0.0, -1.0, math.nan, math.inf])
def test_a_bed_without_area_has_no_depth(area_m2: float) -> None:
    with pytest.raises(OutsideValidity):
        depth_mm(mass_kg=1, area_m2=area_m2, density_kg_per_m3=300)


def test_layers_are_even_and_a_rest_apart() -> None:
    layers = layers_for(
        mass_kg=100, area_m2=20, density_kg_per_m3=250, layer_depth_mm_max=12.7, rest_days=7
    )
    assert [layer.day_offset for layer in layers] == [0, 7]
    assert [layer.depth_mm for layer in layers] == pytest.approx([10, 10])
    assert sum(layer.mass_kg for layer in layers) == pytest.approx(100)


def test_nothing_to_lay_needs_no_layer() -> None:
    assert not layers_for(
        mass_kg=0, area_m2=20, density_kg_per_m3=250, layer_depth_mm_max=12.7, rest_days=7
    )


def test_browns_come_in_whole_bags() -> None:
    browns = browns_for(
        clippings_volume_m3=0.25,
        browns_per_green=2,
        browns_density_kg_per_m3=100,
        bag_litres=60,
    )
    assert (browns.volume_litres, browns.mass_kg, browns.bags) == (500, 50, 9)


def test_bags_are_counted_only_when_a_size_is_given() -> None:
    browns = browns_for(clippings_volume_m3=0.25, browns_per_green=2, browns_density_kg_per_m3=100)
    assert browns.bags is None
