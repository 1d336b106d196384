"""The shape of the answer to a crew that stands before a lawn."""

from __future__ import annotations

from typing import Final

from service.api.work.days.routing_shape import ADVICE, VERDICT_MEMBERS
from service.api.work.shapes import (
    AMOUNT,
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

ANSWERS: Final = ("leave_on_lawn", "collect", "collect_to_hold")

PRE_MOW_CHECK: Final = whole(
    {
        "lawn_id": ID,
        "job_id": MAYBE_ID,
        "day": {"type": "string", "format": "date"},
        "answer": one_of(ANSWERS),
        **ADVICE,
        "status": one_of(LotStatus),
        "look_by": MOMENT,
        "keeps_until": MOMENT,
        "mass_kg": RANGE,
        "volume_l": RANGE,
        "one_third_rule_broken": {"type": ["boolean", "null"]},
        "keep_off": {
            "anyOf": [
                whole({"code": TEXT, "until": MOMENT, "product": TEXT, "sentence": TEXT}),
                {"type": "null"},
            ],
            "description": "Until when nobody may be on the lawn; null where nothing is recorded.",
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
        "Whether a crew may bag on this lawn, with one reason. `job_id` is the job planned for "
        "the lawn that day, whose words stand where the crew says nothing. Of a treatment, "
        "`facts` name product, day, and what is left of its wait. `willing` are the nearest beds "
        "and sites that take the clippings, with the room they have."
    ),
)
