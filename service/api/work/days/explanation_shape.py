"""The shape of a drop's explanation: why it goes there, and what would change it."""

from __future__ import annotations

from typing import Final

from service.api.work.shapes import (
    AMOUNT,
    CENTS,
    FAIRNESS,
    ID,
    MAYBE_TEXT,
    NUMBER,
    TEXT,
    Shape,
    one_of,
    several,
    whole,
)
from service.core.places import DestinationKind
from service.core.plans import RuleClass

NAMED: Final[dict[str, Shape]] = {
    "destination_kind": one_of(DestinationKind),
    "destination_id": ID,
    "name": TEXT,
}
MAYBE_CLASS: Final[Shape] = {"anyOf": [one_of(RuleClass), {"type": "null"}]}

_WAYS: Final = several(
    whole(
        {
            "kind": one_of(("open_until", "more_room", "fee_below", "accepts")),
            **NAMED,
            "open_until": {"type": ["string", "null"], "format": "date-time"},
            "more_room_high_kg": {"type": ["integer", "null"], "minimum": 1},
            "fee_below_cents": {"type": ["integer", "null"], "minimum": 0},
            "fee_basis": MAYBE_TEXT,
            "code": MAYBE_TEXT,
            "rule_class": MAYBE_CLASS,
            "saving_cents": {"type": "integer", "minimum": 1},
            "sentence": TEXT,
        }
    )
)
_MEANING: Final = (
    "Single changes of one destination after which the vehicle would do otherwise and its "
    "day would cost so much less, all other vehicles staying; the smallest that do, by "
    "solving again. That its crew was told of the plan counts 2.00. A last load at open_until; "
    "more_room_high_kg of room, at the high end of the estimates; a fee below fee_below_cents, a "
    "tenth of today's at least; or a yes to what code refuses now."
)
WHAT_WOULD_CHANGE: Final = {**_WAYS, "description": _MEANING}
WHAT_WOULD_CHANGE_IF_ASKED: Final = {
    "anyOf": [_WAYS, {"type": "null"}],
    "description": (
        f"{_MEANING} Null unless the routing is asked for with `what_would_change=true`; of one "
        "job, ask `/jobs/{id}/what-would-change`."
    ),
}

EXPLANATION: Final = whole(
    {
        "room_left_high_kg": AMOUNT,
        "scarcity_cents_per_t": NUMBER,
        "runner_up": whole(
            {
                "destinations": several(whole(NAMED)),
                "extra_cents": {"type": ["integer", "null"]},
            },
            description=(
                "Who would get this load instead, and what the vehicle's day would cost more, all "
                "other vehicles staying. No destination is named where the load would be tipped "
                "at the same place at another time, or only together with other lots. A tip that "
                "the plan before did not have counts 2.00 more. extra_cents is null where nothing "
                "was found for up to 50.00 more, or where the day had too many tips to look for "
                "all."
            ),
        ),
        "others": several(
            whole({**NAMED, "code": TEXT, "sentence": TEXT, "rule_class": MAYBE_CLASS})
        ),
        "what_would_change": WHAT_WOULD_CHANGE_IF_ASKED,
        "fairness": {
            "anyOf": [
                whole(
                    {"sentence": TEXT, **FAIRNESS, "burden_cents": CENTS},
                    description=(
                        "What the bed had lately, the depot's limit and price, and what the plan "
                        "counts more for this load because of it. Nobody pays that."
                    ),
                ),
                {"type": "null"},
            ]
        },
        "spared_beds": {
            **several(
                whole(
                    {
                        **NAMED,
                        "code": one_of(("fairness_limit", "fairness_price")),
                        "saving_cents": {"type": "integer", "minimum": 1},
                        "sentence": TEXT,
                        **FAIRNESS,
                    }
                )
            ),
            "description": (
                "Beds where this load would cost saving_cents less, at the same point of the "
                "vehicle's way (driving, stop and fee), if the depot did not wish to be fair to "
                "beds: the limit keeps it away, or the price makes it dearer. The cheapest three."
            ),
        },
    },
    older_lack=("fairness", "spared_beds"),
    description="Why the load goes there; null for what is under way or done.",
)
