"""What must hold whatever the numbers are: more is more, inverses invert, units are homogeneous."""

import datetime

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.agronomy.clippings.mass import ClippingsEstimate, estimate_clippings
from service.agronomy.compost.mix import (
    Ingredient,
    Part,
    mix_of,
)
from service.agronomy.estimates.uncertainty import product, total
from service.agronomy.layers.bed_layer import (
    area_covered_m2,
    browns_for,
    depth_mm,
    layers_for,
    mass_at_depth_kg,
)
from service.agronomy.layers.bed_room import LedgerEntry, LedgerSums, bed_room, ledger_sums
from service.agronomy.learning.estimator import Ticket, VarianceShares, learn
from service.agronomy.treatments.waits import (
    LabelWait,
    Outcome,
    TreatmentFact,
    TreatmentVerdict,
    verdict_for,
)
from service.core.estimates import Estimate
from service.rules.lookup import Rulebook
from service.rules.treatments import DESTINATIONS

DAY = datetime.date(2026, 6, 1)
RULES = Rulebook.load()
ORDER = (Outcome.CLEAR, Outcome.WAIT, Outcome.UNKNOWN, Outcome.NEVER)
SHARES = VarianceShares(firm=0.35, group=0.25, lawn=0.25, load=0.15)


@st.composite
def intervals(
    draw: st.DrawFn, *, least: float = 0.01, most: float = 100.0, unit: str = "kg"
) -> Estimate:
    likely = draw(st.floats(least, most))
    low = likely * draw(st.floats(0.3, 1.0))
    high = likely * draw(st.floats(1.0, 3.0))
    return Estimate(low=low, likely=likely, high=high, unit=unit, basis="drawn", sources=("a",))


@st.composite
def fractions(draw: st.DrawFn, *, least: float, most: float) -> Estimate:
    low, likely, high = sorted(draw(st.tuples(*[st.floats(least, most)] * 3)))
    return Estimate(low=low, likely=likely, high=high, unit="1", basis="drawn", sources=("a",))


@st.composite
def ingredients(draw: st.DrawFn) -> Ingredient:
    nitrogen = draw(st.floats(0.001, 0.05))
    return Ingredient(
        name="drawn",
        moisture=draw(st.floats(0.05, 0.9)),
        nitrogen_fraction=nitrogen,
        carbon_to_nitrogen=draw(st.floats(0.3, 0.55)) / nitrogen,
        bulk_density_kg_per_m3=draw(st.floats(30, 900)),
    )


areas = st.floats(1.0, 1e5)
masses = st.floats(0.1, 1e5)
densities = st.floats(50.0, 1200.0)
depths = st.floats(1.0, 200.0)


def mown(area_m2: float, removed_mm: float, moisture: Estimate) -> ClippingsEstimate:
    return estimate_clippings(
        area_m2=area_m2,
        height_removed_mm=removed_mm,
        height_before_mm=None,
        sward_density=RULES.value_on(
            "sward_density_g_per_m2_mm", DAY, grass_kind="unknown", season="summer"
        ).estimate,
        moisture=moisture,
        bulk_density=RULES.value_on("bulk_density_kg_per_m3", DAY, packing="loose").estimate,
        nitrogen_fraction=RULES.value_on("clipping_nitrogen_fraction_of_dry_matter", DAY).estimate,
        carbon_to_nitrogen=RULES.value_on("clipping_carbon_to_nitrogen", DAY).estimate,
    )


@given(areas, st.floats(1, 100), fractions(least=0.5, most=0.8), st.floats(0.01, 0.15))
def test_wetter_clippings_are_heavier_and_hold_no_more_dry_matter(
    area_m2: float, removed_mm: float, moisture: Estimate, wetter: float
) -> None:
    wet = Estimate(
        low=moisture.low + wetter,
        likely=moisture.likely + wetter,
        high=moisture.high + wetter,
        unit="1",
        basis="wetter",
        sources=(),
    )
    dry_cut, wet_cut = mown(area_m2, removed_mm, moisture), mown(area_m2, removed_mm, wet)
    assert wet_cut.mass_kg.likely > dry_cut.mass_kg.likely
    assert wet_cut.mass_kg.high > dry_cut.mass_kg.high
    assert wet_cut.dry_matter_kg == dry_cut.dry_matter_kg


