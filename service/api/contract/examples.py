"""Examples of answers, made from examples of bodies, so that neither can go out of date."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

from marshmallow import Schema

from service.api.contract.schemas import RecordFields, new_schema
from service.api.exchange.json_form import plain
from service.core.records import Record

EXAMPLE_ID: Final = UUID("0192f0c1-2b3c-7def-8123-456789abcdef")
OTHER_ID: Final = "0192f0c1-2b3c-7def-8123-456789abcde0"
EXAMPLE_TIME: Final = datetime(2026, 5, 24, 13, 5, tzinfo=UTC)


def record_members() -> dict[str, Any]:
    """Return what every kept record has, for an example."""
    return {
        "id": EXAMPLE_ID,
        "firm_id": EXAMPLE_ID,
        "version": 1,
        "created_at": EXAMPLE_TIME,
        "updated_at": EXAMPLE_TIME,
    }


def written(answers: Schema, record: Record) -> dict[str, Any]:
    """Return a record as it is answered."""
    answer: dict[str, Any] = plain(answers.dump(record))
    return answer


def answer_example(
    described: type[RecordFields], answers: Schema, example: Mapping[str, Any], **worked_out: Any
) -> dict[str, Any]:
    """Return what the service answers when the example was posted.

    Parameters
    ----------
    worked_out
        What the service adds to the record, where it has no usable default.
    """
    values = new_schema(described)().load(example)
    return written(answers, described.record_type(**record_members(), **values, **worked_out))
