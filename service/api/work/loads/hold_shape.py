"""The shape of the hold queue as it is now, in its own answer and in a day's routing."""

from __future__ import annotations

from typing import Final

from service.api.work.derived import shape_of
from service.api.work.shapes import maybe, one_of, several
from service.core.places import DestinationKind
from service.destinations.heaps import FIRE_ACTIONS, HOT_LEVELS
from service.usecases.telling.told.held import BayTold, HeatTold, HeldTold, HoldQueueTold, OfferTold
from service.usecases.telling.told.stops import LoadHeldStop

_OFFER: Final = shape_of(
    OfferTold, of_members={"use": one_of((DestinationKind.COMPOST_SITE, "liquid_feed"))}
)
_HEAT: Final = shape_of(
    HeatTold,
    of_members={"level": {"enum": [*HOT_LEVELS, *FIRE_ACTIONS, None]}},
    description="The hottest reading of the last round, and what to do; null if nobody measured.",
)

HELD: Final = shape_of(
    HeldTold,
    of_members={"heat": maybe(_HEAT), "offers": several(_OFFER)},
    description=(
        "One entry by the records of now. `held_for` is why it came, `why` what stands against it "
        "now or what limits who takes it, its heat first. `releasable`: somebody takes it today, "
        "and it is not so hot that people keep away from it. `asks_again_on` is the next day on "
        "which the answer may be another though nobody says a word, and `then` who takes it. "
        "`load_ids` are the planned loads that bring it on; `stays` says why none "
        "does though somebody would take it."
    ),
)

HOLD_QUEUE: Final = shape_of(
    HoldQueueTold,
    of_members={"entries": several(HELD), "bays": several(shape_of(BayTold))},
    description="What lies in a depot's hold bays, what presses most first.",
)

LOAD_HELD_STOP: Final = shape_of(
    LoadHeldStop,
    title="Held clippings loaded by hand",
    description="What lies in a bay at the depot, all or a part of an entry, comes into this body.",
)
