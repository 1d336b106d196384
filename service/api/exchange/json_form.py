"""How answers are written as JSON: plain numbers, times in UTC, members in a fixed order."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time
from enum import Enum
from typing import Any, Final
from uuid import UUID

from flask.json.provider import JSONProvider

from service.api.fields import utc_text

# Every decimal number of 15 digits survives the way through a double and back (IEEE 754
# binary64); the 16th and 17th only show how the machine rounds.
_DIGITS: Final = 15
_LARGEST_WHOLE: Final = 1e15
# Nearly every value of an answer is one of these; a day's routing has tens of thousands.
_AS_THEY_ARE: Final = frozenset({str, int, bool, type(None)})


class PlainJson(JSONProvider):
    """JSON as this service writes it."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        """Return compact JSON in ASCII; NaN and infinities raise."""
        kwargs.setdefault("separators", (",", ":"))
        return json.dumps(plain(obj), allow_nan=False, **kwargs)

    def loads(self, s: str | bytes, **kwargs: Any) -> Any:
        """Read JSON that the service itself wrote; bodies are read in `bodies`."""
        return json.loads(s, **kwargs)


def plain(value: Any) -> Any:
    """Return a value as JSON knows it."""
    kind = type(value)
    if kind in _AS_THEY_ARE:
        return value
    if kind is float:
        return _number(value)
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(entry) for key, entry in value.items()}
    if isinstance(value, Sequence | AbstractSet) and not isinstance(value, str):
        return [plain(entry) for entry in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    for kind, write in _SCALARS:
        if isinstance(value, kind):
            return write(value)
    raise TypeError(f"{type(value).__name__} has no JSON form")


def _number(value: float) -> float | int:
    rounded = float(f"{value:.{_DIGITS}g}")
    if math.isinf(rounded):
        return value  # the largest doubles round up to nothing a double can hold
    if rounded.is_integer() and abs(rounded) < _LARGEST_WHOLE:
        return int(rounded)
    return rounded


# The first that fits: an Enum may be a str too, and a datetime is a date.
_SCALARS: Final[tuple[tuple[type, Callable[[Any], Any]], ...]] = (
    (Enum, lambda value: value.value),
    (str, str),
    (int, int),
    (float, _number),
    (datetime, utc_text),
    (date, date.isoformat),
    (time, time.isoformat),
    (UUID, str),
)
