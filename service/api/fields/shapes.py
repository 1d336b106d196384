"""Lists, and what is only ever answered: addresses and objects with a shape of their own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api.failures.faults import refused
from service.api.fields.base import Strict


class Several(Strict):
    """A list of values of one kind, kept as a tuple."""

    def __init__(
        self, inner: Strict | fields.Nested, *, most: int, unique: bool = False, **options: Any
    ) -> None:
        """Take the kind of the values, how many there may be, and whether each stands once."""
        super().__init__(**options)
        self.inner, self.most, self.unique = inner, most, unique

    def _bind_to_schema(self, field_name: str, parent: Any) -> None:
        super()._bind_to_schema(field_name, parent)
        self.inner._bind_to_schema(field_name, self)  # noqa: SLF001 - what marshmallow's List does

    def _deserialize(self, value: Any, *_: Any, **kwargs: Any) -> tuple[Any, ...]:
        if not isinstance(value, list) or len(value) > self.most:
            raise refused(f"Write a list of up to {self.most} values.", code="not_a_list")
        kept, faults = [], {}
        for index, entry in enumerate(value):
            try:
                kept.append(self.inner.deserialize(entry, **kwargs))
            except ValidationError as error:
                faults[index] = error.messages
        if faults:
            raise ValidationError(faults)
        if self.unique and len({repr(entry) for entry in kept}) < len(kept):
            raise refused("Write each value only once.", code="not_unique")
        return tuple(kept)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        return [self.inner._serialize(entry, attr, obj, **kwargs) for entry in value]  # noqa: SLF001 - what marshmallow's List does

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the list; the contract fills in its items."""
        return {
            "type": "array",
            "maxItems": self.most,
            **({"uniqueItems": True} if self.unique else {}),
        }


class Link(Strict):
    """An address; one of this service may be relative to it. Only ever answered."""

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of an address."""
        return {"type": "string", "format": "uri-reference"}


class Shaped(Strict):
    """An object a use case composes, and the shape it keeps to. Only ever answered."""

    def __init__(self, shape: Mapping[str, Any], *, component: str, **options: Any) -> None:
        """Take the JSON Schema of the object and its name in the contract."""
        super().__init__(**options)
        self._shape = dict(shape)
        self.component = component

    def json_schema(self) -> dict[str, Any]:
        """Return the shape."""
        return self._shape
