"""One request for what happened in the field: mixed reports, each with its own answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify
from marshmallow import Schema, ValidationError, fields

from service.api.books.spans import GRASS_HEIGHT, HEIGHT_REMOVED, LAWN_AREA, LOAD_MASS
from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, OTHER_ID
from service.api.contract.schemas import Answered, Described, Entries, ValueFields
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import (
    ACCEPT_LANGUAGE,
    CONTENT_LANGUAGE,
    asked_language,
    in_words,
)
from service.api.exchange.routes import Routes
from service.api.failures.faults import located, to_record
from service.api.failures.problems import problem_of
from service.api.fields import Choice, Flag, Identifier, Integer, Moment, Number, Several, Text
from service.api.fields.quantities import MeasureField, PointField
from service.api.work.rows import RowProblem, Rows
from service.api.work.tip_warnings import TipWarningAnswer, told
from service.core.callers.access import Act
from service.core.errors import RecordNotUsable
from service.core.materials import ClippingsHandling, TreatmentHistory, Wetness
from service.core.places import DestinationKind
from service.core.reports import Report, ReportedPart, ReportKind
from service.usecases.records.field.faults import UnreadableReport
from service.usecases.records.field.reports import DeviceClock, ReportAnswer, TakeReports
from service.usecases.telling.in_language import refusal_in_words

MOST_PARTS: Final = 100
ABOUT: Final = (
    "What happened in the field, as a device reports it: mown, left, loaded out of a bay, tipped, "
    "weighed, turned away, forked over, broken down, taken back. Each report has an id of its own "
    "and is kept once, however often it is sent and in whatever batch."
)
REPORTS_EXAMPLE: Final[dict[str, Any]] = {
    "device": "tablet-3",
    "sent_at": "2026-05-24T16:02:10+01:00",
    "crew_id": OTHER_ID,
    "vehicle_id": OTHER_ID,
    "reports": [
        {
            "id": OTHER_ID,
            "kind": "mown",
            "at": "2026-05-24T14:10:00+01:00",
            "lawn_id": OTHER_ID,
            "wetness": "dry",
        },
        {
            "id": str(EXAMPLE_ID),
            "kind": "tipped",
            "at": "2026-05-24T15:20:00+01:00",
            "destination_kind": "compost_site",
            "destination_id": OTHER_ID,
        },
    ],
}


class ReportedPartFields(ValueFields):
    """How much of a lot; all of it that was aboard if nothing is said."""

    record_type = ReportedPart

    job_id = Identifier(metadata={"description": "Of the job, or of the report of its cut."})
    hold_entry_id = Identifier(metadata={"description": "Of what was loaded out of a bay."})
    share = Number(above=0, high=1, metadata={"description": "Of all the job's clippings."})
    mass = MeasureField(LOAD_MASS, beside="mass_kg", beside_unit="kg")


class ReportFields(ValueFields):
    """One thing that happened, and when by the device's own clock."""

    record_type = Report

    id = Identifier(required=True)
    kind = Choice(
        ReportKind,
        metadata={
            "description": "`mown` and `left` need a lawn or a job; `tipped`, `refused` and "
            "`part_taken` a place or a load; `weighed` that and a weight; `refused` and "
            "`part_taken` a reason; `part_taken` a share or a weight; `loaded` a hold entry; "
            "`given` the other vehicle; `vehicle_out` a reason; `undo` the report that was a "
            "mistake."
        },
    )
    at = Moment(metadata={"description": "By the device's clock, as it is."})
    vehicle_id = Identifier()
    crew_id = Identifier()
    lawn_id = Identifier()
    job_id = Identifier()
    load_id = Identifier(
        metadata={"description": "As the device knew it; a plan since may have another for it."}
    )
    destination_kind = Choice(DestinationKind)
    destination_id = Identifier()
    parts = Several(
        fields.Nested(ReportedPartFields),
        most=MOST_PARTS,
        metadata={
            "description": "The lots it is about; none: all that was in the body, but of a tip "
            "that the plan has as a part of it, which is told as `tip_a_part`, that part. Name the "
            "lots, beside `load_id`, where all was tipped that the plan has as a part. A lot is "
            "`given` as a whole: a share or mass that is not all of what is aboard is refused."
        },
    )
    hold_entry_id = Identifier(metadata={"description": "What was loaded, out of which bay."})
    mass = MeasureField(
        LOAD_MASS,
        beside="mass_kg",
        beside_unit="kg",
        metadata={
            "description": "How much of it was loaded, likely; what the plan says if left out."
        },
    )
    weighed_net = MeasureField(
        LOAD_MASS,
        beside="weighed_net_kg",
        beside_unit="kg",
        metadata={"description": "Of what stayed there; of one that was `refused`, of all of it."},
    )
    weigh_ticket = Text(longest=100)
    refused_share = Number(above=0, high=1)
    reason = Text(
        longest=500,
        breaks=True,
        metadata={
            "description": "Why. With one, what a rule refuses (409 `not_for_this_place`, "
            "`outside_hours`) is kept as what happened, under the same id or a new one; and, under "
            "a new id, what says otherwise than the record (`ended_otherwise`, "
            "`weighed_otherwise`)."
        },
    )
    to_vehicle_id = Identifier()
    undoes = Identifier()
    point = PointField()
    area_mowed = MeasureField(LAWN_AREA, beside="area_mowed_m2", beside_unit="m2")
    height_before = MeasureField(GRASS_HEIGHT, beside="height_before_mm", beside_unit="mm")
    height_after = MeasureField(GRASS_HEIGHT, beside="height_after_mm", beside_unit="mm")
    height_removed = MeasureField(HEIGHT_REMOVED)
    wetness = Choice(Wetness)
    clippings = Choice(ClippingsHandling)
    treatment_history = Choice(TreatmentHistory)
    weeds_in_seed = Flag()
    disease_seen = Flag()
    litter_seen = Flag()
    leaves_mixed = Flag(metadata={"description": "Leaves of trees came up with the grass."})
    measured_mass = MeasureField(LOAD_MASS, beside="measured_mass_kg", beside_unit="kg")
    minutes_on_site = Integer(low=1, high=1440)
    remarks = Text(longest=2000, breaks=True)


