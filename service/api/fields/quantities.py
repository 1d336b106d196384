"""Fields for quantities with units and for points on the map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from marshmallow import ValidationError

from service.api.failures.faults import NOT_AN_OBJECT, REQUIRED, UNKNOWN_FIELD, Fault, refused
from service.api.fields import Choice, Number, Strict
from service.core.measures.quantities import UNITS, Measure, Quantity, codes_of, from_si
from service.core.places import Point

# Six digits tell a gram in a tonne; more would pretend to a precision nobody measured.
_SI_DIGITS: Final = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """What a measure may be: `low` to `high` in `unit`, both allowed.

    The limits catch typing errors; they are common practice, no source. The name is that of
    its schema in the contract.
    """

    name: str
    quantity: Quantity
    unit: str
    low: float
    high: float

    def limits_in(self, code: str) -> tuple[float, float]:
        """Return the limits in another unit of the quantity."""
        low, high = (Measure(value=end, unit=self.unit).si_value for end in (self.low, self.high))
        return from_si(low, code), from_si(high, code)


class MeasureField(Strict):
    """A value with its unit, kept as entered: {"value": 450, "unit": "m2"}.

    ``beside`` names the read-only field of the answer with the same value in one
    fixed unit, such as ``area_m2``; None if another field tells it.
    """

    def __init__(
        self, span: Span, *, beside: str | None = None, beside_unit: str = "", **options: Any
    ) -> None:
        """Take what is allowed, and the name and unit of the value beside it."""
        super().__init__(**options)
        self.span, self.beside, self.beside_unit = span, beside, beside_unit
        self.members_optional = False
        self._unit = Choice(codes_of(span.quantity))
        self._value = Number()

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Measure:
        members = _members(value, ("value", "unit"))
        entered, faults = {}, {}
        for name, field in (("value", self._value), ("unit", self._unit)):
            try:
                entered[name] = field.deserialize(members[name])
            except ValidationError as error:
                faults[name] = error.messages
        if faults:
            if self.span.low >= 0 > entered.get("value", 0):
                # Less than nothing in any unit.
                faults["value"] = [Fault("Write a number above 0.", code="out_of_range")]
            raise ValidationError(faults)
        low, high = self.span.limits_in(entered["unit"])
        if not low <= entered["value"] <= high:
            raise ValidationError({"value": [self._out_of_range(entered["unit"], low, high)]})
        return Measure(value=entered["value"], unit=entered["unit"])

    def _out_of_range(self, unit: str, low: float, high: float) -> Fault:
        sentence = f"Write a number from {low:,.6g} to {high:,.6g} {unit}."
        return Fault(sentence, code="out_of_range")

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else {"value": value.value, "unit": value.unit}

    @property
    def component(self) -> str:  # type: ignore[override] # worked out here, written elsewhere
        """The name of the schema in the contract."""
        return self.span.name + ("Changes" if self.members_optional else "")

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the object, one limit a unit."""
        codes = codes_of(self.span.quantity)
        return {
            "type": "object",
            "description": "; ".join(f"{code}: {UNITS[code].name}" for code in codes),
            "properties": {
                "value": {"type": "number"},
                "unit": {"type": "string", "enum": list(codes)},
            },
            **({} if self.members_optional else {"required": ["value", "unit"]}),
            "additionalProperties": False,
            "anyOf": [self._schema_in(code) for code in codes],
        }

    def _schema_in(self, code: str) -> dict[str, Any]:
        low, high = self.span.limits_in(code)
        return {"properties": {"value": {"minimum": low, "maximum": high}, "unit": {"const": code}}}


class InUnit(Number):
    """The value of a measure of the same record in one fixed unit; read only."""

    def __init__(self, measure: str, unit: str, *, allow_none: bool) -> None:
        """Take the measure's field, the unit wanted, and whether the measure may be missing."""
        super().__init__(
            allow_none=allow_none,
            metadata={"description": f"{measure} in {unit}, worked out from what was entered."},
        )
        self.measure, self.unit = measure, unit

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> Any:
        """Return the value in the unit, or None where nothing was entered."""
        entered: Measure | None = getattr(obj, self.measure)
        return None if entered is None else significant(entered.value_in(self.unit), _SI_DIGITS)


class PointField(Strict):
    """A GeoJSON point: longitude first, then latitude (RFC 7946, 3.1.1)."""

    order: Final = "GeoJSON puts the longitude first, then the latitude"

    def __init__(self, **options: Any) -> None:
        """Take the usual options of a field."""
        super().__init__(**options)
        self.members_optional = False

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Point:
        members = _members(value, ("type", "coordinates"))
        if members["type"] != "Point":
            raise ValidationError({"type": [Fault('Write "Point".', code="not_a_choice")]})
        found = members["coordinates"]
        if not isinstance(found, list) or len(found) != len(_AXES):
            raise ValidationError({"coordinates": [_sentence("Write two numbers")]})
        faults = {}
        for index, (name, limit) in enumerate(_AXES):
            degrees = found[index]
            if (
                isinstance(degrees, bool)
                or not isinstance(degrees, int | float)
                or not -limit <= degrees <= limit
            ):
                faults[index] = [_sentence(f"Write the {name}, from -{limit} to {limit}")]
        if faults:
            raise ValidationError({"coordinates": faults})
        return Point(longitude=float(found[0]), latitude=float(found[1]))

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else point_as_geojson(value)

    @property
    def component(self) -> str:  # type: ignore[override] # worked out here, written elsewhere
        """The name of the schema in the contract."""
        return "PointChanges" if self.members_optional else "Point"

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a GeoJSON point on WGS 84."""
        return {
            "type": "object",
            "description": f"A GeoJSON point on WGS 84. {self.order}.",
            "properties": {
                "type": {"type": "string", "const": "Point"},
                "coordinates": {
                    "type": "array",
                    "prefixItems": [
                        {"type": "number", "minimum": -limit, "maximum": limit, "title": name}
                        for name, limit in _AXES
                    ],
                    "minItems": len(_AXES),
                    "maxItems": len(_AXES),
                },
            },
            **({} if self.members_optional else {"required": ["type", "coordinates"]}),
            "additionalProperties": False,
        }


_AXES: Final = (("longitude", 180), ("latitude", 90))


def point_as_geojson(point: Point) -> dict[str, Any]:
    """Return the point as RFC 7946 writes it; 7 decimals are a centimetre."""
    return {
        "type": "Point",
        "coordinates": [round(point.longitude, 7), round(point.latitude, 7)],
    }


def significant(number: float, digits: int) -> float:
    """Return the number with so many significant digits."""
    return float(f"{number:.{digits}g}")


def _sentence(allowed: str) -> Fault:
    return Fault(f"{allowed}: {PointField.order}.", code="not_a_position")


def _members(value: Any, names: tuple[str, ...]) -> Mapping[str, Any]:
    """Return an object's members; refuse missing and unknown ones, all at once."""
    if not isinstance(value, dict):
        raise refused(NOT_AN_OBJECT, code="not_an_object")
    unknown = Fault(UNKNOWN_FIELD.format(fields=", ".join(names)), code="unknown_field")
    faults: dict[str, list[str]] = {name: [unknown] for name in value if name not in names}
    faults |= {name: [REQUIRED] for name in names if name not in value}
    if faults:
        raise ValidationError(faults)
    return value