@given(areas, st.floats(1, 100), fractions(least=0.5, most=0.9), st.floats(0.1, 10))
def test_twice_the_lawn_is_twice_of_everything_but_the_ratio(
    area_m2: float, removed_mm: float, moisture: Estimate, times: float
) -> None:
    one, many = mown(area_m2, removed_mm, moisture), mown(area_m2 * times, removed_mm, moisture)
    for name in ("dry_matter_kg", "mass_kg", "volume_m3", "nitrogen_kg"):
        for end in ("low", "likely", "high"):
            single = getattr(getattr(one, name), end)
            assert getattr(getattr(many, name), end) == pytest.approx(times * single)
    assert many.carbon_to_nitrogen == one.carbon_to_nitrogen


@given(areas, st.floats(1, 100), fractions(least=0.5, most=0.9))
def test_dry_matter_never_outweighs_the_fresh_mass(
    area_m2: float, removed_mm: float, moisture: Estimate
) -> None:
    cut = mown(area_m2, removed_mm, moisture)
    assert cut.dry_matter_kg.likely < cut.mass_kg.likely
    assert cut.nitrogen_kg.likely < cut.dry_matter_kg.likely


@given(st.lists(intervals(), min_size=1, max_size=5), st.floats(0.1, 10))
def test_a_product_scales_with_its_scale(factors: list[Estimate], scale: float) -> None:
    powers = [(factor, 1.0) for factor in factors]
    once = product(powers, unit="kg", basis="drawn")
    scaled = product(powers, unit="kg", basis="drawn", scale=scale)
    for end in ("low", "likely", "high"):
        assert getattr(scaled, end) == pytest.approx(scale * getattr(once, end))


@given(st.lists(intervals(), min_size=1, max_size=5))
def test_the_inverse_of_a_product_has_the_inverse_ends(factors: list[Estimate]) -> None:
    there = product([(factor, 1.0) for factor in factors], unit="kg", basis="drawn")
    back = product([(factor, -1.0) for factor in factors], unit="1/kg", basis="drawn")
    assert back.low == pytest.approx(1 / there.high)
    assert back.likely == pytest.approx(1 / there.likely)
    assert back.high == pytest.approx(1 / there.low)


@given(st.lists(intervals(), min_size=2, max_size=6), st.floats(0, 1))
def test_a_sum_lies_within_its_parts_erring_wholly_together(
    parts: list[Estimate], correlation: float
) -> None:
    summed = total(parts, unit="kg", basis="drawn", correlation=correlation)
    together = total(parts, unit="kg", basis="drawn", correlation=1.0)
    assert together.low * (1 - 1e-9) <= summed.low <= summed.likely <= summed.high
    assert summed.high <= together.high * (1 + 1e-9)


@given(masses, areas, densities)
def test_depth_and_mass_of_a_layer_invert_each_other(
    mass_kg: float, area_m2: float, density: float
) -> None:
    deep_mm = depth_mm(mass_kg=mass_kg, area_m2=area_m2, density_kg_per_m3=density)
    assert mass_at_depth_kg(
        depth_mm=deep_mm, area_m2=area_m2, density_kg_per_m3=density
    ) == pytest.approx(mass_kg)


@given(masses, depths, densities)
def test_the_area_a_mass_covers_makes_that_depth(
    mass_kg: float, deep_mm: float, density: float
) -> None:
    area_m2 = area_covered_m2(mass_kg=mass_kg, depth_mm=deep_mm, density_kg_per_m3=density)
    assert depth_mm(mass_kg=mass_kg, area_m2=area_m2, density_kg_per_m3=density) == pytest.approx(
        deep_mm
    )


@given(masses, areas, densities, st.floats(2, 50), st.integers(0, 30))
def test_layers_hold_the_whole_mass_and_none_is_too_deep(
    mass_kg: float, area_m2: float, density: float, limit_mm: float, rest_days: int
) -> None:
    assume(mass_kg / area_m2 / density * 1000 / limit_mm < 1000)
    layers = layers_for(
        mass_kg=mass_kg,
        area_m2=area_m2,
        density_kg_per_m3=density,
        layer_depth_mm_max=limit_mm,
        rest_days=rest_days,
    )
    assert sum(layer.mass_kg for layer in layers) == pytest.approx(mass_kg)
    assert all(layer.depth_mm <= limit_mm * (1 + 1e-6) for layer in layers)


