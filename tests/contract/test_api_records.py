"""What is kept and what is told are the same, and what is written can be read again."""

from dataclasses import fields, is_dataclass
from typing import get_args, get_type_hints

import pytest
from marshmallow import fields as marshmallow_fields

from service.api.books.crews import VEHICLE_OUTAGES
from service.api.books.treatments import TREATMENTS
from service.api.fields import Several
from service.api.records.lists import ABOUT, OF_LOADS
from service.api.work.days.plans import DAY_PLANS
from service.api.work.jobs.jobs import JOBS
from service.api.work.loads.holds import HOLD_ENTRIES
from service.api.work.loads.loads import LOADS
from service.api.work.notes.notes import DELIVERY_NOTES
from tests.worlds import IN_ORDER

RESOURCES = [
    *(resource for _, resource in IN_ORDER),
    TREATMENTS,
    VEHICLE_OUTAGES,
    JOBS,
    LOADS,
    HOLD_ENTRIES,
    DAY_PLANS,
    DELIVERY_NOTES,
]
# The firm is the caller's own; a note's content is told as "note".
# A note's answer is told with its acknowledgement.
# Who said that a size is so is told as "size_confirmed" while it is that size.
UNTOLD = {"firm_id", "content", "answer", "size_word"}


def records_within(kind):
    """Return the dataclass a type hint speaks of, if it speaks of one."""
    if is_dataclass(kind):
        return kind
    inner = [records_within(part) for part in get_args(kind)]
    return next((found for found in inner if found), None)


def untold(record_type, schema):
    """Return the fields of a record, and of the records in it, that no answer tells."""
    hints = get_type_hints(record_type)
    found = []
    for field in fields(record_type):
        if field.name in UNTOLD:
            continue
        told = schema.fields.get(field.name)
        if told is None:
            found.append(f"{record_type.__name__}.{field.name}")
            continue
        inner = told.inner if isinstance(told, Several) else told
        kind = records_within(hints[field.name])
        if kind is not None and isinstance(inner, marshmallow_fields.Nested):
            found += untold(kind, inner.schema)
    return found


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda resource: resource.path)
def test_every_kept_field_is_told(resource):
    assert untold(resource.fields.record_type, resource.answer()) == []


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda resource: resource.path)
def test_every_field_a_caller_writes_is_one_of_the_record(resource):
    kept = {field.name for field in fields(resource.fields.record_type)}
    assert set(resource.fields().fields) <= kept


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda resource: resource.path)
def test_every_filter_is_a_field_of_the_record_or_of_what_stands_beside_it(resource):
    kept = {field.name for field in fields(resource.fields.record_type)}
    # tests/database/test_finding.py says what is found by these.
    beside = {*ABOUT, *OF_LOADS, "destination_kind", "destination_id"}
    assert set(resource.filters) <= kept | beside