class ReportBatch(Described):
    """What a device has to report."""

    device = Text(
        longest=100, required=True, metadata={"description": "By what name the device is known."}
    )
    sent_at = Moment(
        required=True,
        metadata={"description": "What the device's clock shows at this try, not at the first."},
    )
    crew_id = Identifier(metadata={"description": "Of all reports that name no other."})
    vehicle_id = Identifier(metadata={"description": "Of all reports that name no other."})
    reports = Rows(ReportFields, required=True)


class ClockAnswer(Answered):
    """How far the device's clock is off, and whether its times were corrected."""

    ahead_s = Integer(metadata={"description": "Below zero: behind."})
    corrected = Flag()
    sentence = Text(longest=500, allow_none=True)


class OneReportAnswer(Answered):
    """What became of one report."""

    index = Integer(low=0, metadata={"description": "Its place in the batch."})
    id = Identifier(allow_none=True)
    status = Integer(low=200, high=599)
    at = Moment(allow_none=True, metadata={"description": "When it happened, by our clock."})
    sentence = Text(
        longest=2000,
        allow_none=True,
        metadata={
            "description": "What was done; of a report that was refused what its crew does, in the "
            "language that is asked for, or null where its `problem` names faulty fields."
        },
    )
    job_id = Identifier(allow_none=True)
    load_id = Identifier(allow_none=True)
    vehicle_outage_id = Identifier(allow_none=True)
    warnings = Entries(TipWarningAnswer)
    problem = RowProblem(allow_none=True)


class ReportsAnswer(Answered):
    """What became of every report, in the order in which it happened."""

    clock = fields.Nested(ClockAnswer)
    reports = Entries(OneReportAnswer)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Defaults:
    """Who the device rides with, and when it sends."""

    crew_id: UUID | None
    vehicle_id: UUID | None


