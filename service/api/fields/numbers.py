"""Numbers: finite, in their range, and neither text nor true."""

from __future__ import annotations

import math
import re
from typing import Any, Final

from service.api.failures.faults import refused
from service.api.fields.base import Strict

_DIGITS: Final = re.compile(r"\d{1,9}", re.ASCII)
_DECIMAL: Final = re.compile(r"\d{1,9}(\.\d{1,9})?", re.ASCII)


class Number(Strict):
    """A finite JSON number within a range; true, "3" and NaN are none."""

    def __init__(
        self,
        *,
        low: float | None = None,
        high: float | None = None,
        above: float | None = None,
        decimals: int | None = None,
        **options: Any,
    ) -> None:
        """Take the range: `low` and `high` are allowed themselves, `above` is not."""
        super().__init__(**options)
        self.low, self.high, self.above, self.decimals = low, high, above, decimals

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> float | int:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise refused(self.sentence(), code="not_a_number")
        if not math.isfinite(value) or not self._within(value):
            raise refused(self.sentence(), code="out_of_range")
        return float(value)

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if value is None or self.decimals is None:
            return value
        return round(value, self.decimals)

    def _within(self, value: float) -> bool:
        return (
            (self.low is None or value >= self.low)
            and (self.above is None or value > self.above)
            and (self.high is None or value <= self.high)
        )

    def sentence(self) -> str:
        """Return what is allowed."""
        return f"Write {self.noun()}{self._range()}."

    def noun(self) -> str:
        """Return what the field calls its values."""
        return "a number"

    def _range(self) -> str:
        low = f"above {self.above:g}" if self.above is not None else None
        if self.low is not None:
            low = f"from {_plain(self.low)}"
        high = f"to {_plain(self.high)}" if self.high is not None else None
        return "".join(f" {part}" for part in (low, high) if part is not None)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a number in the range."""
        limits = {"minimum": self.low, "exclusiveMinimum": self.above, "maximum": self.high}
        return {
            "type": self._json_type(),
            **{name: limit for name, limit in limits.items() if limit is not None},
        }

    def _json_type(self) -> str:
        return "number"


class Integer(Number):
    """A whole number; 1028.0 is one, as JSON Schema says."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> int:
        number = super()._deserialize(value, *args, **kwargs)
        if not float(number).is_integer():
            raise refused(self.sentence(), code="not_an_integer")
        return int(number)

    def noun(self) -> str:
        """Return what the field calls its values."""
        return "a whole number"

    def _json_type(self) -> str:
        return "integer"


class IntegerInQuery(Integer):
    """A whole number in a query, where everything is text."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> int:
        if not isinstance(value, str) or not _DIGITS.fullmatch(value):
            raise refused(self.sentence(), code="not_an_integer")
        return super()._deserialize(int(value), *args, **kwargs)


class NumberInQuery(Number):
    """A decimal number in a query, where everything is text."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> float | int:
        if not isinstance(value, str) or not _DECIMAL.fullmatch(value):
            raise refused(self.sentence(), code="not_a_number")
        return super()._deserialize(float(value), *args, **kwargs)


def _plain(number: float) -> str:
    return f"{number:,.15g}"