@given(
    areas,
    densities,
    st.floats(0, 0.03),
    st.tuples(st.floats(0, 8), st.floats(0, 400)),
    st.tuples(st.floats(0, 8), st.floats(0, 400)),
)
def test_more_on_the_ledger_never_leaves_more_room(
    area_m2: float,
    density: float,
    nitrogen: float,
    first: tuple[float, float],
    second: tuple[float, float],
) -> None:
    def room(mass: float, laid_nitrogen: float) -> float:
        return bed_room(
            area_m2=area_m2,
            density_kg_per_m3=density,
            nitrogen_kg_per_kg=nitrogen,
            layer_depth_mm_max=12.7,
            yearly_mass_kg_per_m2_max=5,
            yearly_nitrogen_kg_per_ha_max=250,
            laid=LedgerSums(mass_kg_per_m2=mass, nitrogen_kg_per_ha=laid_nitrogen, entries=1),
        ).mass_kg

    less, more = room(*first), room(first[0] + second[0], first[1] + second[1])
    assert 0 <= more <= less


@given(
    st.lists(
        st.builds(
            LedgerEntry,
            age_days=st.floats(0, 800),
            mass_kg_per_m2=st.floats(0, 10),
            nitrogen_kg_per_ha=st.floats(0, 500),
        ),
        max_size=20,
    ),
    st.floats(1, 400),
    st.floats(0, 400),
)
def test_a_longer_window_never_forgets(
    entries: list[LedgerEntry], window_days: float, longer: float
) -> None:
    short = ledger_sums(entries, window_days=window_days)
    long = ledger_sums(entries, window_days=window_days + longer)
    assert long.mass_kg_per_m2 >= short.mass_kg_per_m2
    assert long.nitrogen_kg_per_ha >= short.nitrogen_kg_per_ha


@given(st.floats(0, 100), st.floats(0, 5), st.floats(20, 500), st.floats(20, 200))
def test_the_bags_hold_the_browns_and_one_fewer_would_not(
    volume_m3: float, ratio: float, density: float, bag_litres: float
) -> None:
    browns = browns_for(
        clippings_volume_m3=volume_m3,
        browns_per_green=ratio,
        browns_density_kg_per_m3=density,
        bag_litres=bag_litres,
    )
    assert browns.bags is not None
    assert browns.bags * bag_litres >= browns.volume_litres - 1e-6
    assert (browns.bags - 1) * bag_litres < browns.volume_litres or browns.bags == 0


@given(st.lists(st.tuples(ingredients(), st.floats(0.1, 1000)), min_size=1, max_size=6))
def test_a_mix_lies_between_its_materials(parts: list[tuple[Ingredient, float]]) -> None:
    mix = mix_of([Part(ingredient=material, mass_kg=mass) for material, mass in parts])
    wet = [material.moisture for material, _ in parts]
    ratio = [material.carbon_to_nitrogen for material, _ in parts]
    assert min(wet) - 1e-9 <= mix.moisture <= max(wet) + 1e-9
    assert min(ratio) * (1 - 1e-9) <= mix.carbon_to_nitrogen <= max(ratio) * (1 + 1e-9)


substances = st.sampled_from([*RULES.treatments.substances, "something unheard of"])
labels = st.none() | st.builds(
    LabelWait,
    days=st.none() | st.integers(0, 400),
    mowings=st.none() | st.integers(0, 8),
    never=st.booleans(),
)


def after(
    names: list[str], days: int, mowings: int, label: LabelWait | None, destination: str
) -> TreatmentVerdict:
    fact = TreatmentFact(
        product="drawn",
        substances=tuple(names),
        waits=[row for name in names for row in RULES.treatments.waits_on(name, DAY)],
        days_since=days,
        mowings_since=mowings,
        label=label,
    )
    return verdict_for(destination, [fact])


@given(
    st.lists(substances, max_size=3),
    st.tuples(st.integers(0, 800), st.integers(0, 12)),
    st.tuples(st.integers(0, 400), st.integers(0, 12)),
    labels,
    st.sampled_from(DESTINATIONS),
)
def test_a_longer_wait_is_never_less_allowed(
    names: list[str],
    since: tuple[int, int],
    more: tuple[int, int],
    label: LabelWait | None,
    destination: str,
) -> None:
    sooner = after(names, since[0], since[1], label, destination)
    later = after(names, since[0] + more[0], since[1] + more[1], label, destination)
    assert ORDER.index(later.outcome) <= ORDER.index(sooner.outcome)
    assert later.days_left <= sooner.days_left
    assert later.mowings_left <= sooner.mowings_left


