"""Mowing jobs: one, or a crew's whole afternoon at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from marshmallow import Schema, ValidationError, fields, missing

from service.api.books.spans import (
    GRASS_HEIGHT,
    HEIGHT_REMOVED,
    LAWN_AREA,
    LOAD_MASS,
    LOAD_VOLUME,
)
from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import Answered, Described, Entries, RecordFields
from service.api.exchange.completing import Completing
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.failures.faults import located, to_record
from service.api.failures.problems import problem_of
from service.api.fields import (
    Choice,
    Flag,
    Identifier,
    Integer,
    Moment,
    Several,
    Text,
)
from service.api.fields.quantities import MeasureField
from service.api.records.book_routes import add_amending, add_creating, add_reading
from service.api.records.estimates import EstimateAnswer, Estimated, FactorAnswer, Members
from service.api.records.lists import Answer, AnyDay
from service.api.records.resource import Resource
from service.api.work.jobs.deciding import add_decisions
from service.api.work.jobs.handing_over import add_handovers
from service.api.work.jobs.job_links import JobLinks
from service.api.work.jobs.out_then import out_then
from service.api.work.rows import RowProblem, Rows
from service.core.callers.access import Act
from service.core.errors import RecordNotUsable
from service.core.jobs import Job, JobState
from service.core.materials import (
    ClippingsHandling,
    GrassKind,
    LotStatus,
    TreatmentHistory,
    Wetness,
)
from service.core.places import DestinationKind
from service.usecases.records.field.decide import DecideDuplicate
from service.usecases.records.field.hand_over import HandOver
from service.usecases.records.further_faults import FindFurtherFaults
from service.usecases.records.record_jobs import RecordJobs, RowAnswer
from service.usecases.telling.warnings.out_then import TellOutThen

# What the service can tell from the lawn and from the vehicle need not be written.
_TOLD_BY_OTHERS: Final = frozenset({"property_id", "depot_id"})


class JobFields(RecordFields):
    """A mowing job, done or planned."""

    record_type = Job

    property_id = Identifier(metadata={"description": "Taken from the lawn if left out."})
    lawn_id = Identifier()
    crew_id = Identifier()
    vehicle_id = Identifier()
    depot_id = Identifier(metadata={"description": "Taken from the vehicle if left out."})
    state = Choice(JobState)
    planned_at = Moment(
        metadata={
            "description": (
                "When it is to be mown: the day, and the order of its vehicle's jobs. A plan has "
                "the vehicle go from one to the next as soon as it can: it keeps this order, not "
                "this hour. Where nobody is to mow before or after some hour, the `mowing_hours` "
                "of the lawn say so, and bind the plan."
            )
        }
    )
    cut_at = Moment()
    minutes_on_site = Integer(low=1, high=1440)
    area_mowed = MeasureField(LAWN_AREA, beside="area_mowed_m2", beside_unit="m2")
    height_before = MeasureField(GRASS_HEIGHT, beside="height_before_mm", beside_unit="mm")
    height_after = MeasureField(GRASS_HEIGHT, beside="height_after_mm", beside_unit="mm")
    height_removed = MeasureField(HEIGHT_REMOVED)
    grass_kind = Choice(GrassKind)
    wetness = Choice(Wetness)
    weeds_in_seed = Flag()
    disease_seen = Flag()
    litter_seen = Flag()
    leaves_mixed = Flag(
        metadata={
            "description": "Whether leaves of trees came up with the grass. How many is not known "
            "here: `estimate` is of the grass alone, but for `carbon_to_nitrogen`, which may be "
            "that of leaves; `measured_mass` or `measured_volume` is of all of it. Its weight "
            "teaches nothing of cuts."
        }
    )
    clippings = Choice(ClippingsHandling)
    treatment_history = Choice(TreatmentHistory)
    measured_mass = MeasureField(LOAD_MASS, beside="measured_mass_kg", beside_unit="kg")
    measured_volume = MeasureField(LOAD_VOLUME, beside="measured_volume_m3", beside_unit="m3")
    remarks = Text(longest=2000, breaks=True)

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """Let a caller leave out what other records tell."""
        super().on_bind_field(field_name, field_obj)
        if field_name in _TOLD_BY_OTHERS:
            field_obj.required = False
            field_obj.load_default = missing


class LotEstimateAnswer(Answered):
    """What the clippings of one job are thought to be, and by which rules."""

    dry_matter_kg = fields.Nested(EstimateAnswer)
    mass_kg = fields.Nested(EstimateAnswer)
    volume_m3 = fields.Nested(EstimateAnswer)
    nitrogen_kg = fields.Nested(EstimateAnswer)
    carbon_to_nitrogen = fields.Nested(EstimateAnswer)
    one_third_rule_broken = Flag(allow_none=True)
    factors = Several(fields.Nested(FactorAnswer), most=100)
    rulebook_version = Text(longest=100)
    tickets = Integer(low=0, metadata={"description": "How many weigh tickets it learned from."})
    mass_before_tickets_kg = fields.Nested(EstimateAnswer, allow_none=True)


class LotFindingAnswer(Answered):
    """One thing found about a lot."""

    status = Choice(LotStatus)
    code = Text(longest=100)
    facts = Members()


class SizeConfirmedAnswer(Answered):
    """Who said that a cut is as large as recorded, and when."""

    at = Moment()
    said_by = Text(longest=40, metadata={"description": "The role of whoever said so."})


class JobFacts(Answered):
    """What the service works out of a job."""

    height_removed_mm = Estimated(
        allow_none=True, metadata={"description": "Entered, or worked out of before and after."}
    )
    lot_code = Text(longest=20, metadata={"description": "The public name of its clippings."})
    estimate = fields.Nested(LotEstimateAnswer, allow_none=True)
    status = Choice(
        LotStatus,
        metadata={
            "description": "As it is now: `sour`, by the finding `stood_too_long`, where it has "
            "stood too long in a vehicle's body; once tipped as it was then. The filter `status` "
            "goes by what was found at the cut."
        },
    )
    findings = Several(fields.Nested(LotFindingAnswer), most=1000)
    reported_as_id = Identifier(
        allow_none=True,
        metadata={
            "description": "The id of the report that completed this job, which was planned; "
            "the job and its lot are found by it too."
        },
    )
    duplicate_of_id = Identifier(
        allow_none=True,
        metadata={
            "description": "The job that this one is so much like that it may be the same cut: "
            "the crew or the vehicle was still at that one, or both together are more than a "
            "quarter above the lawn. `possible_duplicate` until somebody decides."
        },
    )
    size_confirmed = fields.Nested(
        SizeConfirmedAnswer,
        allow_none=True,
        metadata={
            "description": "That it is as large as recorded, by `size_is_so`; null where nobody "
            "said so of this area, these heights and what was measured."
        },
    )
    aboard_after = Moment(
        allow_none=True,
        metadata={
            "description": "When somebody said that it stayed aboard, whatever its vehicle had "
            "tipped by then (`still_aboard`); null where nobody did."
        },
    )
    links = JobLinks()


JOB_EXAMPLE: Final[Mapping[str, Any]] = {
    "lawn_id": OTHER_ID,
    "property_id": OTHER_ID,
    "crew_id": OTHER_ID,
    "vehicle_id": OTHER_ID,
    "depot_id": OTHER_ID,
    "state": "mown",
    "cut_at": "2026-05-24T10:40:00+01:00",
    "area_mowed": {"value": 450, "unit": "m2"},
    "height_before": {"value": 4.5, "unit": "[in_i]"},
    "height_after": {"value": 3, "unit": "[in_i]"},
    "grass_kind": "cool_season",
    "wetness": "dewy",
    "clippings": "collected",
    "treatment_history": "none_recorded",
}

JOBS: Final = Resource(
    path="jobs",
    one="job",
    many="jobs",
    about=(
        "Mowing jobs. A job that is kept changes the day it belongs to: its routing is planned "
        "again when it is next read. A cut of a lawn that is planned for the day completes the "
        "planned job, which then answers in its place. A second cut like it is kept as "
        "`possible_duplicate`; that and a cancelled job count for nothing."
    ),
    fields=JobFields,
    answered=(JobFacts,),
    filters={
        "depot_id": Identifier(),
        "property_id": Identifier(),
        "lawn_id": Identifier(),
        "crew_id": Identifier(),
        "vehicle_id": Identifier(),
        "state": Choice(JobState),
        "status": Choice(LotStatus),
        "day": AnyDay(),
        "lot_code": Text(longest=20),
        "destination_kind": Choice(DestinationKind),
        "destination_id": Identifier(),
        "answer": Answer(),
    },
    example=JOB_EXAMPLE,
    changes_example={"area_mowed": {"value": 4500, "unit": "m2"}},
    worked_out={"lot_code": "L-7K2M9QX", "status": LotStatus.CLEAN},
    own_id=True,
    read_act=Act.READ_OWN,
    amending_may_answer=(409,),
)


class JobBatch(Described):
    """Many jobs at once: a crew's afternoon without signal."""

    jobs = Rows(JOBS.new, required=True)


