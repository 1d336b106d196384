"""What a computation is asked with: its arguments, the day and the place whose rules count.

Whether an argument is required, may be null and what it defaults to is read from the
computation's own signature, so that the contract cannot drift from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from inspect import Parameter, signature
from typing import Any, ClassVar

from marshmallow import ValidationError, fields, post_load, validates_schema

from service.api.contract.schemas import Described
from service.api.failures.faults import Fault
from service.api.fields import Day, Several
from service.api.fields.quantities import MeasureField, significant
from service.api.fields.words import Jurisdiction
from service.core.errors import FieldFault
from service.usecases.compute.desk import Computation, RulebookDesk

# Half an inch is 12.7 mm and not 12.700000000000001: the last digits are the machine's.
_CONVERTED_DIGITS = 12


class Question(Described):
    """The body of a computation.

    A measure such as ``area`` may stand for the plain number beside it, ``area_m2``;
    one of the two is given, never both.
    """

    computation: ClassVar[Computation]
    # Who knows what is wrong with arguments together; None while only the contract is written.
    desk: ClassVar[RulebookDesk | None] = None

    day = Day(metadata={"description": "The day whose rules count; today (UTC) if left out."})
    jurisdiction = Jurisdiction()

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """Take required, null and default from the computation's argument."""
        argument = _arguments(type(self)).get(field_name)
        if argument is not None:
            default = argument.default
            told_twice = any(field.beside == field_name for _, field in self._measures())
            field_obj.required = default is Parameter.empty and not told_twice
            field_obj.allow_none = default is None
            if default is not Parameter.empty:
                field_obj.load_default = default
        if isinstance(field_obj, MeasureField):
            description = f"Instead of {field_obj.beside}: a value with its unit."
            field_obj.metadata = {"description": description, **field_obj.metadata}
        super().on_bind_field(field_name, field_obj)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def given_once(self, _: Any, original: Any, **__: Any) -> None:
        """Refuse a quantity that is given twice, or not at all where it is needed."""
        if not isinstance(original, Mapping):
            return
        faults: dict[str, list[str]] = {}
        for name, field in self._measures():
            plain = str(field.beside)
            needed = _arguments(type(self))[plain].default is Parameter.empty
            if name in original and plain in original:
                sentence = f"Give {name} or {plain}, not both."
                faults[name] = [Fault(sentence, code="given_twice")]
            elif needed and name not in original and plain not in original:
                sentence = f"Give {plain}, or {name} with its unit."
                faults[plain] = [Fault(sentence, code="required")]
        if faults:
            raise ValidationError(faults)

    def readable(self, values: Mapping[str, Any], sent: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return the values, and of a list with faults in it what can be read, else None."""
        lists = {
            name: [_read(field.inner, one) for one in sent[name]]
            for name, field in self.declared_fields.items()
            if isinstance(field, Several) and name not in values
            if isinstance(sent.get(name), list) and len(sent[name]) <= field.most
        }
        return {**values, **lists}

    def contradictions(self, values: Mapping[str, Any]) -> list[FieldFault]:
        """Return what is wrong with the arguments together, each where it was written."""
        if self.desk is None:
            return []
        written = {str(field.beside): name for name, field in self._measures() if name in values}
        arguments = {
            name: value
            for name, value in self.in_fixed_units(values).items()
            if name in _arguments(type(self))
        }
        found = self.desk.faults(
            type(self).computation,
            arguments,
            day=values.get("day"),
            jurisdiction=values.get("jurisdiction"),
        )
        return [
            FieldFault(
                pointer=f"/{written.get(fault.pointer[1:], fault.pointer[1:])}",
                detail=fault.detail,
                code=fault.fault_code,
            )
            for fault in found
        ]

    @post_load
    def in_fixed_units(self, data: Mapping[str, Any], **_: Any) -> dict[str, Any]:
        """Return the arguments, measures turned into the plain numbers."""
        values = dict(data)
        for name, field in self._measures():
            if name in values:
                entered = values.pop(name).value_in(field.beside_unit)
                values[str(field.beside)] = significant(entered, _CONVERTED_DIGITS)
        return values

    def _measures(self) -> Iterator[tuple[str, MeasureField]]:
        for name, field in self.declared_fields.items():
            if isinstance(field, MeasureField):
                yield name, field


def _read(inner: Any, sent: Any) -> Any:
    try:
        return inner.deserialize(sent)
    except ValidationError:
        return None


@cache
def _arguments(question: type[Question]) -> Mapping[str, Parameter]:
    return signature(question.computation).parameters
