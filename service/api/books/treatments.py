"""Statements about what was put on a lawn."""

from __future__ import annotations

from typing import Final

from marshmallow import fields

from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import RecordFields, ValueFields
from service.api.fields import Choice, Day, Flag, Identifier, Integer, Moment, Several, Text
from service.api.records.resource import Resource
from service.core.treatments import Bioassay, LabelWait, StatementSource, Treatment


class LabelWaitFields(ValueFields):
    """What the product's label says of the clippings; each that is given must be met."""

    record_type = LabelWait

    days = Integer(low=0, high=3650)
    mowings = Integer(low=0, high=100)
    leave_on_lawn = Flag(
        metadata={"description": "The label wants all clippings left on the lawn, without an end."}
    )
    leave_on_lawn_mowings = Integer(
        low=1,
        high=100,
        metadata={"description": "How many mowings the label wants left on the lawn, the first."},
    )


class BioassayFields(ValueFields):
    """Plants grown in clippings of the lawn; one that passed ends a never that names no end."""

    record_type = Bioassay

    clippings_cut_on = Day()
    passed = Flag()
    stated_by = Text(longest=200)


class TreatmentFields(RecordFields):
    """A product on a lawn."""

    record_type = Treatment

    lawn_id = Identifier()
    product = Text(longest=200)
    active_ingredients = Several(
        Text(longest=100),
        most=20,
        unique=True,
        metadata={
            "description": (
                "By ISO common name; none named means an unknown product. What is no plant "
                "protection product is named by its kind: mineral fertiliser, seaweed feed, lime, "
                "top dressing, wetting agent, lawn seed."
            )
        },
    )
    applied_on = Day()
    statement_source = Choice(StatementSource)
    stated_by = Text(longest=200)
    label_wait = fields.Nested(
        LabelWaitFields, metadata={"description": "The label's own wait, where it is known."}
    )
    people_may_return_at = Moment()
    remarks = Text(longest=2000, breaks=True)
    bioassay = fields.Nested(BioassayFields)


TREATMENTS: Final = Resource(
    path="treatments",
    one="treatment",
    many="treatments",
    about="Treatments: what was put on a lawn, when, and who says so.",
    fields=TreatmentFields,
    filters={"lawn_id": Identifier(), "statement_source": Choice(StatementSource)},
    example={
        "lawn_id": OTHER_ID,
        "product": "Lawn weed control",
        "active_ingredients": ["2,4-D"],
        "applied_on": "2026-05-02",
        "statement_source": "applicator_record",
        "stated_by": "T. Green, spray technician",
        "label_wait": {"mowings": 4},
    },
    changes_example={"label_wait": {"mowings": 3}},
    amending_may_answer=(409,),
)
