"""The shape of a day's routing in the contract: what a dispatcher reads.

The use case composes it; this says what callers may rely on. A test asks every routing
that is made to keep to it.
"""

from __future__ import annotations

from typing import Final

from service.api.work.explanation_shape import EXPLANATION, WHAT_WOULD_CHANGE
from service.api.work.shape_words import AMOUNT as _AMOUNT
from service.api.work.shape_words import CENTS as _CENTS
from service.api.work.shape_words import FLAG as _FLAG
from service.api.work.shape_words import ID as _ID
from service.api.work.shape_words import MAYBE_ID as _MAYBE_ID
from service.api.work.shape_words import MAYBE_TEXT as _MAYBE_TEXT
from service.api.work.shape_words import MEMBERS as _MEMBERS
from service.api.work.shape_words import MOMENT as _MOMENT
from service.api.work.shape_words import NUMBER as _NUMBER
from service.api.work.shape_words import PLACE as _PLACE
from service.api.work.shape_words import TEXT as _TEXT
from service.api.work.shape_words import every_one as _all
from service.api.work.shape_words import list_of as _list
from service.api.work.shape_words import one_of as _words
from service.core.jobs import JobState
from service.core.loads import DestinationKind, LoadState
from service.core.materials import LotStatus
from service.core.plans import RuleClass

_RANGE: Final = _all({"low": _AMOUNT, "likely": _AMOUNT, "high": _AMOUNT})

_ADVICE: Final = {
    "must": _FLAG,
    "code": _TEXT,
    "sentence": _TEXT,
    "rule_class": _words(RuleClass),
    "facts": _MEMBERS,
    "sources": _list(_TEXT),
}

VERDICT: Final = _all(
    {
        "destination_kind": _words(DestinationKind),
        "destination_id": _ID,
        "name": _TEXT,
        "accepted_kg": _AMOUNT,
        "code": _TEXT,
        "sentence": _TEXT,
        "rule_class": _words(RuleClass),
        "facts": _MEMBERS,
        "sources": _list(_TEXT),
    }
)

_JOB_STOP: Final = _all(
    {
        "kind": {"const": "job"},
        "job_id": _ID,
        "lot_code": _TEXT,
        "property_id": _ID,
        "property": _TEXT,
        "at": _MOMENT,
        "done": _FLAG,
        **_PLACE,
    },
    title="A job on the way",
)

_DROP_STOP: Final = _all(
    {
        "kind": {"const": "drop"},
        "load_id": _ID,
        "destination_kind": _words(DestinationKind),
        "destination_id": _ID,
        "destination": _MAYBE_TEXT,
        "at": _MOMENT,
        "state": _words(LoadState),
        "done": _FLAG,
        "locked": _FLAG,
        "status": _words(LotStatus),
        "lot_codes": _list(_TEXT),
        "mass_kg": _RANGE,
        "volume_l": _RANGE,
        "keeps_until": {"type": ["string", "null"], "format": "date-time"},
        "fee_cents": _CENTS,
        "explanation": {"anyOf": [EXPLANATION, {"type": "null"}]},
        **_PLACE,
    },
    title="A load tipped",
)

_VEHICLE: Final = _all(
    {
        "vehicle_id": _ID,
        "registration": _TEXT,
        "crew_ids": _list(_ID),
        "payload_kg": _AMOUNT,
        "body_volume_m3": _AMOUNT,
        "aboard_now": _all(
            {
                "mass_high_kg": _AMOUNT,
                "volume_high_l": _AMOUNT,
                "room_left_kg": _AMOUNT,
                "room_left_l": _AMOUNT,
            }
        ),
        "stops": _list({"oneOf": [_JOB_STOP, _DROP_STOP]}),
    }
)

_LOT: Final = _all(
    {
        "job_id": _ID,
        "lot_code": _TEXT,
        "lawn_id": _MAYBE_ID,
        "state": _words(JobState),
        "status": _words(LotStatus),
        "findings": _list(_all({"status": _words(LotStatus), "code": _TEXT, "facts": _MEMBERS})),
        "mass_kg": {"anyOf": [_RANGE, {"type": "null"}]},
        "outcome": _words(("left_on_lawn", "leave_on_lawn", "unplaced", "hold", "routed")),
        "advice": {"anyOf": [_all(_ADVICE), {"type": "null"}]},
        "goes_to": _list(
            _all(
                {
                    "load_id": _ID,
                    "destination_kind": _words(DestinationKind),
                    "destination_id": _ID,
                    "name": _MAYBE_TEXT,
                    "share": {"type": "number", "minimum": 0, "maximum": 1},
                    "why": _MAYBE_TEXT,
                    "load_status": _words(LotStatus),
                    "runner_up": _MEMBERS,
                }
            )
        ),
        "elsewhere": {
            "anyOf": [
                _all(
                    {
                        "willing": {"type": "integer", "minimum": 0},
                        "refused_by_code": {
                            "type": "object",
                            "additionalProperties": {"type": "integer"},
                        },
                        "nearest_refusals": _list(VERDICT),
                    }
                ),
                {"type": "null"},
            ]
        },
        "links": _all({"why": _TEXT, "verdicts": _TEXT}),
    }
)