@given(
    st.lists(substances, min_size=1, max_size=3),
    substances,
    st.integers(0, 800),
    st.integers(0, 12),
    st.sampled_from(DESTINATIONS),
)
def test_one_more_substance_never_makes_clippings_cleaner(
    names: list[str], another: str, days: int, mowings: int, destination: str
) -> None:
    without = after(names, days, mowings, None, destination)
    with_it = after([*names, another], days, mowings, None, destination)
    assert ORDER.index(with_it.outcome) >= ORDER.index(without.outcome)


tickets = st.builds(
    Ticket,
    group=st.sampled_from(["g0", "g1", "g2"]),
    lawn=st.sampled_from(["l0", "l1", "l2"]),
    ratio=st.floats(0.2, 5.0),
)


@given(intervals(least=10, most=1000), st.lists(tickets, max_size=25), st.randoms())
def test_learning_keeps_the_estimate_in_order_whatever_the_tickets_and_their_order(
    estimate: Estimate, found: list[Ticket], shuffler: st.DataObject
) -> None:
    assume(estimate.high > estimate.low * 1.01)
    learned = learn(estimate, found, group="g0", lawn="l0", shares=SHARES)
    again = found[:]
    shuffler.shuffle(again)  # type: ignore[attr-defined]  # hypothesis hands over a Random
    assert learned == learn(estimate, again, group="g0", lawn="l0", shares=SHARES)
    assert 0 < learned.estimate.low <= learned.estimate.likely <= learned.estimate.high
    assert learned.tickets_set_aside <= learned.tickets_firm == len(found)


BENCH = Estimate(low=50, likely=100, high=200, unit="kg", basis="drawn", sources=())
# Tickets as gates write them: within a factor of four of the estimate.
likely_tickets = st.builds(
    Ticket,
    group=st.sampled_from(("g0", "g1")),
    lawn=st.sampled_from(("l0", "l1", "l2")),
    ratio=st.floats(0.25, 4.0),
)


@given(st.lists(likely_tickets, max_size=25))
def test_one_more_ticket_that_agrees_with_the_estimate_never_widens_it(
    found: list[Ticket],
) -> None:
    before = learn(BENCH, found, group="g0", lawn="l0", shares=SHARES)
    agreeing = Ticket(group="g0", lawn="l0", ratio=before.ratio)
    after = learn(BENCH, [*found, agreeing], group="g0", lawn="l0", shares=SHARES)
    assert (
        after.estimate.high / after.estimate.low
        <= before.estimate.high / before.estimate.low * 1.000001
    )


@given(st.lists(likely_tickets, max_size=25), st.one_of(st.floats(1e-6, 0.049), st.floats(21, 1e6)))
def test_a_ticket_beyond_a_factor_of_twenty_teaches_nothing_at_all(
    found: list[Ticket], ratio: float
) -> None:
    before = learn(BENCH, found, group="g0", lawn="l0", shares=SHARES)
    wrong = Ticket(group="g0", lawn="l0", ratio=ratio)
    after = learn(BENCH, [*found, wrong], group="g0", lawn="l0", shares=SHARES)
    assert (after.estimate.low, after.estimate.likely, after.estimate.high) == (
        before.estimate.low,
        before.estimate.likely,
        before.estimate.high,
    )
    assert after.tickets_set_aside == before.tickets_set_aside + 1


@given(
    st.lists(st.floats(0.7, 1.4), min_size=5, max_size=20),
    st.floats(0.4, 2.5),
    st.sampled_from((0.1, 10.0)),
)
def test_a_ticket_ten_times_off_moves_the_estimate_of_a_lawn_with_five_by_less_than_five_percent(
    scatter: list[float], level: float, times: float
) -> None:
    found = [Ticket(group="g0", lawn="l0", ratio=level * one) for one in scatter]
    before = learn(BENCH, found, group="g0", lawn="l0", shares=SHARES)
    wrong = Ticket(group="g0", lawn="l0", ratio=times * before.ratio)
    after = learn(BENCH, [*found, wrong], group="g0", lawn="l0", shares=SHARES)
    assert after.ratio / before.ratio == pytest.approx(1, abs=0.05)
