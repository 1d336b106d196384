"""What tickets teach of a mass holds for the volume and the nitrogen of that mass."""

import pytest

from service.agronomy.learning.weigh_tickets import Ticket
from service.core.jobs import LotEstimate
from service.core.materials import Wetness
from service.destinations.estimating import estimate_lot
from service.destinations.learning import learned_estimate
from service.rules.here import RulesHere
from tests.builders import DAY, JURISDICTION, RULES, a_job

AMOUNTS = ("dry_matter_kg", "volume_m3", "nitrogen_kg")


def unlearned(wetness: Wetness) -> LotEstimate:
    return estimate_lot(
        a_job(wetness=wetness), latitude=51, here=RulesHere(RULES, DAY, JURISDICTION)
    )


def learned(estimate: LotEstimate, tickets: list[float]) -> LotEstimate:
    return learned_estimate(
        estimate,
        [Ticket(group="g", lawn="l", ratio=ratio) for ratio in tickets],
        group="g",
        lawn="l",
        here=RulesHere(RULES, DAY, JURISDICTION),
    )


def width(estimate: LotEstimate, name: str) -> float:
    amount = getattr(estimate, name)
    return amount.high / amount.low


@pytest.mark.parametrize("wetness", Wetness)
def test_a_mass_that_is_known_well_takes_no_room_that_no_grass_takes(wetness: Wetness) -> None:
    before = unlearned(wetness)
    factors = {factor.name: factor.value for factor in before.factors}
    density = factors["bulk_density_kg_per_m3"]
    after = learned(before, [0.9] * 40)
    assert after.volume_m3.high <= after.mass_kg.high / density.low
    assert after.volume_m3.low >= after.mass_kg.low / density.high
    assert after.mass_kg.high / after.volume_m3.high > density.low


@pytest.mark.parametrize("wetness", Wetness)
def test_the_more_is_learned_of_the_mass_the_surer_is_what_is_in_it(wetness: Wetness) -> None:
    told = [learned(unlearned(wetness), [0.9] * tickets) for tickets in (0, 1, 5, 40)]
    for name in AMOUNTS:
        widths = [width(one, name) for one in told]
        assert widths == sorted(widths, reverse=True)
        assert widths[-1] < 0.7 * widths[0]


def test_tickets_that_teach_nothing_leave_all_that_was_as_sure_as_it_was() -> None:
    before = unlearned(Wetness.RAINED_ON)
    after = learned(before, [1e4])
    for name in AMOUNTS:
        assert width(after, name) == pytest.approx(width(before, name), rel=1e-3)


def test_what_is_in_a_mass_is_corrected_by_the_ratio_of_the_mass() -> None:
    before = unlearned(Wetness.DEWY)
    after = learned(before, [0.7] * 12)
    ratio = after.mass_kg.likely / before.mass_kg.likely
    for name in AMOUNTS:
        assert getattr(after, name).likely == pytest.approx(ratio * getattr(before, name).likely)
