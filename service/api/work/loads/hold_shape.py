"""The shape of the hold queue as it is now, in its own answer and in a day's routing."""

from __future__ import annotations

from typing import Final

from service.api.work.derived import shape_of
from service.api.work.shapes import (
    AMOUNT,
    FLAG,
    ID,
    MAYBE_ID,
    MAYBE_TEXT,
    MOMENT,
    RANGE,
    TEXT,
    one_of,
    several,
    whole,
)
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.destinations.hold_bay import FIRE_ACTIONS, HOT_LEVELS
from service.usecases.telling.told.stops import LoadHeldStop

_MAYBE_AMOUNT: Final = {"type": ["number", "null"], "minimum": 0}
_DATE: Final = {"type": "string", "format": "date"}
_REASON: Final = whole({"code": TEXT, "sentence": TEXT})
_TAKER: Final = whole(
    {
        "destination_kind": one_of(DestinationKind),
        "destination_id": ID,
        "name": TEXT,
        "accepted_kg": AMOUNT,
    }
)
_OFFER: Final = whole(
    {
        "use": one_of((DestinationKind.COMPOST_SITE, "liquid_feed")),
        "destination_kind": MAYBE_TEXT,
        "destination_id": MAYBE_ID,
        "name": MAYBE_TEXT,
        "accepted_kg": _MAYBE_AMOUNT,
        "mass_kg": AMOUNT,
        "water_l": _MAYBE_AMOUNT,
        "sentence": TEXT,
        "caution": MAYBE_TEXT,
    }
)
_ESCALATION: Final = whole(
    {
        "level": one_of(("amber", "red")),
        "since": MOMENT,
        "sentence": TEXT,
        "steps": several(TEXT),
        "caution": TEXT,
    }
)
_HEAT: Final = whole(
    {
        "temperature_c": {"type": "number"},
        "depth_mm": AMOUNT,
        "at": MOMENT,
        "measured_by": TEXT,
        "level": {"enum": [*HOT_LEVELS, *FIRE_ACTIONS, None]},
        "sentence": TEXT,
        "steps": several(TEXT),
        "caution": TEXT,
    },
    description="The hottest reading of the last round, and what to do; null if nobody measured.",
)

HELD: Final = whole(
    {
        "hold_entry_id": ID,
        "hold_bay_id": ID,
        "hold_bay": TEXT,
        "lot_codes": several(TEXT),
        "status": one_of(LotStatus),
        "mass_kg": RANGE,
        "volume_l": RANGE,
        "held_since": {"type": ["string", "null"], "format": "date-time"},
        "held_for": _REASON,
        "releasable": FLAG,
        "why": _REASON,
        "takers": several(_TAKER),
        "asks_again_on": _DATE,
        "then": MAYBE_TEXT,
        "amber_at": MOMENT,
        "red_at": MOMENT,
        "escalation": {"anyOf": [_ESCALATION, {"type": "null"}]},
        "heat": {"anyOf": [_HEAT, {"type": "null"}]},
        "offers": several(_OFFER),
        "load_ids": several(ID),
        "stays": MAYBE_TEXT,
    },
    older_lack=("heat",),
    description=(
        "One entry by the records of now. `held_for` is why it came, `why` what stands against it "
        "now or what limits who takes it. `releasable`: somebody takes it today. `asks_again_on` "
        "is the next day on which the answer may be another though nobody says a word, and `then` "
        "who takes it. `load_ids` are the planned loads that bring it on; `stays` says why none "
        "does though somebody would take it."
    ),
)

HOLD_QUEUE: Final = whole(
    {
        "depot_id": ID,
        "day": _DATE,
        "entries": several(HELD),
        "rulebook_version": TEXT,
    },
    description="What lies in a depot's hold bays, what presses most first.",
)

LOAD_HELD_STOP: Final = shape_of(
    LoadHeldStop,
    title="Held clippings loaded by hand",
    description="What lies in a bay at the depot, all or a part of an entry, comes into this body.",
)
