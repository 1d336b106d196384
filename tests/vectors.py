"""Cases for estimators other than this service's: `python -m tests.vectors` writes them anew.

Each holds what goes in, the factors the rules give, and what must come out, so that a client's
app can run them without the service. The test beside regenerates and compares.
"""

import json
from datetime import date
from itertools import product as every
from pathlib import Path

from service.core.errors import Refusal
from service.core.materials import GrassKind, Wetness
from service.rules.lookup import Rulebook
from service.usecases.compute.looked_up import LookedUp
from service.usecases.compute.lots import estimate

PATH = Path(__file__).parents[1] / "openapi" / "test-vectors.json"
TOLERANCE = 1e-6
DIGITS = 10
ENDS = ("low", "likely", "high")
RESULTS = ("dry_matter_kg", "mass_kg", "volume_m3", "nitrogen_kg", "carbon_to_nitrogen")
SPRING, SUMMER, AUTUMN, WINTER = (
    date(2026, 5, 24),
    date(2026, 7, 1),
    date(2026, 9, 1),
    date(2026, 12, 1),
)
USUAL = {"area_m2": 450.0, "height_removed_mm": 38.1, "height_before_mm": 114.3}
ABOUT = (
    "Each case has an input, the factors that the rules give for it (low, likely, high: the 10th, "
    "50th and 90th percentile), and either what is expected or the code of the refusal. The "
    "equations are in estimator.md. An estimator agrees if every expected number is met within "
    "the relative tolerance. Factors come from the rules named beside them; the rulebook's "
    "version says which rules these were. Only invented lawns are in here."
)


def inputs():
    """Yield name, day and arguments of each case."""
    for kind, season in every(GrassKind, (SPRING, SUMMER, AUTUMN, WINTER)):
        yield f"{kind.value} on {season}", season, {**USUAL, "grass_kind": kind}
    for wetness in Wetness:
        yield f"grass that is {wetness.value}", SPRING, {**USUAL, "wetness": wetness}
        cool = {"grass_kind": GrassKind.COOL_SEASON, "wetness": wetness}
        yield f"cool-season grass that is {wetness.value}", SPRING, {**USUAL, **cool}
    third = {"area_m2": 100.0, "height_before_mm": 75.0}
    yield "exactly one third", SPRING, {**third, "height_removed_mm": 25.0}
    yield "a hair over one third", SPRING, {**third, "height_removed_mm": 25.001}
    yield "a hair under one third", SPRING, {**third, "height_removed_mm": 24.999}
    yield (
        "one third of no whole number",
        SPRING,
        {**third, "height_before_mm": 100.0} | {"height_removed_mm": 100.0 / 3},
    )
    bare = {"area_m2": 1.0, "height_removed_mm": 1.0}
    yield "one square metre, one millimetre, nothing known", SPRING, bare
    yield "a height before that is not known", SPRING, {"area_m2": 450.0, "height_removed_mm": 38.1}
    yield "the smallest lawn", SPRING, {"area_m2": 0.1, "height_removed_mm": 0.1}
    yield "a lawn under a hand", SPRING, {"area_m2": 0.01, "height_removed_mm": 25.0}
    yield "the largest area", SPRING, {"area_m2": 1e7, "height_removed_mm": 25.0}
    yield (
        "the highest grass",
        SPRING,
        {
            "area_m2": 10.0,
            "height_removed_mm": 999.0,
            "height_before_mm": 1000.0,
        },
    )
    yield "an acre and an inch", SPRING, {"area_m2": 4046.8564224, "height_removed_mm": 25.4}
    for day in (date(2026, 2, 28), date(2026, 3, 1), date(2028, 2, 29), date(2026, 11, 30)):
        yield f"the edge of a season, {day}", day, {**USUAL, "grass_kind": GrassKind.COOL_SEASON}
    for day in (SPRING, WINTER):
        south = {"southern_hemisphere": True, "grass_kind": GrassKind.WARM_SEASON}
        yield f"south of the equator on {day}", day, {**USUAL, **south}
    yield from refused_inputs()


def refused_inputs():
    """Yield the cases that must be refused."""
    for area_m2 in (0.0, -1.0, 1e7 + 1):
        yield (
            f"an area of {area_m2:,.0f} m2",
            SPRING,
            {"area_m2": area_m2, "height_removed_mm": 25.0},
        )
    for height_removed_mm in (0.0, -25.0, 1000.0, 1000.1):
        yield (
            f"a height removed of {height_removed_mm:g} mm",
            SPRING,
            {
                "area_m2": 450.0,
                "height_removed_mm": height_removed_mm,
            },
        )
    for height_before_mm in (25.0, 24.0, 1000.1):
        yield (
            f"25 mm off grass of {height_before_mm:g} mm",
            SPRING,
            {
                "area_m2": 450.0,
                "height_removed_mm": 25.0,
                "height_before_mm": height_before_mm,
            },
        )
    yield "a day before the rules begin", date(1989, 12, 31), USUAL


def case_of(rulebook, name, day, arguments):
    """Return one case as it is written."""
    looked_up = LookedUp(rulebook, day=day, jurisdiction=None)
    said = {"name": name, "day": day.isoformat(), "input": arguments}
    try:
        found = estimate(looked_up, **arguments)
    except Refusal as refusal:
        return {**said, "refusal": refusal.code}
    rules = {rule["name"]: rule["case"] for rule in looked_up.why()["rules"]}
    return {
        **said,
        "season": found["season"],
        "rules": rules,
        "factors": {factor["name"]: ends(factor) for factor in found["factors"]},
        "expected": {
            **{result: ends(found[result]) for result in RESULTS},
            "one_third_rule_broken": found["one_third_rule_broken"],
            "dry_matter_g_per_m2": written(found["dry_matter_g_per_m2"]),
            "plausibility": found["plausibility"],
        },
    }


def ends(told):
    """Return the three numbers of an estimate."""
    return {end: written(told[end]) for end in ENDS}


def written(number):
    """Return a number with digits enough for the tolerance, and no more."""
    return float(f"{number:.{DIGITS}g}")


def made():
    """Return the whole file, as the code says it now."""
    rulebook = Rulebook.load()
    return {
        "about": ABOUT,
        "rulebook_version": rulebook.version,
        "relative_tolerance": TOLERANCE,
        "cases": [case_of(rulebook, *each) for each in inputs()],
    }


def main():
    """Write the file."""
    PATH.write_text(json.dumps(made(), indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
