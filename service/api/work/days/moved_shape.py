"""The shape of what moved between two plans of a day, and of a day that is only supposed."""

from __future__ import annotations

from typing import Final

from service.api.work.days.routing_shape import ROUTING
from service.api.work.derived import shape_of
from service.api.work.shapes import maybe
from service.usecases.telling.told.moved import ChangesTold, SupposedTold

_IN_THE_COST: Final = (
    "cost_cents counts what moving crews and burdening beds is held to be worth, `changes` and "
    "`burden` of a routing's cost_cents, which nobody pays."
)

CHANGES: Final = shape_of(
    ChangesTold, description=f"The lots whose way changed, and why. {_IN_THE_COST}"
)

WHAT_IF: Final = shape_of(
    SupposedTold,
    of_members={"routing": maybe(ROUTING)},
    description=(
        "The supposed day beside the day as it is, both planned whole now; `standing` is the plan "
        "that stands, which may cost more, or null. The supposed `routing` is told only "
        f"where it is asked for, else null. {_IN_THE_COST} Other "
        "vehicles take over what lost ones have not done and have aboard, as where a vehicle is on "
        "record as out; `left_behind_high_kg` is what none can carry: it is in no cost, and in "
        "`unplaced_high_kg`."
    ),
)
