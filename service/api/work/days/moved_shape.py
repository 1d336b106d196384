"""The shape of what moved between two plans of a day, and of a day that is only supposed."""

from __future__ import annotations

from typing import Final

from service.api.work.days.routing_shape import ROUTING
from service.api.work.derived import shape_of
from service.api.work.shapes import (
    CENTS,
    DAY,
    ID,
    NUMBER,
    TEXT,
    several,
    whole,
)
from service.usecases.telling.told.moved import ChangesTold, MovedTold

_IN_THE_COST: Final = (
    "cost_cents counts what moving crews and burdening beds is held to be worth, `changes` and "
    "`burden` of a routing's cost_cents, which nobody pays."
)

CHANGES: Final = shape_of(
    ChangesTold, description=f"The lots whose way changed, and why. {_IN_THE_COST}"
)

_COMPARED: Final = whole({"before": NUMBER, "after": NUMBER, "difference": NUMBER})

WHAT_IF: Final = whole(
    {
        "day": DAY,
        "depot_id": ID,
        "standing": {
            "anyOf": [
                whole(
                    {
                        "day_plan_id": ID,
                        "revision": {"type": "integer"},
                        "cost_cents": CENTS,
                        "sentence": TEXT,
                    }
                ),
                {"type": "null"},
            ]
        },
        "cost_cents": _COMPARED,
        "held_kg": _COMPARED,
        "unplaced_high_kg": _COMPARED,
        "left_behind_high_kg": _COMPARED,
        "moved": several(shape_of(MovedTold)),
        "routing": {"anyOf": [ROUTING, {"type": "null"}]},
    },
    description=(
        "The supposed day beside the day as it is, both planned whole now; `standing` is the plan "
        "that stands, which may cost more, or null. The supposed `routing` is told only "
        f"where it is asked for, else null. {_IN_THE_COST} Other "
        "vehicles take over what lost ones have not done and have aboard, as where a vehicle is on "
        "record as out; `left_behind_high_kg` is what none can carry: it is in no cost, and in "
        "`unplaced_high_kg`."
    ),
)
