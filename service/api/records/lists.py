"""Lists: filters, and cursors that say where the next page begins."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from functools import cache
from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from flask import request
from marshmallow import Schema, fields

from service.api.contract.schemas import Described
from service.api.fields import Choice, Day, Identifier, IntegerInQuery, Several, Strict, Text
from service.core.notes import Receipt
from service.core.records import AnyRecord
from service.usecases.base.calendar import TODAY
from service.usecases.base.ports.unit_of_work import Page

LONGEST_PAGE: Final = 200
USUAL_PAGE: Final = 50
# The 16 bytes of a UUID in base64url without padding.
CURSOR_LENGTH: Final = 22
AWAITED: Final = "awaited"
_CURSOR: Final = "cursor"
_LIMIT: Final = "limit"


class AnyDay(Day):
    """A date of the depot's calendar, or the one that it has now."""

    sentence = f"{Day.sentence} Or the word {TODAY}."

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        return TODAY if value == TODAY else super()._deserialize(value, *args, **kwargs)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a date, or of the word."""
        return {"anyOf": [super().json_schema(), {"const": TODAY}]}


class Answer(Choice):
    """How a client answered a note, or that nobody did yet."""

    def __init__(self) -> None:
        """Take the words of answers, and one for silence."""
        super().__init__((*(receipt.value for receipt in Receipt), AWAITED))

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        word = super()._deserialize(value, *args, **kwargs)
        return None if word == AWAITED else Receipt(word)


# What a load is found by, and papers that stand beside one.
OF_LOADS: Final[Mapping[str, Strict]] = {
    "day": AnyDay(),
    "depot_id": Identifier(),
    "vehicle_id": Identifier(),
    "crew_id": Identifier(),
    "lot_code": Text(longest=20),
}
# What a record is found by that does not stand in it under this name.
ABOUT: Final = {
    "day": "Only of this day of their depot, or of `today`",
    "lot_code": "Only with something of this lot",
    "answer": f"Only with a note that was answered so; `{AWAITED}`: not yet",
}


def filter_of(name: str, field: Strict) -> Several:
    """Return a filter: one value, or several of which any may match."""
    about = f"{ABOUT.get(name, f'Only records with this {name}')}; repeated: any of them."
    return Several(field, most=20, metadata={"description": about})


@cache
def _cursor_fields() -> Mapping[str, fields.Field[Any]]:
    return {
        _LIMIT: IntegerInQuery(
            low=1,
            high=LONGEST_PAGE,
            load_default=USUAL_PAGE,
            metadata={"description": "How many records a page has at most."},
        ),
        _CURSOR: Text(
            longest=CURSOR_LENGTH,
            pattern="[A-Za-z0-9_-]{22}",
            allowed="the cursor of a next page, as it was answered",
            metadata={"description": "Where the page begins; taken from `next`, never made up."},
        ),
    }


def query_schema(name: str, filters: Mapping[str, Strict]) -> type[Schema]:
    """Return the schema of a list's query parameters."""
    repeated = {field: filter_of(field, kind) for field, kind in filters.items()}
    return type(
        f"{name}Query",
        (Described,),
        {"__module__": __name__, **repeated, **_cursor_fields()},
    )


def page_asked(query: Mapping[str, Any]) -> dict[str, Any]:
    """Return filters, start and size of the page a query asks for."""
    filters = {
        name: values[0] if len(values) == 1 else values
        for name, values in query.items()
        if name not in {_CURSOR, _LIMIT}
    }
    return {
        "filters": filters,
        "after": _after(query.get(_CURSOR)),
        "limit": query[_LIMIT],
    }


def page_answer(page: Page[AnyRecord]) -> dict[str, Any]:
    """Return the page with the address of the next one."""
    following = None
    if page.next_after is not None:
        kept = [(name, value) for name, value in request.args.items(multi=True) if name != _CURSOR]
        cursor = base64.urlsafe_b64encode(page.next_after.bytes).decode().rstrip("=")
        following = f"{request.path}?{urlencode([*kept, (_CURSOR, cursor)])}"
    return {"items": page.records, "next": following}


def _after(cursor: str | None) -> UUID | None:
    # Its field let 22 letters of base64url through: they are 16 bytes, whatever they are.
    return None if cursor is None else UUID(bytes=base64.urlsafe_b64decode(f"{cursor}=="))
