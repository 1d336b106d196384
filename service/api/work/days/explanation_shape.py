"""The shape of a drop's explanation: why it goes there, and what would change it."""

from __future__ import annotations

from typing import Final

from service.api.work.derived import members_of, shape_of
from service.api.work.shapes import Shape, several
from service.usecases.telling.told.explanations import ExplanationTold, RunnerUpTold, WayTold
from service.usecases.telling.told.places import BurdenTold, Named, SparedBed

NAMED: Final[dict[str, Shape]] = members_of(Named)

_WAYS: Final = several(shape_of(WayTold))
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

EXPLANATION: Final = shape_of(
    ExplanationTold,
    of_members={
        "runner_up": shape_of(
            RunnerUpTold,
            description=(
                "Who would get this load instead, and what the vehicle's day would cost more, all "
                "other vehicles staying. No destination is named where the load would be tipped "
                "at the same place at another time, or only together with other lots. A tip that "
                "the plan before did not have counts 2.00 more. extra_cents is null where nothing "
                "was found for up to 50.00 more, or where the day had too many tips to look for "
                "all."
            ),
        ),
        "what_would_change": WHAT_WOULD_CHANGE_IF_ASKED,
        "fairness": {
            "anyOf": [
                shape_of(
                    BurdenTold,
                    description=(
                        "What the bed had lately, the depot's limit and price, and what the plan "
                        "counts more for this load because of it. Nobody pays that."
                    ),
                ),
                {"type": "null"},
            ]
        },
        "spared_beds": {
            **several(shape_of(SparedBed)),
            "description": (
                "Beds where this load would cost saving_cents less, at the same point of the "
                "vehicle's way (driving, stop and fee), if the depot did not wish to be fair to "
                "beds: the limit keeps it away, or the price makes it dearer. The cheapest three."
            ),
        },
    },
    description="Why the load goes there; null for what is under way or done.",
)