def report_routes(take_reports: TakeReports, door: Door) -> Routes:
    """Return the route of /reports."""
    routes = Routes("reports", description=ABOUT)
    row = ReportFields()

    @routes.operation(
        "POST",
        "/reports",
        name="take_reports",
        summary="Report what happened: good reports are kept, each once; bad ones say why.",
        parameters=[ACCEPT_LANGUAGE],
    )
    @door.admits(Act.RECORD_WORK)
    @routes.body(ReportBatch, example=REPORTS_EXAMPLE)
    @routes.response(200, ReportsAnswer, example=_example(), headers=CONTENT_LANGUAGE)
    def take(asked: Asked, batch: Mapping[str, Any]) -> Response:
        known = _Defaults(crew_id=batch.get("crew_id"), vehicle_id=batch.get("vehicle_id"))
        reports = [_report(row, sent, known) for sent in batch["reports"]]
        clock = take_reports.clock_of(batch["sent_at"])
        answers = take_reports(asked.caller, reports, clock=clock)
        told_all = {"clock": _clock(clock), "reports": [_told(one) for one in answers]}
        return in_words(jsonify(ReportsAnswer().dump(told_all)))

    return routes


def _report(schema: Schema, sent: object, known: _Defaults) -> Report | UnreadableReport:
    """Return a row's report, or what is wrong with it and what can be read of it."""
    if isinstance(sent, dict):
        said = {"crew_id": known.crew_id, "vehicle_id": known.vehicle_id}
        sent = {name: str(one) for name, one in said.items() if one is not None} | sent
    row: Any = sent
    try:
        report: Report = schema.load(row)
    except ValidationError as error:
        faults = tuple(map(to_record, located(error.messages)))
        usable = error.valid_data if isinstance(error.valid_data, dict) else {}
        return UnreadableReport(id=_id_of(sent), faults=faults, usable=usable)
    return report


def _id_of(sent: object) -> UUID | None:
    try:
        return UUID(str(sent["id"])) if isinstance(sent, dict) else None
    except (KeyError, ValueError):
        return None


def _clock(clock: DeviceClock) -> dict[str, Any]:
    return {
        "ahead_s": round(clock.ahead.total_seconds()),
        "corrected": bool(clock.correction),
        "sentence": clock.sentence,
    }


def _told(answer: ReportAnswer) -> dict[str, Any]:
    done, problem = answer.done, None
    if answer.refusal is not None:
        problem = problem_of(answer.refusal)
    return _row(
        index=answer.index,
        id=answer.report_id,
        at=answer.at,
        status=200 if problem is None else problem["status"],
        sentence=_sentence(answer),
        job_id=None if done is None else done.job_id,
        load_id=None if done is None else done.load_id,
        vehicle_outage_id=None if done is None else done.vehicle_outage_id,
        warnings=told(() if done is None else done.warnings),
        problem=problem,
    )


def _sentence(answer: ReportAnswer) -> str | None:
    """Return what was done, or what its crew does about a refusal; None: its faults say it."""
    if answer.done is not None:
        return answer.done.sentence
    if answer.refusal is None or isinstance(answer.refusal, RecordNotUsable):
        return None
    return refusal_in_words(answer.refusal, asked_language())


def _row(**members: object) -> dict[str, Any]:
    return members


def _example() -> dict[str, Any]:
    """Return an answer to the example; its sentences are the service's own."""
    sentences: Sequence[tuple[str, str, datetime]] = (
        (OTHER_ID, "Mown: the planned job L-7K2M9QX is done.", EXAMPLE_TIME),
        (str(EXAMPLE_ID), "Tipped, and on record.", EXAMPLE_TIME),
    )
    rows = [
        _row(
            index=index,
            id=own,
            status=200,
            at=at.isoformat(),
            sentence=sentence,
            job_id=OTHER_ID if index == 0 else None,
            load_id=OTHER_ID if index == 1 else None,
            vehicle_outage_id=None,
            warnings=[],
            problem=None,
        )
        for index, (own, sentence, at) in enumerate(sentences)
    ]
    return {"clock": {"ahead_s": 2, "corrected": False, "sentence": None}, "reports": rows}
