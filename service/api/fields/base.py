"""The base of strict fields: never lenient, and able to state their own schema."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from service.api.failures.faults import NOT_NULL, REQUIRED, refused


class Repeated(list[str]):
    """The values of a query's parameter that stands once."""


class Strict(fields.Field[Any]):
    """Base of the fields: never lenient, and able to state its own schema."""

    default_error_messages = {"required": REQUIRED, "null": NOT_NULL}  # noqa: RUF012 - how marshmallow is told

    component: str | None = None
    """The name its schema has in the contract, where many fields share one."""

    def deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        """Return the value as the service has it. Raises ValidationError."""
        if isinstance(value, Repeated):
            raise refused("This parameter stands once.", code="not_unique")
        return super().deserialize(value, *args, **kwargs)

    def json_schema(self) -> dict[str, Any]:
        """Return the JSON Schema (2020-12) of the value, null left out."""
        raise NotImplementedError