class BatchRowAnswer(Answered):
    """What became of one row."""

    index = Integer(low=0)
    status = Integer(low=201, high=599)
    job = fields.Nested(JOBS.answer, allow_none=True)
    problem = RowProblem(allow_none=True)


class BatchAnswer(Answered):
    """What became of every row, in the order they were sent."""

    rows = Entries(BatchRowAnswer)


def job_routes(
    record_jobs: RecordJobs,
    decide_duplicate: DecideDuplicate,
    hand_over: HandOver,
    tell_out_then: TellOutThen,
    door: Door,
    *,
    find: FindFurtherFaults,
) -> Routes:
    """Return the routes of /jobs."""
    routes = Routes(JOBS.path, description=JOBS.about)
    add_reading(routes, JOBS, record_jobs, door)
    completing = Completing(find=find, shelf=record_jobs.shelf)
    beside = out_then(JOBS, tell_out_then)
    for add in (add_creating, add_amending):
        add(
            routes,
            JOBS,
            record_jobs,
            door,
            act=Act.RECORD_WORK,
            completing=completing,
            beside=beside,
        )
    _add_batches(routes, record_jobs, door, completing)
    add_decisions(routes, JOBS, decide_duplicate, door)
    add_handovers(routes, hand_over, door)
    return routes


