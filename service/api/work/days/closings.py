"""The close of a day, and sums of many."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

from flask import Response, jsonify, request

from service.api.contract.schemas import Described
from service.api.exchange.bodies import JSON
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Day, Identifier, Text, utc_text
from service.api.work.day_query import DAY_PARAMETER, RoutingQuery, depot_day, of_day
from service.api.work.shapes import (
    AMOUNT,
    COUNT,
    CREW_MINUTE,
    ID,
    MAYBE_ID,
    MAYBE_TEXT,
    MEMBERS,
    MOMENT,
    NUMBER,
    TEXT,
    one_of,
    several,
    whole,
)
from service.core.callers.access import Act
from service.core.errors import FieldFault
from service.usecases.day.today import TellToday
from service.usecases.telling.evening.cells import table_text
from service.usecases.telling.evening.closing import CloseDay, ClosedDay
from service.usecases.telling.evening.periods import (
    ABOARD,
    ABOARD_BEFORE,
    CARRIED_OVER,
    Span,
    TellTotals,
    Totals,
    span_faults,
)

CSV: Final = "text/csv"
BY: Final = (
    "outcome",
    "status",
    "place",
    "client_cut",
    "client_laid",
    CARRIED_OVER,
    ABOARD_BEFORE,
    ABOARD,
)
OF_A_BAY: Final = (
    "Of a hold bay `outcome`, `status` and `place` tell what came there in the period and lay "
    "there at its end. `carried_over` tells what left a bay in it and had come before: it is in "
    "the other rows, and was in those of a period before as held. `aboard_before` and `aboard` "
    "tell by vehicle what was in bodies as the period began and ended: with them what was cut "
    "(`client_cut`) and `carried_over` are what came somewhere (`outcome`) and what is `aboard`."
)
ENDS: Final = ("low", "likely", "high")
SIGNED: Final = whole(dict.fromkeys(ENDS, NUMBER))
CLOSING: Final = whole(
    {
        "id": ID,
        "depot_id": ID,
        "day": TEXT,
        "sequence": {"type": "integer", "minimum": 1},
        "closed_at": MOMENT,
        "key_id": MAYBE_ID,
        "remarks": MAYBE_TEXT,
        "sha256": {"type": "string", "description": "Of the content's JSON, keys sorted, no gaps."},
        "content": {
            **MEMBERS,
            "description": (
                "As it was then: `balances` of the mass book and the `movement_ids` they rest on, "
                "`sums` by kind of destination, in kilograms as the outcomes of `GET /totals`, "
                "`left_on_lawns_kg`, and `still_open` with whose word each item waits for "
                "and its `subject`."
            ),
        },
        "late": several(
            whole(
                {
                    "movement_id": ID,
                    "entered_at": MOMENT,
                    "happened_at": MOMENT,
                    "cause": TEXT,
                    "cause_id": ID,
                    "lot_code": MAYBE_TEXT,
                    "counted_kg": NUMBER,
                    "corrects_id": MAYBE_ID,
                    "reason": MAYBE_TEXT,
                }
            )
        ),
    },
    description="A closed day. What was entered of it since is `late`: corrections, listed here.",
)
TOTALS: Final = whole(
    {
        "depot_id": ID,
        "by": one_of(Span),
        "sums": several(
            whole(
                {
                    "from": TEXT,
                    "until": TEXT,
                    "by": {**one_of(BY), "description": OF_A_BAY},
                    "key": TEXT,
                    "name": TEXT,
                    "mass_kg": SIGNED,
                    "counted_kg": NUMBER,
                    "weighed_kg": NUMBER,
                    "estimated_of_weighed_kg": NUMBER,
                }
            )
        ),
        "costs": several(
            whole(
                {
                    "from": TEXT,
                    "tips": COUNT,
                    "fee_cents": NUMBER,
                    "way_cents": NUMBER,
                    "time_cents": NUMBER,
                    "way_km": AMOUNT,
                    "minutes": AMOUNT,
                }
            )
        ),
        "basis": TEXT,
        "crew_minute": CREW_MINUTE,
    },
    description="Sums of a depot's days by the mass book as it is now, and what tips cost.",
)
BASIS: Final = (
    "Ways are straight lines times a factor, what a round was longer for its tips; time is that of "
    "the way and at the tip: how long a crew waited at a gate is not on record. The price of a "
    "kilometre is common practice, no source; `crew_minute` is that of the last day."
)
COLUMNS: Final = (
    *("from", "until", "by", "name", "mass_low_kg", "mass_likely_kg", "mass_high_kg"),
    *("counted_kg", "weighed_kg", "estimated_of_weighed_kg", "fee_cents", "way_cents"),
    *("time_cents", "key"),
)


class ClosingFields(Described):
    """What is said when a day is closed."""

    remarks = Text(longest=2000, breaks=True)


class TotalsQuery(Described):
    """Which days of which depot, and how they are gathered."""

    depot_id = Identifier(required=True)
    since = Day(required=True)
    until = Day(required=True)
    by = Choice(Span, load_default=Span.DAY)

    def contradictions(self, values: Mapping[str, Any]) -> list[FieldFault]:
        """Return what is wrong with the two days together."""
        both = {"since", "until"} <= values.keys()
        return span_faults(values["since"], values["until"]) if both else []


def closing_routes(
    close_day: CloseDay, tell_totals: TellTotals, tell_today: TellToday, door: Door
) -> Routes:
    """Return the routes of closed days, and of sums."""
    routes = Routes(
        "closings",
        description=(
            "The close of a day: balance and open items kept as they were, with a digest; facts "
            "that come later are corrections, listed against it. Sums by day, week or month."
        ),
    )

    @routes.operation(
        "POST",
        "/days/<day>/closing",
        name="close_day",
        summary="Close a depot's day: keep what it came to and what is open.",
        in_path=[DAY_PARAMETER],
    )
    @door.admits(Act.PLAN)
    @of_day
    @routes.query(RoutingQuery)
    @routes.body(ClosingFields, example={"remarks": "Two lawns were too wet."})
    @routes.response(201, CLOSING)
    @routes.response(200, CLOSING, description="Nothing is otherwise: the closing that stands.")
    def close(
        asked: Asked, query: Mapping[str, Any], said: Mapping[str, Any], day: date | str
    ) -> Response:
        depot_id, wanted = depot_day(tell_today, asked, query, day)
        closed = close_day(
            asked.caller,
            depot_id,
            wanted,
            remarks=said.get("remarks"),
            identifiers=asked.identifiers,
        )
        answer = jsonify(_told(closed))
        answer.status_code = 200 if closed.stood else 201
        return answer

    @routes.operation(
        "GET",
        "/days/<day>/closing",
        name="read_closing",
        summary="Read how a depot's day was closed, and what was entered of it since.",
        in_path=[DAY_PARAMETER],
    )
    @door.admits(Act.READ)
    @of_day
    @routes.query(RoutingQuery)
    @routes.response(200, CLOSING)
    def read_closing(asked: Asked, query: Mapping[str, Any], day: date | str) -> dict[str, Any]:
        wanted = depot_day(tell_today, asked, query, day)
        return _told(close_day.read(asked.caller, *wanted))

    @routes.operation(
        "GET",
        "/totals",
        name="read_totals",
        summary="Add up a depot's days: tonnes, weights and costs, as JSON or CSV.",
        may_answer=(404,),
    )
    @door.admits(Act.READ, makes=(JSON, CSV))
    @routes.query(TotalsQuery)
    @routes.response(200, TOTALS)
    @routes.alt_response(200, schema={"type": "string"}, content_type=CSV, success=True)
    def read_totals(asked: Asked, query: Mapping[str, Any]) -> Response | dict[str, Any]:
        depot_id, by = query["depot_id"], query["by"]
        found = tell_totals(
            asked.caller, depot_id, since=query["since"], until=query["until"], by=by
        )
        if request.accept_mimetypes.best_match((JSON, CSV)) == CSV:
            return Response(table_text(COLUMNS, _cells(found)), mimetype=CSV)
        return {
            "depot_id": str(depot_id),
            "by": by,
            "sums": [
                {
                    "from": row.first.isoformat(),
                    "until": row.until.isoformat(),
                    "by": row.by,
                    "key": row.key,
                    "name": row.name,
                    **row.amount.to_json(),
                }
                for row in found.rows
            ],
            "costs": [
                {
                    "from": first.isoformat(),
                    "tips": cost.tips,
                    **{name: round(getattr(cost, name)) for name in COSTS},
                    "way_km": round(cost.way_km, 1),
                    "minutes": round(cost.minutes),
                }
                for first, cost in found.costs.items()
            ],
            "basis": BASIS,
            "crew_minute": found.crew_minute.to_json(),
        }

    return routes


COSTS: Final = ("fee_cents", "way_cents", "time_cents")


def _cells(found: Totals) -> Iterator[list[object]]:
    for row in found.rows:
        told = row.amount.to_json()
        yield [
            *(row.first.isoformat(), row.until.isoformat(), row.by, row.name),
            *(told["mass_kg"][end] for end in ENDS),
            *(told["counted_kg"], told["weighed_kg"], told["estimated_of_weighed_kg"]),
            *(None, None, None, row.key),
        ]
    for first, cost in found.costs.items():
        spent = [round(getattr(cost, name)) for name in COSTS]
        yield [first.isoformat(), None, "cost", None, *[None] * 6, *spent, None]


def _told(closed: ClosedDay) -> dict[str, Any]:
    closing = closed.closing
    return {
        "id": str(closing.id),
        "depot_id": str(closing.depot_id),
        "day": closing.day.isoformat(),
        "sequence": closing.sequence,
        "closed_at": utc_text(closing.closed_at),
        "key_id": None if closing.key_id is None else str(closing.key_id),
        "remarks": closing.remarks,
        "sha256": closing.sha256,
        "content": closing.content,
        "late": [
            {
                "movement_id": str(entry.id),
                "entered_at": utc_text(entry.created_at),
                "happened_at": utc_text(entry.happened_at),
                "cause": entry.cause.value,
                "cause_id": str(entry.cause_id),
                "lot_code": entry.lot_code,
                "counted_kg": round(entry.counted_kg, 1),
                "corrects_id": None if entry.corrects_id is None else str(entry.corrects_id),
                "reason": entry.reason,
            }
            for entry in closed.late
        ],
    }
