"""Estimates in answers: low, likely, high, and what they rest on."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import fields

from service.api.contract.schemas import Answered
from service.api.fields import Number, Several, Strict, Text
from service.api.fields.quantities import significant

# An estimate is good to a fifth at best; four digits are more than it knows.
_DIGITS: Final = 4


class Estimated(Number):
    """A number nobody weighed: no more digits than it deserves."""

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else significant(value, _DIGITS)


class EstimateAnswer(Answered):
    """A quantity with its spread: the 10th, 50th and 90th percentile."""

    low = Estimated(low=0)
    likely = Estimated(low=0)
    high = Estimated(low=0)
    unit = Text(longest=20)
    basis = Text(longest=1000)
    sources = Several(Text(longest=100), most=100)


class FactorAnswer(Answered):
    """One number that went into an estimate."""

    name = Text(longest=100)
    value = fields.Nested(EstimateAnswer)


class Members(Strict):
    """An object whose members depend on the code beside it."""

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of any object."""
        return {"type": "object"}