_DESTINATION: Final = _all(
    {
        "destination_kind": _words(DestinationKind),
        "destination_id": _ID,
        "name": _TEXT,
        **_PLACE,
        "room_high_kg": _AMOUNT,
        "planned_high_kg": _AMOUNT,
        "scarcity_cents_per_t": _NUMBER,
        "likely_kg": _AMOUNT,
        "loads": _list(_ID),
    }
)

ROUTING: Final = _all(
    {
        "vehicles": _list(_VEHICLE),
        "lots": _list(_LOT),
        "destinations": _list(_DESTINATION),
        "unplaced": _list(
            _all(
                {
                    "vehicle_id": _ID,
                    "mass_high_kg": _AMOUNT,
                    "reasons": _list(_TEXT),
                    "what_would_change": WHAT_WOULD_CHANGE,
                }
            )
        ),
        "warnings": _list(_all({"vehicle_id": _MAYBE_ID, "code": _TEXT})),
        "cost_cents": _MEMBERS,
        "disposal_cents": _CENTS,
        "gap_permille": {"type": ["number", "null"]},
        "bound_scope": _TEXT,
        "distances": _all({"basis": _TEXT, "sources": _list(_TEXT)}),
    },
    description=(
        "Vehicles with their stops in order, every lot with its outcome and why, every "
        "destination with its room and use."
    ),
)

PRE_MOW_CHECK: Final = _all(
    {
        "lawn_id": _ID,
        "day": {"type": "string", "format": "date"},
        "answer": _words(("leave_on_lawn", "collect", "collect_to_hold")),
        **_ADVICE,
        "status": _words(LotStatus),
        "mass_kg": _RANGE,
        "volume_l": _RANGE,
        "one_third_rule_broken": {"type": ["boolean", "null"]},
        "willing": _list(VERDICT),
        "rulebook_version": _TEXT,
    },
    description="Whether a crew may bag on this lawn, with one reason.",
)

_WAYS: Final = _all(
    {
        "outcome": _TEXT,
        "goes_to": _list(
            _all(
                {
                    "destination_kind": _words(DestinationKind),
                    "destination_id": _ID,
                    "name": _MAYBE_TEXT,
                    "share": _AMOUNT,
                }
            )
        ),
    }
)

_MOVED: Final = _list(
    _all(
        {
            "job_id": _ID,
            "lot_code": _TEXT,
            "was": {"anyOf": [_WAYS, {"type": "null"}]},
            "becomes": {"anyOf": [_WAYS, {"type": "null"}]},
            "code": _TEXT,
            "why": _TEXT,
        }
    )
)

CHANGES: Final = _all(
    {
        "plan_id": _ID,
        "since_id": _MAYBE_ID,
        "moved": _MOVED,
        "cost_cents": _all({"before": {"type": ["integer", "null"]}, "after": _CENTS}),
    },
    description="The lots whose way changed, and why.",
)

_COMPARED: Final = _all({"before": _NUMBER, "after": _NUMBER, "difference": _NUMBER})

WHAT_IF: Final = _all(
    {
        "day": {"type": "string", "format": "date"},
        "depot_id": _ID,
        "cost_cents": _COMPARED,
        "held_kg": _COMPARED,
        "unplaced_high_kg": _COMPARED,
        "moved": _MOVED,
        "routing": ROUTING,
    },
    description="The supposed day beside the day as it is, both planned now.",
)

ROUTING_MAP: Final = _all(
    {
        "type": {"const": "FeatureCollection"},
        "features": _list(
            _all(
                {
                    "type": {"const": "Feature"},
                    "geometry": _all(
                        {
                            "type": _words(("Point", "LineString")),
                            "coordinates": {"type": "array"},
                        }
                    ),
                    "properties": _MEMBERS,
                }
            )
        ),
    },
    description="The routing as GeoJSON (RFC 7946): stops, ways as the crow flies, destinations.",
)
