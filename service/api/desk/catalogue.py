"""Every computation that can be asked over HTTP: its address, question, result and example."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from service.api.desk import results
from service.api.desk.beds import BedRoomQuestion, LayerSafetyQuestion, SouredBedQuestion
from service.api.desk.lots import (
    DryingQuestion,
    EstimateQuestion,
    FreshnessQuestion,
    RegrowthQuestion,
)
from service.api.desk.mixes import LiquidFeedQuestion, MixQuestion
from service.api.desk.questions import Question
from service.api.desk.waits import KillQuestion, TreatmentWaitQuestion, VehicleRoomQuestion
from service.api.work.shapes import Shape

EXAMPLE_DAY: Final = "2026-05-24"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """How one computation stands in the API."""

    path: str
    summary: str
    question: type[Question]
    result: Shape
    example: Mapping[str, Any]

    @property
    def title(self) -> str:
        """Its name in the contract."""
        return "".join(part.capitalize() for part in self.path.split("-"))


COMPUTATIONS: Final = (
    Asking(
        path="estimate",
        summary="Compute what a mowing yields: dry matter, mass, volume, nitrogen, C:N.",
        question=EstimateQuestion,
        result=results.ESTIMATE_RESULT,
        example={
            "area": {"value": 450, "unit": "m2"},
            "height_before": {"value": 4.5, "unit": "[in_i]"},
            "height_removed": {"value": 1.5, "unit": "[in_i]"},
            "grass_kind": "cool_season",
            "wetness": "dewy",
            "day": EXAMPLE_DAY,
            "jurisdiction": "GB-ENG",
        },
    ),
    Asking(
        path="freshness",
        summary="Compute how long a heap, a body or a bag of clippings keeps.",
        question=FreshnessQuestion,
        result=results.FRESHNESS_RESULT,
        example={
            "depth_mm": 600,
            "temperature_c": 22,
            "wetness": "dewy",
            "open_faces": 1,
            "day": EXAMPLE_DAY,
        },
    ),
    Asking(
        path="drying",
        summary="Compute how long a thin layer lies until it is dry enough for a bed.",
        question=DryingQuestion,
        result=results.DRYING_RESULT,
        example={
            "depth_mm": 20,
            "wetness": "dry",
            "temperature_c": 24,
            "relative_humidity": 0.5,
            "solar_w_per_m2": 600,
            "day": EXAMPLE_DAY,
        },
    ),
    Asking(
        path="regrowth",
        summary="Compute what the next mowing of a lawn will bring from the weather since the cut.",
        question=RegrowthQuestion,
        result=results.REGROWTH_RESULT,
        example={
            "area_m2": 450,
            "daily_mean_temperatures_c": [14, 15.5, 17, 18, 16, 15, 19],
            "grass_kind": "cool_season",
            "wetness": "dry",
            "day": EXAMPLE_DAY,
        },
    ),
    Asking(
        path="mix",
        summary="Compute a compost mix, and the least browns that bring it into its ranges.",
        question=MixQuestion,
        result=results.MIX_RESULT,
        example={
            "materials": [{"material": "grass_clippings", "mass_kg": 400, "moisture": 0.82}],
            "browns": ["tree_leaves", "straw"],
            "day": EXAMPLE_DAY,
        },
    ),
    Asking(
        path="liquid-feed",
        summary="Compute a batch of liquid feed from surplus clippings that were never treated.",
        question=LiquidFeedQuestion,
        result=results.LIQUID_FEED_RESULT,
        example={"clippings_kg": 20, "vessel_litres": 200, "wetness": "dry", "day": EXAMPLE_DAY},
    ),
    Asking(
        path="bed-room",
        summary="Compute the mass a bed takes now, the limit that binds and how it is laid.",
        question=BedRoomQuestion,
        result=results.BED_ROOM_RESULT,
        example={
            "area_m2": 30,
            "wetness": "dry",
            "laid": [{"age_days": 40, "mass_kg_per_m2": 2.5, "nitrogen_kg_per_ha": 190}],
            "day": EXAMPLE_DAY,
            "jurisdiction": "GB-ENG",
        },
    ),
    Asking(
        path="layer-safety",
        summary="Compute whether a layer stays aired and cool, and the deepest that would.",
        question=LayerSafetyQuestion,
        result=results.LAYER_SAFETY_RESULT,
        example={
            "depth": {"value": 0.5, "unit": "[in_i]"},
            "air_temperature_c": 22,
            "wetness": "dry",
            "day": EXAMPLE_DAY,
        },
    ),
    Asking(
        path="soured-bed",
        summary="Compute what a bed that turned sour needs: steps, materials, days.",
        question=SouredBedQuestion,
        result=results.SOURED_BED_RESULT,
        example={"area_m2": 12, "depth_mm": 60, "day": EXAMPLE_DAY},
    ),
    Asking(
        path="treatment-wait",
        summary="Compute what a treatment of the lawn still asks for, by use of the clippings.",
        question=TreatmentWaitQuestion,
        result=results.TREATMENT_WAIT_RESULT,
        example={
            "product": "Lawn weed control",
            "active_ingredients": ["2,4-D", "clopyralid"],
            "days_since": 20,
            "mowings_since": 3,
            "day": EXAMPLE_DAY,
            "jurisdiction": "GB-ENG",
        },
    ),
    Asking(
        path="vehicle-room",
        summary="Compute the room left in a vehicle, at the wet end.",
        question=VehicleRoomQuestion,
        result=results.VEHICLE_ROOM_RESULT,
        example={
            "body_volume_m3": 4.5,
            "payload_kg": 900,
            "aboard_mass_kg": 350,
            "aboard_volume_m3": 1.2,
            "wetness": "rained_on",
            "day": EXAMPLE_DAY,
        },
    ),
    Asking(
        path="kill",
        summary="Compute whether a composting process was hot for long enough by a standard.",
        question=KillQuestion,
        result=results.KILL_RESULT,
        example={
            "standard": "pas_100",
            "process": "windrow",
            "readings": [{"hour": 24 * day, "temperature_c": 66 + day % 2} for day in range(9)],
            "turnings": 3,
            "day": EXAMPLE_DAY,
            "jurisdiction": "GB-ENG",
        },
    ),
)
