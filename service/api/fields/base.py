"""The base of strict fields: never lenient, and able to state their own schema."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from service.api.failures.faults import NOT_NULL, REQUIRED


class Strict(fields.Field[Any]):
    """Base of the fields: never lenient, and able to state its own schema."""

    default_error_messages = {"required": REQUIRED, "null": NOT_NULL}  # noqa: RUF012 - how marshmallow is told

    component: str | None = None
    """The name its schema has in the contract, where many fields share one."""

    def json_schema(self) -> dict[str, Any]:
        """Return the JSON Schema (2020-12) of the value, null left out."""
        raise NotImplementedError