def _add_batches(
    routes: Routes, record_jobs: RecordJobs, door: Door, completing: Completing
) -> None:
    row = JOBS.new()

    def example() -> dict[str, Any]:
        kept = JOBS.answer_example()
        return {"rows": [{"index": 0, "status": 201, "job": kept, "problem": None}]}

    @routes.operation(
        "POST",
        "/jobs/batches",
        name="create_jobs",
        summary="Keep many jobs: good rows are kept, bad rows say why.",
    )
    @door.admits(Act.RECORD_WORK)
    @routes.body(JobBatch, example={"jobs": [JOB_EXAMPLE]})
    @routes.response(200, BatchAnswer, example=Example(example))
    def create_jobs(asked: Asked, batch: Mapping[str, Any]) -> dict[str, Any]:
        rows = [_row(row, sent, asked=asked, completing=completing) for sent in batch["jobs"]]
        answers = record_jobs.create_many(asked.caller, rows, identifiers=asked.identifiers)
        return {"rows": [_told(answer) for answer in answers]}


def _row(
    schema: Schema, sent: Any, *, asked: Asked, completing: Completing
) -> Mapping[str, Any] | RecordNotUsable:
    """Return a row's values, or all that is wrong with it."""
    try:
        values: Mapping[str, Any] = schema.load(sent)
    except ValidationError as error:
        usable = error.valid_data if isinstance(error.valid_data, dict) else {}
        faults = completing.faults(asked, located(error.messages), usable, {})
        return RecordNotUsable([*map(to_record, faults)])
    return values


def _told(answer: RowAnswer) -> dict[str, Any]:
    if answer.refusal is None:
        return {"index": answer.index, "status": 201, "job": answer.job, "problem": None}
    problem = problem_of(answer.refusal)
    return {"index": answer.index, "status": problem["status"], "job": None, "problem": problem}
