"""Decay against litter-bag trials."""

import math

import pytest

from service.agronomy.compost.decay import (
    decay_rate_per_day,
    remaining_fraction,
)
from service.agronomy.layers.settling import settled_depth_mm
from service.core.quantities import rate_to_si
from service.rules.lookup import Rulebook
from tests.published.printed import Printed

DECAY = {
    dict(row.case)["grass_kind"]: row
    for row in Rulebook.load().rules["clipping_decay_per_day"].rows
}


def hamido(check, printed, rate):
    """Return the check that a kept rate gives the printed loss of 46 weeks."""
    return Printed(
        check=f"mass loss of {check} in 46 weeks [%]",
        source="hamido-2016",
        where="abstract",
        printed=printed,
        compute=lambda: 100 * (1 - remaining_fraction(rate_per_day=rate, days=46 * 7)),
    )


PRINTED = (
    hamido("tall fescue", "86.8", DECAY["cool_season"].low),
    hamido("zoysiagrass", "45.4", DECAY["warm_season"].low),
    hamido("bermudagrass", "61.7", DECAY["warm_season"].likely),
    hamido("centipedegrass", "73.7", DECAY["warm_season"].high),
    Printed(
        check="depth of loose grass, 1.7 lb/gal, after packing to 3.2, of 100 mm [mm]",
        source="bertrand-mst",
        where="table of materials: grass clippings loose and compacted; 53 by division",
        printed="53",
        compute=lambda: settled_depth_mm(
            depth_mm=100,
            density_before_kg_per_m3=rate_to_si(1.7, numerator="[lb_av]", denominator="[gal_us]"),
            density_after_kg_per_m3=rate_to_si(3.2, numerator="[lb_av]", denominator="[gal_us]"),
        ),
    ),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_decay_figure_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


def test_the_fastest_rate_is_that_of_carbon_lost_in_thatch():
    # [kopp-guillard-2004] 94 to 95 % of the carbon gone after 16 weeks.
    lost = 1 - remaining_fraction(rate_per_day=DECAY["cool_season"].high, days=16 * 7)
    assert 0.94 <= lost <= 0.95


def test_the_two_trials_differ_fourfold_so_the_interval_has_to():
    # One exponential cannot tell both: litter decays fast first and slowly later.
    short = decay_rate_per_day(lost_fraction=0.945, days=16 * 7)
    long = decay_rate_per_day(lost_fraction=0.868, days=46 * 7)
    assert 3.5 < short / long < 4.5
    assert DECAY["cool_season"].low <= long * 1.001
    assert DECAY["cool_season"].high >= short * 0.999


def test_the_temperature_ratio_spans_that_of_the_rothamsted_model():
    # [jenkinson-1990] 47.9 / (1 + exp(106 / (T + 18.3))).
    def rothamsted(temperature_c):
        return 47.9 / (1 + math.exp(106 / (temperature_c + 18.3)))

    ratio = Rulebook.load().rules["decay_ratio_per_10_c"].rows[-1]
    assert ratio.low < rothamsted(25) / rothamsted(15) < ratio.high
    assert ratio.low < rothamsted(20) / rothamsted(10) < ratio.high
