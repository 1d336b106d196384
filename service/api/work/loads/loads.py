"""Loads and what is held: read, and amended by what happens to them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from flask import Response
from marshmallow import fields

from service.api.books.spans import LOAD_MASS
from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, record_members, written
from service.api.contract.schemas import Answered, RecordFields
from service.api.exchange.amending import change_reason, changes_of, expected_version
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import (
    Choice,
    Day,
    Flag,
    FlagInQuery,
    Identifier,
    Integer,
    Moment,
    Number,
    Several,
    Text,
)
from service.api.fields.quantities import MeasureField
from service.api.records.book_routes import add_reading
from service.api.records.estimates import EstimateAnswer, Members
from service.api.records.kept import ETAG, kept_answer
from service.api.records.lists import OF_LOADS, Answer
from service.api.records.resource import Resource
from service.api.work.loads.tips import add_tips
from service.core.callers.access import Act
from service.core.estimates import exactly
from service.core.loads import (
    HoldEntry,
    HoldState,
    Load,
    LoadPart,
    LoadState,
    ReleasedAs,
    TicketReview,
)
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.record_kinds import Papers
from service.usecases.records.record_tip import RecordTip
from service.usecases.records.update_hold import UpdateHold
from service.usecases.records.update_load import UpdateLoad


class LoadFields(RecordFields):
    """What happened to a load."""

    record_type = Load

    state = Choice(LoadState)
    locked = Flag(metadata={"description": "A locked load is not planned again."})
    weighed_net = MeasureField(LOAD_MASS, beside="weighed_net_kg", beside_unit="kg")
    weigh_ticket = Text(longest=100)
    ticket_review = Choice(
        TicketReview,
        metadata={
            "description": "Only accepted tickets teach the estimates; what is set aside counts "
            "for nothing."
        },
    )
    refusal_reason = Text(longest=500, breaks=True)
    refused_share = Number(low=0, high=1)
    done_at = Moment()


class LoadPartAnswer(Answered):
    """The share of one job's clippings in a load."""

    job_id = Identifier()
    lot_code = Text(longest=20)
    share = Number(low=0, high=1, decimals=6)
    hold_entry_id = Identifier(
        allow_none=True,
        metadata={"description": "The held entry it was shovelled up from; null of fresh grass."},
    )


class LoadFacts(Answered):
    """What the plan says of a load."""

    depot_id = Identifier()
    working_day = Day()
    plan_id = Identifier(
        allow_none=True, metadata={"description": "Null for a tip that no plan foresaw."}
    )
    vehicle_id = Identifier()
    crew_id = Identifier(allow_none=True)
    destination_kind = Choice(DestinationKind)
    destination_id = Identifier()
    after_job_id = Identifier(
        allow_none=True, metadata={"description": "The job it is tipped after; null before any."}
    )
    sequence = Integer()
    arrive_at = Moment()
    parts = Several(fields.Nested(LoadPartAnswer), most=1000)
    status = Choice(LotStatus)
    mass_kg = fields.Nested(EstimateAnswer)
    volume_m3 = fields.Nested(EstimateAnswer)
    nitrogen_kg = fields.Nested(EstimateAnswer)
    weight_counts = Flag(
        metadata={
            "description": "Whether the weighed net counts instead of the estimate: not one that "
            "is set aside, nor one more than three times beyond the estimate until it is accepted."
        }
    )
    fee_cents = Integer()
    explanation = Members()


class HoldEntryFields(RecordFields):
    """What happened to held clippings."""

    record_type = HoldEntry

    state = Choice(HoldState, metadata={"description": "`in_bay` undoes a release."})
    released_as = Choice(
        ReleasedAs,
        metadata={
            "description": (
                "`place`: a bed or a site that is asked and charged. `liquid_feed`: only of clean "
                "clippings. `elsewhere`: in the words of `released_to`. Left out, it is a place if "
                "`released_to_id` is given."
            )
        },
    )
    released_to_kind = Choice(DestinationKind)
    released_to_id = Identifier()
    released_with_id = Identifier(
        metadata={"description": "The vehicle that brought it to the place."}
    )
    released_to = Text(longest=500, breaks=True)
    released_at = Moment()


class HeapTemperatureAnswer(Answered):
    """A temperature measured inside a heap."""

    depth_mm = Number(low=0, high=10_000)
    temperature_c = Number(low=-40, high=150)
    at = Moment()
    measured_by = Text(longest=200)


class HoldFacts(Answered):
    """Why clippings wait, and how long they keep."""

    hold_bay_id = Identifier()
    load_id = Identifier()
    lot_codes = Several(Text(longest=20), most=1000)
    status = Choice(LotStatus)
    mass_kg = fields.Nested(EstimateAnswer)
    volume_m3 = fields.Nested(EstimateAnswer)
    reason_code = Text(longest=100)
    reason = Text(longest=2000)
    release_condition_code = Text(longest=100)
    release_condition = Text(longest=2000)
    cut_at = Moment()
    amber_at = Moment(metadata={"description": "When it begins to turn, from the earliest cut."})
    red_at = Moment(metadata={"description": "When it has turned, from the earliest cut."})
    held_since = Moment(allow_none=True)
    temperatures = Several(
        fields.Nested(HeapTemperatureAnswer),
        most=1000,
        allow_none=True,
        metadata={"description": "What was measured inside; null if nobody did."},
    )
    released_load_id = Identifier(
        allow_none=True, metadata={"description": "The load that the place is charged with."}
    )


