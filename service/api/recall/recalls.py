"""Recalls that were begun: frozen, worked off call by call, ended, and told as a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify

from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import FlagInQuery, Integer, Text, utc_text
from service.api.recall.routes import RECALL, RecallQuery, wanted_lots
from service.api.work.shapes import (
    FLAG,
    ID,
    MAYBE_ID,
    MAYBE_MOMENT,
    MAYBE_TEXT,
    MEMBERS,
    MOMENT,
    TEXT,
    several,
    whole,
)
from service.core.callers.access import Act
from service.core.evidence.recalls import Recall
from service.usecases.mass_book.recalls import KeepRecalls

KEPT_RECALL: Final = whole(
    {
        "id": ID,
        "reason": TEXT,
        "begun_at": MOMENT,
        "is_open": FLAG,
        "ended_at": MAYBE_MOMENT,
        "key_id": MAYBE_ID,
        "frozen": whole(
            {
                "bed_ids": several(ID),
                "job_ids": several(ID),
                "lawns": several(
                    whole({"lawn_id": ID, "since": {"type": "string", "format": "date"}})
                ),
            }
        ),
        "calls": several(
            whole(
                {
                    "number": {"type": "integer", "minimum": 0},
                    "at": MOMENT,
                    "key_id": MAYBE_ID,
                    "said": MAYBE_TEXT,
                }
            )
        ),
        "people": RECALL["properties"]["people"],
        "still_to_call": several({"type": "integer", "minimum": 0}),
        "sha256": TEXT,
        "trace": RECALL,
    },
    description=(
        "A recall. While it is open its beds take nothing more. Its lots, and whatever else is cut "
        "on its lawns from the day named, go nowhere but into a bay. Compost sites are called, not "
        "frozen; nor is a lawn where the product is recorded later: begin another recall. "
        "So does what lay in one body with them, until the office says that it was kept apart. "
        "It follows its lots: where one is tipped all the same, or is said later to have been, the "
        "bed is frozen too, and `people` gets one more. `people` are those of the trace, then "
        "those; `still_to_call` are the numbers of those whom nobody has called."
    ),
)
EVIDENCE: Final = whole(
    {
        "recall_id": ID,
        "reason": TEXT,
        "begun_at": MOMENT,
        "ended_at": MAYBE_MOMENT,
        "trace": MEMBERS,
        "trace_sha256": TEXT,
        "movements": several(MEMBERS),
        "notes": several(MEMBERS),
        "calls": several(MEMBERS),
        "sha256": {"type": "string", "description": "Of all before it: keys sorted, no gaps."},
    },
    description="The file of a recall, with times and digests.",
)


class NewRecall(RecallQuery):
    """Which lots, as GET /recall asks, and why."""

    reason = Text(longest=500, breaks=True, required=True)


class NewCall(Described):
    """Who of the list was called, and what was said."""

    number = Integer(
        low=0,
        high=100_000,
        load_default=None,
        metadata={"description": "The place in `people`, counted from 0; never left out."},
    )
    said = Text(longest=1000, breaks=True)


class RecallsQuery(Described):
    """Open ones or ended ones; all if left out."""

    is_open = FlagInQuery()


def kept_recall_routes(keep_recalls: KeepRecalls, door: Door) -> Routes:
    """Return the routes of /recalls."""
    routes = Routes(
        "recalls",
        description=(
            "A recall that was begun: what was traced is kept with a digest, beds and lots are "
            "frozen, calls are ticked off, and all of it is told as a file of evidence."
        ),
    )

    @routes.operation(
        "POST",
        "/recalls",
        name="begin_recall",
        summary="Begin a recall: keep what is traced, and freeze what can be frozen.",
        may_answer=(404, 409),
    )
    @door.admits(Act.PLAN)
    @routes.body(NewRecall, example={"lot_code": "L-7K2M9QX", "reason": "Aminopyralid found."})
    @routes.response(201, KEPT_RECALL)
    def begin(asked: Asked, wanted: Mapping[str, Any]) -> dict[str, Any]:
        recall = keep_recalls.begin(
            asked.caller,
            wanted_lots(wanted),
            reason=wanted["reason"],
            identifiers=asked.identifiers,
        )
        return _told(recall)

    @routes.operation(
        "GET", "/recalls", name="list_recalls", summary="List recalls, the newest first."
    )
    @door.admits(Act.READ)
    @routes.query(RecallsQuery)
    @routes.response(200, whole({"items": several(KEPT_RECALL), "next": MAYBE_TEXT}))
    def list_recalls(asked: Asked, query: Mapping[str, Any]) -> dict[str, object]:
        found = keep_recalls.all(asked.caller, is_open=query.get("is_open"))
        return {"items": [_told(one) for one in found], "next": None}

    @routes.operation(
        "GET", "/recalls/<uuid:record_id>", name="read_kept_recall", summary="Read one recall."
    )
    @door.admits(Act.READ)
    @routes.response(200, KEPT_RECALL)
    def read(asked: Asked, record_id: UUID) -> dict[str, Any]:
        return _told(keep_recalls.read(asked.caller, record_id))

    @routes.operation(
        "POST",
        "/recalls/<uuid:record_id>/calls",
        name="tick_call",
        summary="Tick that somebody of the list was called.",
    )
    @door.admits(Act.PLAN)
    @routes.body(NewCall, example={"number": 0, "said": "Will leave it where it lies."})
    @routes.response(201, KEPT_RECALL)
    def tick(asked: Asked, call: Mapping[str, Any], record_id: UUID) -> dict[str, Any]:
        recall = keep_recalls.called(
            asked.caller, record_id, number=call["number"], said=call.get("said")
        )
        return _told(recall)

    @routes.operation(
        "POST",
        "/recalls/<uuid:record_id>/end",
        name="end_recall",
        summary="End a recall: what was frozen is asked about like anything else.",
    )
    @door.admits(Act.PLAN)
    @routes.response(200, KEPT_RECALL)
    def end(asked: Asked, record_id: UUID) -> dict[str, Any]:
        return _told(keep_recalls.end(asked.caller, record_id))

    @routes.operation(
        "GET",
        "/recalls/<uuid:record_id>/evidence",
        name="read_evidence",
        summary="Read the file of a recall: trace, movements, notes and calls, with digests.",
    )
    @door.admits(Act.READ)
    @routes.response(200, EVIDENCE)
    def evidence(asked: Asked, record_id: UUID) -> Response:
        response = jsonify(keep_recalls.evidence(asked.caller, record_id))
        name = f"recall-{record_id}.json"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        return response

    return routes


def _told(recall: Recall) -> dict[str, Any]:
    return {
        "id": str(recall.id),
        "reason": recall.reason,
        "begun_at": utc_text(recall.created_at),
        "is_open": recall.is_open,
        "ended_at": None if recall.ended_at is None else utc_text(recall.ended_at),
        "key_id": None if recall.key_id is None else str(recall.key_id),
        "frozen": {
            "bed_ids": [str(one) for one in recall.bed_ids],
            "job_ids": [str(one) for one in recall.job_ids],
            "lawns": [
                {"lawn_id": str(one.lawn_id), "since": one.since.isoformat()}
                for one in recall.lawns
            ],
        },
        "calls": [
            {
                "number": call.number,
                "at": utc_text(call.at),
                "key_id": None if call.key_id is None else str(call.key_id),
                "said": call.said,
            }
            for call in recall.calls
        ],
        "people": recall.people,
        "still_to_call": recall.still_to_call,
        "sha256": recall.sha256,
        "trace": recall.content,
    }
