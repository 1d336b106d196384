"""The vectors are what the code says, and what estimator.md says, written down a second time."""

import json
import math

import pytest

from tests.vectors import ENDS, PATH, TOLERANCE, made

KEPT = json.loads(PATH.read_text())
ANSWERED = [case for case in KEPT["cases"] if "expected" in case]
Z = 1.2815515655446004


def by_the_page(scale, factors):
    """Return low, likely and high of a product as openapi/estimator.md tells it, and not more."""
    centre, spreads = math.log(scale), []
    for (low, likely, high), power in factors:
        below, above = math.log(likely / low) / Z, math.log(high / likely) / Z
        centre += power * math.log(likely)
        if power < 0:
            below, above = above, below
        if below or above:
            spreads.append((below, above))
    if len(spreads) == 1:
        below, above = spreads[0]
        return math.exp(centre - Z * below), math.exp(centre), math.exp(centre + Z * above)
    sums = [0.0] * 4
    for b, a in spreads:
        m1 = (a - b) / math.sqrt(2 * math.pi)
        m2 = (a**2 + b**2) / 2
        m3 = (a**3 - b**3) * math.sqrt(2 / math.pi)
        m4 = 3 * (a**4 + b**4) / 2
        k2 = m2 - m1**2
        for index, cumulant in enumerate(
            (
                m1,
                k2,
                m3 - 3 * m1 * m2 + 2 * m1**3,
                m4 - 4 * m1 * m3 + 6 * m1**2 * m2 - 3 * m1**4 - 3 * k2**2,
            )
        ):
            sums[index] += cumulant
    s = math.sqrt(sums[1])
    g, e = sums[2] / s**3, sums[3] / s**4

    def end(q):
        w = q + (q**2 - 1) * g / 6 + (q**3 - 3 * q) * e / 24 - (2 * q**3 - 5 * q) * g**2 / 36
        return math.exp(centre + sums[0] + s * w)

    return end(-Z), end(0), end(Z)


def test_the_committed_vectors_are_what_the_code_says():
    assert json.loads(json.dumps(made())) == KEPT, "write them again: python -m tests.vectors"


def test_there_are_vectors_of_every_kind():
    assert len(KEPT["cases"]) >= 40
    assert len({case["name"] for case in KEPT["cases"]}) == len(KEPT["cases"])
    refusals = {case["refusal"] for case in KEPT["cases"] if "refusal" in case}
    assert refusals == {
        "area_out_of_range",
        "height_out_of_range",
        "outside_validity",
        "rule_not_in_force",
    }


@pytest.mark.parametrize("case", ANSWERED, ids=lambda case: case["name"])
def test_whoever_follows_the_page_meets_the_vector(case):
    told = {name: tuple(ends[end] for end in ENDS) for name, ends in case["factors"].items()}
    low, likely, high = told["moisture"]
    dry = (1 - high, 1 - likely, 1 - low)
    sward, packed = told["sward_density_g_per_m2_mm"], told["bulk_density_kg_per_m3"]
    scale = case["input"]["area_m2"] * case["input"]["height_removed_mm"] / 1000
    products = {
        "dry_matter_kg": [(sward, 1)],
        "mass_kg": [(sward, 1), (dry, -1)],
        "volume_m3": [(sward, 1), (dry, -1), (packed, -1)],
        "nitrogen_kg": [(sward, 1), (told["nitrogen_fraction"], 1)],
    }
    for name, factors in products.items():
        expected = [case["expected"][name][end] for end in ENDS]
        assert by_the_page(scale, factors) == pytest.approx(expected, rel=TOLERANCE), name
    before_mm = case["input"].get("height_before_mm")
    third = None if before_mm is None else before_mm / 3 * (1 + 1e-9)
    broken = None if third is None else case["input"]["height_removed_mm"] > third
    assert case["expected"]["one_third_rule_broken"] is broken
