"""Schemas: one description of a record, and the four shapes that follow from it.

A record is described once, by the fields a caller writes. From it follow the body of
a create (`new_schema`), of an amendment (`changes_schema`), of an answer
(`answer_schema`) and of a page (`page_schema`). Whether a field is required, may be
null and what it defaults to is read from the frozen dataclass in the core.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING
from dataclasses import Field as RecordField
from dataclasses import fields as record_fields
from functools import cache
from typing import Any, ClassVar, Self, TypeVar

import marshmallow
from marshmallow import Schema, ValidationError, fields, post_load, validates_schema

from service.api.failures.faults import NOT_AN_OBJECT, UNKNOWN_FIELD, Fault
from service.api.fields import Identifier, Integer, Link, Moment, Several
from service.api.fields.quantities import InUnit, MeasureField, PointField
from service.core.errors import FieldFault

AnySchema = TypeVar("AnySchema", bound=type[Schema])


class Described(Schema):
    """Base of all schemas: unknown fields are refused, and the known ones named."""

    class Meta:
        """What marshmallow and the contract are told of every schema."""

        unknown = marshmallow.RAISE

    def __init__(self, **options: Any) -> None:
        """Write the refusals of this schema."""
        super().__init__(**options)
        known = ", ".join(self.load_fields)
        self.error_messages["unknown"] = Fault(
            UNKNOWN_FIELD.format(fields=known), code="unknown_field"
        )
        self.error_messages["type"] = Fault(NOT_AN_OBJECT, code="not_an_object")

    def readable(self, values: Mapping[str, Any], sent: Mapping[str, Any]) -> Mapping[str, Any]:  # noqa: ARG002 - most hold nothing else
        """Return what can be read of a body, to look for contradictions in it."""
        return values

    def contradictions(self, values: Mapping[str, Any]) -> Iterable[FieldFault]:  # noqa: ARG002 - most have none
        """Return what is wrong with the readable values together."""
        return ()

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def tell_contradictions(self, values: Any, sent: Any, **_: Any) -> None:
        """Refuse contradictions beside other faults, but of no field that is faulty already."""
        if not isinstance(sent, Mapping):
            return
        messages: dict[str, Any] = {}
        for fault in self.contradictions(self.readable(values, sent)):
            *parents, last = fault.pointer.removeprefix("/").split("/")
            inner = messages
            for parent in parents:
                inner = inner.setdefault(parent, {})
            inner[last] = [Fault(fault.detail, code=fault.fault_code)]
        for name in sent.keys() - values.keys():
            if isinstance(messages.get(name), list):
                del messages[name]
        if messages:
            raise ValidationError(messages)

    def __deepcopy__(self, _memo: dict[int, Any]) -> Self:
        """Return itself: every decorator of a view copies what it says, and changes no schema."""
        return self


class RecordFields(Described):
    """Fields of a record of the core: what has no default there is required here."""

    record_type: ClassVar[type]

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """Take required, null and default from the dataclass."""
        defaults = _defaults(self.record_type)
        if field_name in defaults and field_name != "id":
            default = defaults[field_name]
            field_obj.required = default is MISSING
            field_obj.allow_none = default is None
            if default is not MISSING:
                field_obj.load_default = default
        super().on_bind_field(field_name, field_obj)


class ValueFields(RecordFields):
    """Fields of a value inside a record; loads to the frozen dataclass itself."""

    @post_load
    def build(self, data: Mapping[str, Any], **_: Any) -> Any:
        """Return the value."""
        return self.record_type(**data)


class Kept(Described):
    """What every kept record has; in an answer nothing is ever left out."""

    id = Identifier()
    version = Integer(low=1)
    created_at = Moment()
    updated_at = Moment()

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """State every field as present."""
        super().on_bind_field(field_name, field_obj)
        _always_present(field_obj)


class Answered(Described):
    """A value in an answer: nothing is ever left out."""

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """State every field as present."""
        super().on_bind_field(field_name, field_obj)
        _always_present(field_obj)


class Changes(Described):
    """A merge patch (RFC 7396): every field may be left out, null puts the default back."""

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """Make the field optional, and the members inside it."""
        super().on_bind_field(field_name, field_obj)
        if not field_obj.required:
            field_obj.allow_none = True
        field_obj.required = False
        field_obj.load_default = marshmallow.missing
        if isinstance(field_obj, MeasureField | PointField):
            field_obj.members_optional = True
        if isinstance(field_obj, fields.Nested):
            field_obj.nested = changes_schema(type(field_obj.schema))
            field_obj._schema = None  # noqa: SLF001 - the schema it had was made from the old class


@cache
def new_schema(described: type[RecordFields], *, own_id: bool = False) -> type[Schema]:
    """Return the schema of the body that creates a record.

    Parameters
    ----------
    described
        The fields a caller writes.
    own_id
        Whether the caller may make the record's id, as a device without signal does.
    """
    members = {"id": Identifier(required=False)} if own_id else {}
    return type(f"New{noun(described)}", (described,), {"__module__": __name__, **members})


@cache
def changes_schema(described: type[Schema]) -> type[Schema]:
    """Return the schema of the body that amends a record."""
    return type(f"{noun(described)}Changes", (Changes, described), {"__module__": __name__})


@cache
def answer_schema(described: type[RecordFields], *more: type[Schema]) -> type[Schema]:
    """Return the schema of a record in an answer, measures in SI beside what was entered.

    Parameters
    ----------
    described
        The fields a caller writes.
    more
        Schemas of fields that only the service writes.
    """
    defaults = _defaults(described.record_type)
    beside = {
        field.beside: InUnit(name, field.beside_unit, allow_none=defaults[name] is None)
        for name, field in described._declared_fields.items()  # noqa: SLF001 - no public name
        if isinstance(field, MeasureField) and field.beside is not None
    }
    return type(noun(described), (*more, described, Kept), {"__module__": __name__, **beside})


@cache
def page_schema(answer: type[Schema]) -> type[Schema]:
    """Return the schema of a page of a list."""
    return type(
        f"{answer.__name__}Page",
        (Answered,),
        {
            "__module__": __name__,
            "items": Entries(answer),
            "next": Link(
                allow_none=True,
                metadata={"description": "Where the next page is; null at the end."},
            ),
        },
    )


class Entries(fields.List[Any]):
    """A list in an answer."""

    def __init__(self, answer: type[Schema], **options: Any) -> None:
        """Take the schema of the entries."""
        super().__init__(fields.Nested(answer), **options)


def noun(described: type[Schema]) -> str:
    """Return the name of what is described: ``CrewFields`` describe a ``Crew``."""
    return described.__name__.removesuffix("Fields").removesuffix("Answer")


@cache
def _defaults(record_type: type) -> Mapping[str, Any]:
    """Return field -> default of a dataclass, MISSING where there is none."""
    return {field.name: _default(field) for field in record_fields(record_type)}


def _default(field: RecordField[Any]) -> Any:
    if field.default_factory is not MISSING:
        return field.default_factory()
    return field.default


def _always_present(field: fields.Field[Any]) -> None:
    field.required = True
    field.load_default = marshmallow.missing


__all__ = [
    "Answered",
    "Described",
    "Entries",
    "Kept",
    "RecordFields",
    "Several",
    "ValueFields",
    "answer_schema",
    "changes_schema",
    "new_schema",
    "page_schema",
]
