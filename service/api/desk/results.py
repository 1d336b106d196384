"""The shape of each computation's result: what callers may rely on."""

from __future__ import annotations

from typing import Final

from service.agronomy.compost.feed import FeedCaution
from service.agronomy.drying.time import DryingBasis
from service.agronomy.estimates.plausibility import Plausibility
from service.agronomy.heat.freshness import FreshnessLimit
from service.agronomy.heat.layer_safety import DepthLimit, PhysicalLimit
from service.agronomy.layers.soured_bed import SourStep
from service.agronomy.treatments.waits import Outcome
from service.api.desk.shapes import (
    AMOUNT,
    COUNT,
    ESTIMATE,
    FACTOR,
    FLAG,
    MAYBE_AMOUNT,
    MAYBE_COUNT,
    MAYBE_FLAG,
    MAYBE_NUMBER,
    MAYBE_TEXT,
    NUMBER,
    SHARE,
    TEXT,
    all_of,
    list_of,
    map_of,
    maybe,
    words,
)
from service.core.kills import Kill
from service.destinations.estimating import NORTHERN_SEASONS
from service.usecases.compute.waits import DESTINATIONS

ESTIMATE_RESULT: Final = all_of(
    {
        "dry_matter_kg": ESTIMATE,
        "mass_kg": ESTIMATE,
        "volume_m3": ESTIMATE,
        "nitrogen_kg": ESTIMATE,
        "carbon_to_nitrogen": ESTIMATE,
        "one_third_rule_broken": MAYBE_FLAG,
        "season": words(NORTHERN_SEASONS),
        "plausibility": words(Plausibility),
        "dry_matter_g_per_m2": AMOUNT,
        "factors": list_of(FACTOR),
    }
)

FRESHNESS_RESULT: Final = all_of(
    {
        "amber_hours": AMOUNT,
        "red_hours": AMOUNT,
        "free_air_space": SHARE,
        "airless_share": SHARE,
        "airless_after_hours": AMOUNT,
        "limit": words(FreshnessLimit),
        "hours_to_40_c": MAYBE_AMOUNT,
        "hours_to_60_c": MAYBE_AMOUNT,
        "basis": TEXT,
    },
    description=(
        "Hours are counted from the cut. Of heat and souring the first turns it; hours that are "
        "null do not come before the longest that anything is held."
    ),
)

_ENDS: Final = {"low": AMOUNT, "likely": AMOUNT, "high": AMOUNT}

DRYING_RESULT: Final = all_of(
    {
        "moisture": SHARE,
        "goal_moisture": SHARE,
        "hours": all_of(_ENDS),
        "basis": words(DryingBasis),
        "rate_per_h": MAYBE_AMOUNT,
    }
)

_REGROWN: Final = all_of({"dry_matter_g_per_m2": AMOUNT, "mass_kg": AMOUNT})

REGROWTH_RESULT: Final = all_of(
    {
        "growth_potential": list_of(SHARE),
        "low": _REGROWN,
        "likely": _REGROWN,
        "high": _REGROWN,
    },
    description="Growth potential by day; what has grown, spread by the nitrogen taken up.",
)

_MIX: Final = all_of(
    {
        "mass_kg": AMOUNT,
        "moisture": SHARE,
        "carbon_to_nitrogen": AMOUNT,
        "nitrogen_kg": AMOUNT,
        "volume_m3": AMOUNT,
        "bulk_density_kg_per_m3": AMOUNT,
    }
)
_RANGE: Final = all_of({"min": AMOUNT, "max": AMOUNT})

MIX_RESULT: Final = all_of(
    {
        "as_is": _MIX,
        "goals": all_of({"quality": TEXT, "moisture": _RANGE, "carbon_to_nitrogen": _RANGE}),
        "recipe": maybe(
            all_of(
                {
                    "add_kg": map_of(AMOUNT),
                    "add_litres": map_of(AMOUNT),
                    "water_kg": AMOUNT,
                    "mix": _MIX,
                }
            )
        ),
    },
    description="The recipe is the least mass of browns that meets the goals; null without any.",
)

LIQUID_FEED_RESULT: Final = all_of(
    {
        "clippings_kg": AMOUNT,
        "left_over_kg": AMOUNT,
        "water_litres": AMOUNT,
        "steep_days": COUNT,
        "stirs_in_all": COUNT,
        "diluted_litres": AMOUNT,
        "area_served_m2": AMOUNT,
        "nutrients_g": map_of(ESTIMATE),
        "nitrogen_g_per_m2": ESTIMATE,
        "cautions": list_of(words(FeedCaution)),
    }
)

