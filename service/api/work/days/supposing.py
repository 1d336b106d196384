"""What moved between two plans, and what would move if the day were another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from flask import request
from marshmallow import fields, post_load

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
from service.core.callers.access import Act
from service.core.jobs import MINUTES_ON_SITE
from service.core.materials import TreatmentHistory, Wetness
from service.usecases.planning.supposed_lots import SupposedLots
from service.usecases.planning.supposed_work import AddedJob, HiredVehicle, SupposedWork
from service.usecases.planning.what_if import Changes, WhatIf
from service.usecases.telling.plan_changes import TellPlanChanges
from service.usecases.telling.told.forms import plain

MOST_CHANGES: Final = 200


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
                site_capacity_kg=tuple(
                    (row["compost_site_id"], row["capacity_kg"])
                    for row in data.get("site_capacities", ())
                ),
                lost_vehicle_ids=tuple(data.get("lost_vehicle_ids", ())),
                refusing_bed_ids=tuple(data.get("refusing_bed_ids", ())),
                rain=data.get("rain", False),
                added_bed=None if bed is None else (bed["property_id"], bed["area_m2"]),
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
class _NamingStrangers(WithFurtherFaults):
    """Names what is not of the day beside what cannot be read."""

    what_if: WhatIf

    def faults(
        self,
        asked: Asked,
        found: Sequence[LocatedFault],
        usable: Mapping[str, Any],
        path: Mapping[str, Any],  # noqa: ARG002 - a day that is supposed is no record
    ) -> list[LocatedFault]:
        """Return the faults found and the ids that the day does not have."""
        if not {"depot_id", "day"} <= usable.keys():
            return list(found)
        named = list(_named(read_json(request)))
        more = self.what_if.strangers(asked.caller, usable["depot_id"], usable["day"], named)
        return [*found, *map(from_record, more)]


# Where ids are named, and in which books they are looked for; * is each of a list.
_NAMES: Final = {
    "closed_site_ids/*": "sites",
    "site_capacities/*/compost_site_id": "sites",
    "lost_vehicle_ids/*": "vehicles",
    "refusing_bed_ids/*": "beds",
    "added_bed/property_id": "properties",
    "added_jobs/*/lawn_id": "lawns",
    "added_jobs/*/vehicle_id": "vehicles",
    "added_jobs/*/crew_id": "crews",
    "hired_vehicles/*/job_ids/*": "jobs_ahead",
    "left_on_lawn_job_ids/*": "jobs_ahead",
    "untreated_job_ids/*": "jobs",
}


def _named(sent: object) -> Iterator[tuple[str, str, UUID]]:
    """Return every id of a body as it was sent that can be read: books, pointer, id."""
    for way, books in _NAMES.items():
        for pointer, value in _along(sent, way.split("/"), ""):
            with suppress(ValueError):
                yield books, pointer, UUID(value)


def _along(value: object, way: Sequence[str], pointer: str) -> Iterator[tuple[str, str]]:
    if not way:
        if isinstance(value, str):
            yield pointer, value
    elif way[0] == "*" and isinstance(value, list):
        for number, item in enumerate(value[:MOST_CHANGES]):
            yield from _along(item, way[1:], f"{pointer}/{number}")
    elif isinstance(value, dict) and way[0] in value:
        yield from _along(value[way[0]], way[1:], f"{pointer}/{way[0]}")


class SinceQuery(Described):
    """Against which plan of the day; the one before if left out."""

    since_id = Identifier()


def supposing_routes(what_if: WhatIf, tell_changes: TellPlanChanges, door: Door) -> Routes:
    """Return the routes of what-ifs and of what moved."""
    routes = Routes("supposing", description="What moved, and what would move.")

    @routes.operation(
        "POST",
        "/what-ifs",
        name="suppose_day",
        summary="Plan a supposed day beside the day as it is; nothing is kept.",
        may_answer=(404, 409),
    )
    @door.admits(Act.PLAN)
    @_NamingStrangers(what_if=what_if).around
    @routes.body(Supposition, example={"depot_id": OTHER_ID, "day": "2026-05-24", "rain": True})
    @routes.response(200, WHAT_IF)
    def suppose(asked: Asked, wanted: Mapping[str, Any]) -> dict[str, object]:
        return what_if(
            asked.caller,
            wanted["depot_id"],
            wanted["day"],
            wanted["changes"],
            with_routing=wanted["with_routing"],
        )

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
