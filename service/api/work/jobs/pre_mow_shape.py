"""The shape of the answer to a crew that stands before a lawn."""

from __future__ import annotations

from typing import Final

from service.api.work.days.routing_shape import ADVICE, VERDICT_MEMBERS
from service.api.work.derived import shape_of
from service.api.work.shapes import (
    AMOUNT,
    DAY,
    ID,
    MAYBE_ID,
    MEMBERS,
    MOMENT,
    RANGE,
    TEXT,
    one_of,
    several,
    whole,
)
from service.core.materials import LotStatus
from service.usecases.telling.told.before_mowing import LotPlan, SaidTold

ANSWERS: Final = ("leave_on_lawn", "collect", "collect_to_hold")

_PLAN: Final = shape_of(
    LotPlan,
    description=(
        "What the newest plan does with this lot, as the day's routing tells it: `says` is "
        "`tipped_by_plan` for each of `tips` (then `mixed_by_plan` where other lots make that "
        "load count as worse than this one, and `chosen_by_hand` or `chosen_against_advice` "
        "where somebody chose its place), `stays_by_plan` with its reason, "
        "`no_place_by_plan`, `no_plan_yet`, `no_job_planned`, `not_in_the_plan`, or "
        "`plan_not_for_this` where the "
        "grass that is asked about is not the grass it was made for: then `is_current` is false "
        "and no tip is told. `aboard` lies in that body now; "
        "`tipped_before`: the plan tips it before it mows this lawn. `mixing` is what bagging on "
        "top of the rest makes of it, the worst status wins: `spoils_what_is_aboard`, "
        "`spoiled_by_what_is_aboard`, or `mixes_by_plan` where the plan means to; null if nothing "
        "is made worse. `recalled_is_aboard`, whatever the plan means to: the answer is to leave "
        "it, or to tip first."
    ),
)

PRE_MOW_CHECK: Final = whole(
    {
        "lawn_id": ID,
        "job_id": MAYBE_ID,
        "day": DAY,
        "answer": one_of(ANSWERS),
        **ADVICE,
        "without_plan": {
            "anyOf": [whole({"answer": one_of(ANSWERS), **ADVICE}), {"type": "null"}],
            "description": "What would hold if the plan did not leave this grass on its lawn, "
            "for want of room or time, or tip it with worse; null where the answer is that of the "
            "lawn alone.",
        },
        "what_to_do": shape_of(
            SaidTold,
            description=(
                "The answer in one sentence, to be shown first. Of what does not count as clean, "
                "by itself or by what the plan mixes it with, it says its status, and for whom "
                "alone it may be bagged where that is known: `bag_it`, `bag_only_for`, "
                "`bag_it_as`, `bag_apart` (of what is aboard), `hold_it`, `hold_it_as`, "
                "`leave_it`, `leave_it_as`."
            ),
        ),
        "status": one_of(LotStatus),
        "look_by": MOMENT,
        "keeps_until": MOMENT,
        "mass_kg": RANGE,
        "volume_l": RANGE,
        "one_third_rule_broken": {"type": ["boolean", "null"]},
        "plan": _PLAN,
        "keep_off": {
            "anyOf": [
                whole({"code": TEXT, "until": MOMENT, "product": TEXT, "sentence": TEXT}),
                {"type": "null"},
            ],
            "description": "Until when nobody may be on the lawn; null where nothing is recorded.",
        },
        "mowing_hours": {
            "anyOf": [
                whole({"code": TEXT, "between": TEXT, "day": TEXT, "sentence": TEXT}),
                {"type": "null"},
            ],
            "description": (
                "That mowing would begin outside the hours recorded of the lawn; null within them, "
                "and where none are."
            ),
        },
        "undecided": several(
            whole(
                {
                    "field": TEXT,
                    "if": TEXT,
                    "answer": one_of(ANSWERS),
                    "code": TEXT,
                    "sentence": TEXT,
                    "facts": MEMBERS,
                },
                description=(
                    "What nobody has said and would change the answer: send `field` as `if` when "
                    "it is so."
                ),
            )
        ),
        "willing": several(
            whole(
                {
                    **VERDICT_MEMBERS,
                    "distance_m": AMOUNT,
                    "drive_minutes": AMOUNT,
                    "last_load_at": MOMENT,
                }
            )
        ),
        "rulebook_version": TEXT,
    },
    description=(
        "Whether a crew may bag on this lawn, with one reason: the plan's, where that leaves the "
        "grass on the lawn or tips it with worse (`mixed_by_plan`). `job_id` is the job planned "
        "for the lawn that day, whose words stand where the crew says nothing. Of a treatment, "
        "`facts` name product, day, and what is left of its wait. `willing` are the nearest beds "
        "and sites that take the clippings, with the room they have."
    ),
)
