"""Loads: read, and amended by what happens to them."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import fields

from service.api.books.spans import LOAD_MASS
from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, record_members, written
from service.api.contract.schemas import Answered, RecordFields
from service.api.exchange.documented import Example
from service.api.exchange.door import Door
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
from service.api.records.lists import OF_LOADS, Answer
from service.api.records.resource import Resource
from service.api.work.loads.tips import add_tips
from service.api.work.loads.updating import add_update, estimates_of
from service.api.work.tip_warnings import told_schema
from service.core.acceptance.live_status import AgainstGate
from service.core.callers.access import Act
from service.core.loads import (
    Load,
    LoadPart,
    LoadState,
    TicketReview,
)
from service.core.materials import LotStatus
from service.core.measures.estimates import exactly
from service.core.places import DestinationKind
from service.usecases.records.field.scope import TellTipped
from service.usecases.records.loads.record_tip import RecordTip
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_kinds import Papers


class LoadFields(RecordFields):
    """What happened to a load."""

    record_type = Load

    state = Choice(LoadState)
    locked = Flag(metadata={"description": "Whether somebody locked it: it is not planned again."})
    weighed_net = MeasureField(
        LOAD_MASS,
        beside="weighed_net_kg",
        beside_unit="kg",
        metadata={"description": "Of what stayed there; of one that was `refused`, of all of it."},
    )
    weigh_ticket = Text(longest=100)
    ticket_review = Choice(
        TicketReview,
        metadata={
            "description": "Only accepted tickets teach the estimates; what is set aside counts "
            "for nothing."
        },
    )
    refusal_reason = Text(
        longest=500,
        breaks=True,
        metadata={
            "description": "Why it was not taken. `litter`, `seed`, `smells`, `treated_or_unknown` "
            "and `weeds_or_treated`, or their words as screens show them, are of the grass: its "
            "lots count as that until the office takes it back. Of a `delivered` load: what its "
            "client said days later; it lies there until it is taken up, or this is null."
        },
    )
    refused_share = Number(low=0, high=1)
    done_at = Moment()
    at_gate_at = Moment(
        metadata={
            "description": "When its vehicle was seen at the compost site, also with grass that is "
            "not recorded as mown. While it stands no plan sends the load elsewhere; `locked` "
            "stays as it is. Null takes it back."
        }
    )
    against_gate = Choice(
        AgainstGate,
        metadata={
            "description": "Of a tip at a compost site what stood against it at the gate as it was "
            "recorded: it was `outside_hours`, or the site had `said_closed`. The decision "
            "`tipped_where_refused` stays until it is fetched back, weighed there, the record of "
            "the hours says otherwise, or `settled` is sent: they take it."
        },
    )


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
            "is set aside, nor one beyond twice the estimate's high end, below half its low end, "
            "or of a ticket that was given before, until it is accepted."
        }
    )
    ticket_like_id = Identifier(
        allow_none=True,
        metadata={"description": "The load with which this ticket's number was given before."},
    )
    fee_cents = Integer()
    override_reason = Text(
        longest=300, allow_none=True, metadata={"description": "Why advice was set aside by hand."}
    )
    chosen_by_id = Identifier(
        allow_none=True, metadata={"description": "The key that chose its place by hand."}
    )
    successor_ids = Several(
        Identifier(),
        most=1000,
        metadata={
            "description": "Of a superseded load: the loads that its lots are in since. Empty "
            "where they are in none, and of every other load."
        },
    )
    explanation = Members()


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


def load_routes(
    papers: Papers,
    update_load: UpdateLoad,
    record_tip: RecordTip,
    tell_tipped: TellTipped,
    door: Door,
) -> Routes:
    """Return the routes of /loads."""
    routes = Routes(LOADS.path, description=LOADS.about)
    add_reading(routes, LOADS, papers.loads, door, example=Example(load_example))
    warned = Example(lambda: {**load_example(), "warnings": []})
    answers = told_schema(LOADS.answer)()
    add_tips(routes, record_tip, tell_tipped, door, answers=answers, example=warned)
    add_update(
        routes,
        LOADS,
        papers.loads,
        update_load,
        door,
        act=Act.RECORD_LOADS,
        example=warned,
        tell_tipped=tell_tipped,
    )
    return routes


def load_example() -> dict[str, Any]:
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
        **estimates_of(180),
    )
    return written(LOADS.answer(), load)