BED_ROOM_RESULT: Final = all_of(
    {
        "mass_kg": AMOUNT,
        "binding": words(("layer_depth", "yearly_mass", "yearly_nitrogen", "yearly_bed_limit")),
        "mass_kg_by_limit": map_of(AMOUNT),
        "depth_mm": AMOUNT,
        "depth_binds": words(DepthLimit),
        "layers": list_of(all_of({"day_offset": COUNT, "depth_mm": AMOUNT, "mass_kg": AMOUNT})),
        "rest_days": COUNT,
        "browns": all_of(
            {"material": TEXT, "volume_litres": AMOUNT, "mass_kg": AMOUNT, "bags": MAYBE_COUNT}
        ),
    }
)

LAYER_SAFETY_RESULT: Final = all_of(
    {
        "safe": FLAG,
        "safe_depth_mm": AMOUNT,
        "binds": words(DepthLimit),
        "considered_mm": map_of(AMOUNT),
        "physics": all_of(
            {"depth_mm": AMOUNT, "limit": words(PhysicalLimit), "temperature_c": NUMBER}
        ),
        "peak_temperature_c": MAYBE_NUMBER,
        "runs_away": FLAG,
        "hours_to_40_c": MAYBE_AMOUNT,
        "hours_to_60_c": MAYBE_AMOUNT,
        "amber_hours": AMOUNT,
        "red_hours": AMOUNT,
        "basis": TEXT,
    },
    description=(
        "Depths and the peak are of grass at its wet, dense and hungry end, with all the air it "
        "wants: limits. A peak that is null has no end. Hours are of likely grass, as in "
        "/computations/freshness; null where they do not come before the longest that anything "
        "is held, for want of air say."
    ),
)

SOURED_BED_RESULT: Final = all_of(
    {
        "steps": list_of(
            all_of(
                {
                    "step": words(SourStep),
                    "day_offset": COUNT,
                    "amount": MAYBE_NUMBER,
                    "unit": MAYBE_TEXT,
                }
            )
        ),
        "browns_litres": AMOUNT,
        "browns_kg": AMOUNT,
        "surplus_kg": AMOUNT,
        "free_again_day": COUNT,
        "if_plants_twist": all_of(
            {
                "test_pots": COUNT,
                "control_pots": COUNT,
                "seeds": COUNT,
                "material_litres": AMOUNT,
                "potting_mix_litres": AMOUNT,
                "look_first_day": COUNT,
                "look_last_day": COUNT,
            }
        ),
    }
)

_USE: Final = all_of(
    {
        "outcome": words(Outcome),
        "days_left": COUNT,
        "mowings_left": COUNT,
        "composting_days": COUNT,
        "because": MAYBE_TEXT,
        "rule": MAYBE_TEXT,
        "kind": MAYBE_TEXT,
        "sources": list_of(TEXT),
    }
)

_KEPT: Final = maybe(
    all_of(
        {
            "sentence": TEXT,
            "mowings_left": MAYBE_COUNT,
            "because": TEXT,
            "kind": words(("label", "advice")),
            "sources": list_of(TEXT),
        },
        description=(
            "What keeps the clippings of the next mowing on the lawn that was treated; null where "
            "nothing on record does."
        ),
    )
)

TREATMENT_WAIT_RESULT: Final = all_of(
    {
        "substances": list_of(
            all_of({"written": TEXT, "name": MAYBE_TEXT, "cas": MAYBE_TEXT, "group": MAYBE_TEXT})
        ),
        "uses": all_of(dict.fromkeys(DESTINATIONS, _USE)),
        "kept_on_lawn": _KEPT,
        "people": TEXT,
    },
    description="An ingredient whose name is null is not in the table, and so unknown.",
)

VEHICLE_ROOM_RESULT: Final = all_of(
    {
        "mass_kg": AMOUNT,
        "volume_litres": AMOUNT,
        "bags": MAYBE_COUNT,
        "bag_litres": AMOUNT,
        "binding": words(("payload", "body_volume")),
        "kept_back_kg": {
            **AMOUNT,
            "description": "Taken off the payload while nothing was weighed. A day's plan and "
            "`GET /vehicles/{id}/today` keep none back: they count lots at the high end.",
        },
    }
)

KILL_RESULT: Final = all_of(
    {
        "met": FLAG,
        "met_by": MAYBE_TEXT,
        "shows": list_of(words(Kill)),
        "requirements": list_of(
            all_of(
                {
                    "step": TEXT,
                    "temperature_c_min": NUMBER,
                    "hours_min": AMOUNT,
                    "turnings_min": COUNT,
                }
            )
        ),
        "shortfalls": list_of(
            all_of({"step": TEXT, "hours_short": AMOUNT, "turnings_short": COUNT})
        ),
    },
    description="Any one of the requirements is enough; says a rule is met, not that all is dead. "
    "`shows` names what a standard that is met is about: pathogens of people, plant disease "
    "or weed seed. It says nothing of the others.",
)
