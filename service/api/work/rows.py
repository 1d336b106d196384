"""Bodies of many rows, each read and answered by itself."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import Schema, ValidationError, fields

from service.api.fields import Strict

LARGEST_BATCH: Final = 500


class Rows(Strict):
    """Rows of a batch; each is read by itself, so that a bad one spoils no other."""

    def __init__(self, schema: type[Schema], **options: Any) -> None:
        """Take the schema of a row."""
        super().__init__(**options)
        self.row = fields.Nested(schema)

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> list[Any]:
        if not isinstance(value, list) or not 1 <= len(value) <= LARGEST_BATCH:
            raise ValidationError([f"Write a list of 1 to {LARGEST_BATCH} rows."])
        return value

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the list; the contract fills in its items."""
        return {"type": "array", "minItems": 1, "maxItems": LARGEST_BATCH}

    @property
    def inner(self) -> fields.Nested:
        """The field of one row, for the contract."""
        return self.row


class RowProblem(Strict):
    """Why a row was refused, in the shape of every failure."""

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a problem."""
        return {"$ref": "#/components/schemas/Problem"}