LOADS: Final = Resource(
    path="loads",
    one="load",
    many="loads",
    about=(
        "Loads: one drop each, from a vehicle to a destination. Plans make them, or a crew says "
        "what it tipped without one."
    ),
    fields=LoadFields,
    answered=(LoadFacts,),
    filters={
        **OF_LOADS,
        "working_day": Day(),
        "plan_id": Identifier(),
        "destination_id": Identifier(),
        "destination_kind": Choice(DestinationKind),
        "state": Choice(LoadState),
        "status": Choice(LotStatus),
        "locked": FlagInQuery(),
        "answer": Answer(),
    },
    read_act=Act.READ_OWN,
    list_act=Act.READ_OWN,
    changes_example={
        "state": "delivered",
        "weighed_net": {"value": 385, "unit": "[lb_av]"},
        "weigh_ticket": "W-5521",
    },
)

HOLD_ENTRIES: Final = Resource(
    path="hold-entries",
    one="hold entry",
    many="hold entries",
    about="The hold queue: what waits, why, until what, and how long it keeps.",
    fields=HoldEntryFields,
    answered=(HoldFacts,),
    filters={
        "hold_bay_id": Identifier(),
        "load_id": Identifier(),
        "state": Choice(HoldState),
        "status": Choice(LotStatus),
        **OF_LOADS,
        "released_to_id": Identifier(),
    },
    changes_example={"state": "released", "released_to": "Hill Farm, on trailer 2"},
)


def load_routes(
    papers: Papers, update_load: UpdateLoad, record_tip: RecordTip, door: Door
) -> Routes:
    """Return the routes of /loads."""
    routes = Routes(LOADS.path, description=LOADS.about)
    add_reading(routes, LOADS, papers.loads, door, example=Example(_load_example))
    add_tips(routes, record_tip, door, answers=LOADS.answer(), example=Example(_load_example))
    _add_update(
        routes,
        LOADS,
        papers.loads,
        update_load,
        door,
        act=Act.RECORD_LOADS,
        example=Example(_load_example),
    )
    return routes


def hold_routes(papers: Papers, update_hold: UpdateHold, door: Door) -> Routes:
    """Return the routes of /hold-entries."""
    routes = Routes(HOLD_ENTRIES.path, description=HOLD_ENTRIES.about)
    add_reading(routes, HOLD_ENTRIES, papers.hold_entries, door, example=Example(hold_example))
    _add_update(
        routes,
        HOLD_ENTRIES,
        papers.hold_entries,
        update_hold,
        door,
        act=Act.WORK_THE_HOLD,
        example=Example(hold_example),
    )
    return routes


def _add_update(
    routes: Routes,
    resource: Resource,
    books: KeepRecords[Any],
    update: UpdateLoad | UpdateHold,
    door: Door,
    *,
    act: Act,
    example: Mapping[str, Any],
) -> None:
    """Add the amendment of a paper by what happened."""
    answers, whole = resource.answer(), resource.new()

    @routes.operation(
        "PATCH",
        f"/{resource.path}/<uuid:record_id>",
        name=f"amend_{resource.one_word}",
        summary=f"Say what happened to one {resource.one}; the day is planned again around it.",
        may_answer=(409,),
    )
    @door.admits(act)
    @routes.merge_patch(resource.changes, example=resource.changes_example)
    @routes.response(200, answers, example=example, headers=ETAG)
    def amend_record(asked: Asked, patch: dict[str, Any], record_id: UUID) -> Response:
        kept = books.read(asked.caller, record_id)
        version = expected_version(kept, noun=resource.one)
        changes = changes_of(patch, kept=kept, whole=whole)
        amended = update(
            asked.caller,
            record_id,
            changes,
            expected_version=version,
            reason=change_reason(),
        )
        return kept_answer(answers, books.seen(asked.caller, amended))


def _estimates(mass_kg: float) -> dict[str, Any]:
    basis = "weighed"
    return {
        "mass_kg": exactly(mass_kg, unit="kg", basis=basis),
        "volume_m3": exactly(mass_kg / 250, unit="m3", basis=basis),
    }


def _load_example() -> dict[str, Any]:
    """Return a load as it is answered; its numbers are invented."""
    load = Load(
        **record_members(),
        depot_id=EXAMPLE_ID,
        working_day=EXAMPLE_TIME.date(),
        plan_id=EXAMPLE_ID,
        vehicle_id=EXAMPLE_ID,
        crew_id=EXAMPLE_ID,
        destination_kind=DestinationKind.BED,
        destination_id=EXAMPLE_ID,
        sequence=1,
        arrive_at=EXAMPLE_TIME,
        parts=(LoadPart(job_id=EXAMPLE_ID, lot_code="L-7K2M9QX", share=1.0),),
        status=LotStatus.CLEAN,
        nitrogen_kg=exactly(1.4, unit="kg", basis="weighed"),
        **_estimates(180),
    )
    return written(LOADS.answer(), load)


def hold_example() -> dict[str, Any]:
    """Return a hold entry as it is answered; its numbers are invented."""
    entry = HoldEntry(
        **record_members(),
        hold_bay_id=EXAMPLE_ID,
        load_id=EXAMPLE_ID,
        lot_codes=("L-7K2M9QX",),
        status=LotStatus.UNKNOWN,
        reason_code="treatment_unknown",
        reason="Nobody knows what was put on this lawn.",
        release_condition_code="history_known",
        release_condition="Ask the client for the lawn's treatments.",
        cut_at=EXAMPLE_TIME,
        amber_at=EXAMPLE_TIME + timedelta(hours=12),
        red_at=EXAMPLE_TIME + timedelta(hours=24),
        **_estimates(180),
    )
    return written(HOLD_ENTRIES.answer(), entry)
