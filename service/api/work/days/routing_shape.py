"""The shape of a day's routing in the contract: what a dispatcher reads.

The use case composes it; this says what callers may rely on. A test asks every routing
that is made to keep to it.
"""

from __future__ import annotations

from typing import Final

from service.api.work.days.explanation_shape import EXPLANATION, WHAT_WOULD_CHANGE_IF_ASKED
from service.api.work.derived import members_of, shape_of
from service.api.work.loads.hold_shape import HELD, LOAD_HELD_STOP
from service.api.work.shapes import (
    CENTS,
    CREW_MINUTE,
    MAYBE_ID,
    MAYBE_TEXT,
    MEMBERS,
    NUMBER,
    OVERFLOW,
    TEXT,
    maybe,
    one_of,
    several,
    whole,
)
from service.planning.model.result import CostCents
from service.usecases.telling.told.explanations import UnplacedTold
from service.usecases.telling.told.lots import AdviceTold, LotTold, VerdictTold
from service.usecases.telling.told.places import DestinationTold
from service.usecases.telling.told.plans import OutTold, PlanningTold, VehicleTold
from service.usecases.telling.told.stops import CautionTold, DropStop, JobStop, PickUpStop

ADVICE: Final = members_of(AdviceTold)
VERDICT_MEMBERS: Final = members_of(VerdictTold)
VERDICT: Final = whole(VERDICT_MEMBERS)

JOB_STOP: Final = shape_of(
    JobStop,
    title="A job on the way",
    description=(
        "`leave_on_lawn` says why its clippings are not bagged, all or a part of them; null where "
        "they are. "
        "`taken_over_from_id` is the vehicle that is out and has the job on record; null where a "
        "vehicle does its own."
    ),
)

PICK_UP_STOP: Final = shape_of(
    PickUpStop,
    title="A load forked over",
    description="What stands in a vehicle that is out, all or a part of it, comes into this one.",
)

DROP_STOP: Final = shape_of(
    DropStop,
    of_members={
        "cautions": several(
            shape_of(
                CautionTold,
                description=(
                    "What the crew must know there, in English and as `for_crew` in its language."
                ),
            )
        ),
        "explanation": maybe(EXPLANATION),
    },
    title="A load tipped",
)

OUT: Final = {
    "anyOf": [
        shape_of(OutTold, description="`stands`: it does nothing more on this day."),
        {"type": "null"},
    ]
}

_VEHICLE: Final = shape_of(
    VehicleTold,
    of_members={
        "stops": several({"oneOf": [JOB_STOP, DROP_STOP, PICK_UP_STOP, LOAD_HELD_STOP]}),
        "out": OUT,
    },
)

_LOT: Final = shape_of(
    LotTold,
    description=(
        "`vehicle_id` has the lot in this plan, `taken_over_from_id` on record if that vehicle is "
        "out. `needs_attention`: no vehicle can take it over, or it has no place; then its code is "
        "`leave_on_lawn`, `nobody_takes_what_is_aboard` or `no_room_for_what_is_aboard`."
    ),
)

_PLANNING: Final = shape_of(
    PlanningTold,
    description=(
        "How the plan was found. `whole_day`: every vehicle was open, and the bound is of this "
        "search. `local`: only these vehicles were planned again, for what happened since the plan "
        "before; all others keep their loads, and nothing is proven. `local_answers` counts such "
        "plans since the whole day was searched."
    ),
)

_COST: Final = whole(
    dict.fromkeys(CostCents.__slots__, CENTS),
    older_lack=tuple(name for name in CostCents.__slots__ if name != "total"),
    description=(
        "What the day costs, in hundredths of the firm's currency, rounded to whole ones so that "
        "the parts add up to `total`; plans kept from before may miss it by a few. `drive`: "
        "kilometres; `stops`: what each tip counts; `fees`: of sites; `crew`: its time on the "
        "way, at tips, loading and, with a lawn ahead, waiting; `late`: minutes after the "
        "promised time; `overtime`: minutes after the shift, beyond `crew`; `overflow`: kilograms "
        "beyond the room of places; `unplaced`: kilograms that no place takes. Nobody pays "
        "`burden`, the price of fairness among beds, and `changes`, that of sending crews "
        "elsewhere than they were told."
    ),
)

ROUTING: Final = whole(
    {
        "vehicles": several(_VEHICLE),
        "lots": several(_LOT),
        "held": several(HELD),
        "destinations": several(shape_of(DestinationTold)),
        "unplaced": several(
            shape_of(UnplacedTold, of_members={"what_would_change": WHAT_WOULD_CHANGE_IF_ASKED})
        ),
        "warnings": several(
            whole(
                {"vehicle_id": MAYBE_ID, "code": TEXT, "subject": MAYBE_TEXT},
                older_lack=("subject",),
            )
        ),
        "overflow": OVERFLOW,
        "cost_cents": _COST,
        "disposal_cents": CENTS,
        "planning": _PLANNING,
        "gap_permille": {"type": ["number", "null"]},
        "bound_scope": TEXT,
        "crew_minute": CREW_MINUTE,
        "distances": whole({"basis": TEXT, "sources": several(TEXT)}),
    },
    older_lack=("overflow", "planning", "held", "crew_minute"),
    description=(
        "Vehicles with their stops in order, every lot with its outcome and why, every "
        "destination with its room and use."
    ),
)

ROUTING_MAP: Final = whole(
    {
        "type": {"const": "FeatureCollection"},
        "features": several(
            whole(
                {
                    "type": {"const": "Feature"},
                    "geometry": whole(
                        {
                            "type": one_of(("Point", "LineString")),
                            # Of a point its position; of a way those of its stops.
                            "coordinates": several({"anyOf": [NUMBER, several(NUMBER)]}),
                        }
                    ),
                    "properties": MEMBERS,
                }
            )
        ),
    },
    description="The routing as GeoJSON (RFC 7946): stops, ways as the crow flies, destinations.",
)
