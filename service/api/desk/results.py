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
from service.api.desk.shapes import ESTIMATE, FACTOR
from service.api.work.shapes import (
    AMOUNT,
    CHANCE,
    COUNT,
    FLAG,
    MAYBE_AMOUNT,
    MAYBE_COUNT,
    MAYBE_FLAG,
    MAYBE_NUMBER,
    MAYBE_TEXT,
    NUMBER,
    TEXT,
    map_of,
    maybe,
    one_of,
    several,
    whole,
)
from service.core.acceptance.kills import Kill
from service.destinations.estimating import NORTHERN_SEASONS
from service.usecases.compute.waits import DESTINATIONS

ESTIMATE_RESULT: Final = whole(
    {
        "dry_matter_kg": ESTIMATE,
        "mass_kg": ESTIMATE,
        "volume_m3": ESTIMATE,
        "nitrogen_kg": ESTIMATE,
        "carbon_to_nitrogen": ESTIMATE,
        "one_third_rule_broken": MAYBE_FLAG,
        "season": one_of(NORTHERN_SEASONS),
        "plausibility": one_of(Plausibility),
        "dry_matter_g_per_m2": AMOUNT,
        "factors": several(FACTOR),
    }
)

FRESHNESS_RESULT: Final = whole(
    {
        "amber_hours": AMOUNT,
        "red_hours": AMOUNT,
        "free_air_space": CHANCE,
        "airless_share": CHANCE,
        "airless_after_hours": AMOUNT,
        "limit": one_of(FreshnessLimit),
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

DRYING_RESULT: Final = whole(
    {
        "moisture": CHANCE,
        "goal_moisture": CHANCE,
        "hours": whole(_ENDS),
        "basis": one_of(DryingBasis),
        "rate_per_h": MAYBE_AMOUNT,
    }
)

_REGROWN: Final = whole({"dry_matter_g_per_m2": AMOUNT, "mass_kg": AMOUNT})

REGROWTH_RESULT: Final = whole(
    {
        "growth_potential": several(CHANCE),
        "low": _REGROWN,
        "likely": _REGROWN,
        "high": _REGROWN,
    },
    description="Growth potential by day; what has grown, spread by the nitrogen taken up.",
)

_MIX: Final = whole(
    {
        "mass_kg": AMOUNT,
        "moisture": CHANCE,
        "carbon_to_nitrogen": AMOUNT,
        "nitrogen_kg": AMOUNT,
        "volume_m3": AMOUNT,
        "bulk_density_kg_per_m3": AMOUNT,
    }
)
_RANGE: Final = whole({"min": AMOUNT, "max": AMOUNT})

MIX_RESULT: Final = whole(
    {
        "as_is": _MIX,
        "goals": whole({"quality": TEXT, "moisture": _RANGE, "carbon_to_nitrogen": _RANGE}),
        "recipe": maybe(
            whole(
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

LIQUID_FEED_RESULT: Final = whole(
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
        "cautions": several(one_of(FeedCaution)),
    }
)

BED_ROOM_RESULT: Final = whole(
    {
        "mass_kg": AMOUNT,
        "binding": one_of(("layer_depth", "yearly_mass", "yearly_nitrogen", "yearly_bed_limit")),
        "mass_kg_by_limit": map_of(AMOUNT),
        "depth_mm": AMOUNT,
        "depth_binds": one_of(DepthLimit),
        "layers": several(whole({"day_offset": COUNT, "depth_mm": AMOUNT, "mass_kg": AMOUNT})),
        "rest_days": COUNT,
        "browns": whole(
            {"material": TEXT, "volume_litres": AMOUNT, "mass_kg": AMOUNT, "bags": MAYBE_COUNT}
        ),
    }
)

LAYER_SAFETY_RESULT: Final = whole(
    {
        "safe": FLAG,
        "safe_depth_mm": AMOUNT,
        "binds": one_of(DepthLimit),
        "considered_mm": map_of(AMOUNT),
        "physics": whole(
            {"depth_mm": AMOUNT, "limit": one_of(PhysicalLimit), "temperature_c": NUMBER}
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

SOURED_BED_RESULT: Final = whole(
    {
        "steps": several(
            whole(
                {
                    "step": one_of(SourStep),
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
        "if_plants_twist": whole(
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

_USE: Final = whole(
    {
        "outcome": one_of(Outcome),
        "days_left": COUNT,
        "mowings_left": COUNT,
        "composting_days": COUNT,
        "because": MAYBE_TEXT,
        "rule": MAYBE_TEXT,
        "kind": MAYBE_TEXT,
        "sources": several(TEXT),
    }
)

_KEPT: Final = maybe(
    whole(
        {
            "sentence": TEXT,
            "mowings_left": MAYBE_COUNT,
            "because": TEXT,
            "kind": one_of(("label", "advice")),
            "sources": several(TEXT),
        },
        description=(
            "What keeps the clippings of the next mowing on the lawn that was treated; null where "
            "nothing on record does."
        ),
    )
)

TREATMENT_WAIT_RESULT: Final = whole(
    {
        "substances": several(
            whole({"written": TEXT, "name": MAYBE_TEXT, "cas": MAYBE_TEXT, "group": MAYBE_TEXT})
        ),
        "uses": whole(dict.fromkeys(DESTINATIONS, _USE)),
        "kept_on_lawn": _KEPT,
        "people": TEXT,
    },
    description="An ingredient whose name is null is not in the table, and so unknown.",
)

VEHICLE_ROOM_RESULT: Final = whole(
    {
        "mass_kg": AMOUNT,
        "volume_litres": AMOUNT,
        "bags": MAYBE_COUNT,
        "bag_litres": AMOUNT,
        "binding": one_of(("payload", "body_volume")),
    }
)

KILL_RESULT: Final = whole(
    {
        "met": FLAG,
        "met_by": MAYBE_TEXT,
        "shows": several(one_of(Kill)),
        "requirements": several(
            whole(
                {
                    "step": TEXT,
                    "temperature_c_min": NUMBER,
                    "hours_min": AMOUNT,
                    "turnings_min": COUNT,
                }
            )
        ),
        "shortfalls": several(
            whole({"step": TEXT, "hours_short": AMOUNT, "turnings_short": COUNT})
        ),
    },
    description="Any one of the requirements is enough; says a rule is met, not that all is dead. "
    "`shows` names what a standard that is met is about: pathogens of people, plant disease "
    "or weed seed. It says nothing of the others.",
)
