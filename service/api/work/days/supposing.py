"""What moved between two plans, and what would move if the day were another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from flask import request
from marshmallow import ValidationError, fields, post_load

from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import Described
from service.api.exchange.bodies import read_json
from service.api.exchange.completing import WithFurtherFaults
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.failures.faults import LocatedFault, from_record
from service.api.fields import (
    Choice,
    Day,
    Flag,
    Identifier,
    Integer,
    Moment,
    Number,
    Several,
    TimeOfDay,
)
from service.api.work.days.moved_shape import CHANGES, WHAT_IF
from service.api.work.days.searches import ACCEPTED, PREFER, SEARCH, Later
from service.core.callers.access import Act
from service.core.errors import RecordNotUsable
from service.core.jobs import MINUTES_ON_SITE
from service.core.materials import TreatmentHistory, Wetness
from service.core.searches import SearchKind
from service.usecases.planning.supposed.faults import MOST_NAMED, Supposed
from service.usecases.planning.supposed.lots import SupposedLots
from service.usecases.planning.supposed.work import AddedJob, HiredVehicle, SupposedWork
from service.usecases.planning.what_if import AddedBed, Changes, SiteCapacity, WhatIf
from service.usecases.telling.changes.plan_changes import TellPlanChanges
from service.usecases.telling.told.forms import plain

MOST_CHANGES: Final = MOST_NAMED


class SupposedCapacity(Described):
    """What a compost site would still take."""

    compost_site_id = Identifier(required=True)
    capacity_kg = Number(low=0, high=10_000_000, required=True)


class SupposedBed(Described):
    """A willing, free-draining bed that is not there yet."""

    property_id = Identifier(required=True)
    area_m2 = Number(low=0.1, high=100_000, required=True)


class SupposedJob(Described):
    """A lawn that is cut beside what is planned, estimated as if it were on record."""

    lawn_id = Identifier(required=True)
    vehicle_id = Identifier(required=True)
    crew_id = Identifier(
        metadata={"description": "Left out: the crew that has the vehicle that day, or usually."}
    )
    planned_at = Moment(required=True)
    height_removed_mm = Number(above=0, high=1000, required=True)
    minutes_on_site = Integer(low=1, high=1440, load_default=MINUTES_ON_SITE)
    wetness = Choice(Wetness, load_default=Wetness.UNKNOWN)
    treatment_history = Choice(TreatmentHistory, load_default=TreatmentHistory.UNKNOWN)


class SupposedVehicle(Described):
    """A vehicle that is hired, and the planned jobs that it takes from others."""

    payload_kg = Number(low=50, high=40_000, required=True)
    body_volume_m3 = Number(low=0.1, high=100, required=True)
    job_ids = Several(Identifier(), most=MOST_CHANGES, required=True)


class Supposition(Described):
    """The day, and what to suppose of it; nothing is kept."""

    depot_id = Identifier(required=True)
    day = Day(required=True)
    closed_site_ids = Several(Identifier(), most=MOST_CHANGES)
    site_capacities = Several(fields.Nested(SupposedCapacity), most=MOST_CHANGES)
    lost_vehicle_ids = Several(Identifier(), most=MOST_CHANGES)
    refusing_bed_ids = Several(Identifier(), most=MOST_CHANGES)
    rain = Flag(metadata={"description": "Whatever is still to be cut is cut in the rain."})
    added_bed = fields.Nested(SupposedBed)
    added_jobs = Several(fields.Nested(SupposedJob), most=MOST_CHANGES)
    hired_vehicles = Several(fields.Nested(SupposedVehicle), most=MOST_CHANGES)
    shift_ends = TimeOfDay(metadata={"description": "When the depot's shift ends instead."})
    left_on_lawn_job_ids = Several(
        Identifier(),
        most=MOST_CHANGES,
        metadata={"description": "Planned jobs whose clippings stay where they fall."},
    )
    untreated_job_ids = Several(
        Identifier(),
        most=MOST_CHANGES,
        metadata={
            "description": (
                "Jobs whose clients say that nothing was put on the lawn; what is on record of it "
                "still counts."
            )
        },
    )
    with_routing = Flag(metadata={"description": "Answer the supposed routing, too."})

    @post_load
    def suppose(self, data: Mapping[str, Any], **_: Any) -> dict[str, Any]:
        """Return the day and the changes as the use case takes them."""
        bed = data.get("added_bed")
        return {
            "depot_id": data["depot_id"],
            "day": data["day"],
            "with_routing": data.get("with_routing", False),
            "changes": Changes(
                closed_site_ids=tuple(data.get("closed_site_ids", ())),
                site_capacities=tuple(
                    SiteCapacity(**row) for row in data.get("site_capacities", ())
                ),
                lost_vehicle_ids=tuple(data.get("lost_vehicle_ids", ())),
                refusing_bed_ids=tuple(data.get("refusing_bed_ids", ())),
                rain=data.get("rain", False),
                added_bed=None if bed is None else AddedBed(**bed),
                work=SupposedWork(
                    added_jobs=tuple(AddedJob(**row) for row in data.get("added_jobs", ())),
                    hired_vehicles=tuple(
                        HiredVehicle(**row) for row in data.get("hired_vehicles", ())
                    ),
                    shift_ends=data.get("shift_ends"),
                ),
                lots=SupposedLots(
                    left_on_lawn_job_ids=tuple(data.get("left_on_lawn_job_ids", ())),
                    untreated_job_ids=tuple(data.get("untreated_job_ids", ())),
                ),
            ),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class _FindingAll(WithFurtherFaults):
    """Says what contradicts the day, or is not of it, beside what cannot be read."""

    what_if: WhatIf

    def faults(
        self,
        asked: Asked,
        found: Sequence[LocatedFault],
        usable: Mapping[str, Any],
        path: Mapping[str, Any],  # noqa: ARG002 - a day that is supposed is no record
    ) -> list[LocatedFault]:
        """Return the faults found, and those of what can be read."""
        sent = read_json(request)
        if not (isinstance(sent, Mapping) and {"depot_id", "day"} <= usable.keys()):
            return list(found)
        rows = sent.get("added_jobs")
        supposed = Supposed(
            sent=sent,
            added_jobs=[_readable(row) for row in rows] if isinstance(rows, list) else (),
            shift_ends=usable.get("shift_ends"),
        )
        more = self.what_if.faults(asked.caller, usable["depot_id"], usable["day"], supposed)
        told = {one.where for one in found}
        return [*found, *(from_record(one) for one in more if one.pointer not in told)]


def _readable(row: Any) -> Mapping[str, Any]:
    """Return what can be read of a supposed job."""
    try:
        read: Mapping[str, Any] = SupposedJob().load(row)
    except ValidationError as error:
        return error.valid_data if isinstance(error.valid_data, Mapping) else {}
    return read


class SinceQuery(Described):
    """Against which plan of the day; the one before if left out."""

    since_id = Identifier()


def supposing_routes(
    what_if: WhatIf, tell_changes: TellPlanChanges, door: Door, *, later: Later
) -> Routes:
    """Return the routes of what-ifs and of what moved."""
    routes = Routes("supposing", description="What moved, and what would move.")

    @routes.operation(
        "POST",
        "/what-ifs",
        name="suppose_day",
        summary="Plan a supposed day beside the day as it is; nothing is kept.",
        may_answer=(404, 409),
        in_header=[PREFER],
    )
    @door.admits(Act.PLAN)
    @_FindingAll(what_if=what_if).around
    @routes.body(Supposition, example={"depot_id": OTHER_ID, "day": "2026-05-24", "rain": True})
    @routes.response(200, WHAT_IF)
    @routes.alt_response(202, schema=SEARCH, headers=ACCEPTED, success=True)
    def suppose(asked: Asked, wanted: Mapping[str, Any]) -> Any:
        def now() -> Any:
            return plain(what_if(asked.caller, **wanted))

        def refuse_first() -> None:
            supposed = wanted["changes"].as_supposed()
            faults = what_if.faults(asked.caller, wanted["depot_id"], wanted["day"], supposed)
            if faults:
                raise RecordNotUsable(faults)

        return later.answered(asked, SearchKind.WHAT_IF, now, refuse_first=refuse_first)

    @routes.operation(
        "GET",
        "/day-plans/<uuid:record_id>/changes",
        name="read_plan_changes",
        summary="Read what a plan moved since the one before, lot by lot, and why.",
        may_answer=(410,),
    )
    @door.admits(Act.READ)
    @routes.query(SinceQuery)
    @routes.response(200, CHANGES)
    def changes(asked: Asked, query: Mapping[str, Any], record_id: UUID) -> Any:
        return plain(tell_changes(asked.caller, record_id, since_id=query.get("since_id")))

    return routes
