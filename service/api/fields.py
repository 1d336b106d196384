"""Strict fields: each refuses what it does not mean, and says what is allowed.

A field knows its own JSON Schema (`json_schema`), so that the contract and the check
cannot drift apart.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, time
from enum import StrEnum
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from marshmallow import ValidationError, fields

from service.api.faults import NOT_NULL, REQUIRED, refused

# Nothing in the trade is older than these years or lies later: a guard against typing errors,
# common practice, no source.
FIRST_YEAR: Final = 1990
LAST_YEAR: Final = 2199

_CONTROL: Final = r"\u0000-\u001f\u007f-\u009f"
_CONTROL_BUT_BREAKS: Final = r"\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f"
_UUID: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE)
# RFC 3339, section 5.6, without leap seconds and without the unknown offset -00:00.
_DATE_TIME: Final = re.compile(
    r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,6})?([Zz]|[+-]\d\d:\d\d)", re.ASCII
)
_DIGITS: Final = re.compile(r"\d{1,9}", re.ASCII)
_DECIMAL: Final = re.compile(r"\d{1,9}(\.\d{1,9})?", re.ASCII)
_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_TIME: Final = re.compile(r"([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?")


class Strict(fields.Field[Any]):
    """Base of the fields: never lenient, and able to state its own schema."""

    default_error_messages = {"required": REQUIRED, "null": NOT_NULL}  # noqa: RUF012 - how marshmallow is told

    component: str | None = None
    """The name its schema has in the contract, where many fields share one."""

    def json_schema(self) -> dict[str, Any]:
        """Return the JSON Schema (2020-12) of the value, null left out."""
        raise NotImplementedError


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

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> float | int:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise refused(self.sentence(), code="not_a_number")
        if not math.isfinite(value) or not self._within(value):
            raise refused(self.sentence(), code="out_of_range")
        return float(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
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
        return f"Here stands {self.noun()}{self._range()}."

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

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> int:
        number = super()._deserialize(value, attr, data, **kwargs)
        if not float(number).is_integer():
            raise refused(self.sentence(), code="not_an_integer")
        return int(number)

    def noun(self) -> str:
        """Return what the field calls its values."""
        return "a whole number"

    def _json_type(self) -> str:
        return "integer"


class Count(Integer):
    """A whole number in a query, where everything is text."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> int:
        if not isinstance(value, str) or not _DIGITS.fullmatch(value):
            raise refused(self.sentence(), code="not_an_integer")
        return super()._deserialize(int(value), attr, data, **kwargs)


class Amount(Number):
    """A decimal number in a query, where everything is text."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> float | int:
        if not isinstance(value, str) or not _DECIMAL.fullmatch(value):
            raise refused(self.sentence(), code="not_a_number")
        return super()._deserialize(float(value), attr, data, **kwargs)


class Flag(Strict):
    """true or false, nothing else."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> bool:
        if not isinstance(value, bool):
            raise refused("Here stands true or false.", code="not_a_boolean")
        return value

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a boolean."""
        return {"type": "boolean"}


class Text(Strict):
    """Text that says something: trimmed, not empty, no control characters, not too long."""

    def __init__(
        self,
        *,
        longest: int,
        breaks: bool = False,
        pattern: str | None = None,
        allowed: str | None = None,
        **options: Any,
    ) -> None:
        """Take the most characters, whether line breaks may be in it, and a pattern with words."""
        super().__init__(**options)
        self.longest, self.pattern, self.allowed = longest, pattern, allowed
        control = _CONTROL_BUT_BREAKS if breaks else _CONTROL
        self._sane = rf"^[^{control}]*[^\s{control}][^{control}]*$"
        self._controls = re.compile(f"[{control}]")

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> str:
        if not isinstance(value, str):
            raise refused(self.sentence(), code="not_text")
        text = value.strip()
        if not text or self._controls.search(text) or not _encodable(text):
            raise refused(self.sentence(), code="text_not_usable")
        if len(value) > self.longest:
            raise refused(self.sentence(), code="too_long")
        if self.pattern is not None and not re.fullmatch(self.pattern, text):
            raise refused(self.sentence(), code="text_not_usable")
        return text

    def sentence(self) -> str:
        """Return what is allowed."""
        what = self.allowed or "text without control characters"
        return f"Here stands {what}, 1 to {self.longest} characters."

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the text."""
        pattern = self._sane if self.pattern is None else f"^{self.pattern}$"
        return {"type": "string", "minLength": 1, "maxLength": self.longest, "pattern": pattern}


class ZoneName(Text):
    """A time zone of the IANA database."""

    def __init__(self, **options: Any) -> None:
        """Allow names such as Europe/London."""
        super().__init__(
            longest=64,
            pattern=r"[A-Za-z][A-Za-z0-9_+/-]*",
            allowed="a time zone of the IANA database such as Europe/London",
            **options,
        )

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> str:
        name = super()._deserialize(value, attr, data, **kwargs)
        try:
            ZoneInfo(name)
        except (ValueError, OSError, KeyError):
            raise refused(self.sentence(), code="time_zone_unknown") from None
        return name


class Choice(Strict):
    """One of a closed list of words."""

    def __init__(self, words: type[StrEnum] | tuple[str, ...], **options: Any) -> None:
        """Take an enumeration or the words themselves."""
        super().__init__(**options)
        self.words = tuple(str(word) for word in words)
        self._make: Callable[[str], Any] = words if isinstance(words, type) else str

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Any:
        if not isinstance(value, str) or value not in self.words:
            raise refused(f"Here stands one of: {', '.join(self.words)}.", code="not_a_choice")
        return self._make(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else str(value)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the list."""
        return {"type": "string", "enum": list(self.words)}


class Identifier(Strict):
    """A UUID written with hyphens."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> UUID:
        if not isinstance(value, str) or not _UUID.fullmatch(value):
            raise refused("Here stands a UUID, written with hyphens.", code="not_a_uuid")
        return UUID(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else str(value)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a UUID."""
        return {"type": "string", "format": "uuid"}


class Moment(Strict):
    """A date and time with its offset; kept and answered in UTC."""

    sentence: Final = (
        "Here stands a date and time with its offset (RFC 3339), such as "
        f"2026-05-24T14:05:00+01:00, of the years {FIRST_YEAR} to {LAST_YEAR}."
    )

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> datetime:
        if not isinstance(value, str) or not _DATE_TIME.fullmatch(value):
            raise refused(self.sentence, code="not_a_date_time")
        try:
            moment = datetime.fromisoformat(value.upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            raise refused(self.sentence, code="not_a_date_time") from None
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise refused(self.sentence, code="out_of_range")
        return moment

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else utc_text(value)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a date and time."""
        return {"type": "string", "format": "date-time"}


class Day(Strict):
    """A calendar date."""

    sentence: Final = (
        f"Here stands a date such as 2026-05-24, of the years {FIRST_YEAR} to {LAST_YEAR}."
    )

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> date:
        if not isinstance(value, str) or not _DATE.fullmatch(value):
            raise refused(self.sentence, code="not_a_date")
        try:
            day = date.fromisoformat(value)
        except ValueError:
            raise refused(self.sentence, code="not_a_date") from None
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise refused(self.sentence, code="out_of_range")
        return day

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else value.isoformat()

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a date."""
        return {"type": "string", "format": "date"}


class TimeOfDay(Strict):
    """A local time of day, without offset: the place's own clock."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> time:
        if not isinstance(value, str) or not _TIME.fullmatch(value):
            raise refused("Here stands a time such as 17:30.", code="not_a_time")
        return time.fromisoformat(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else value.isoformat("minutes" if not value.second else "auto")

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a time of day."""
        return {"type": "string", "pattern": f"^{_TIME.pattern}$"}


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

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> tuple[Any, ...]:
        if not isinstance(value, list) or len(value) > self.most:
            raise refused(f"Here stands a list of up to {self.most} values.", code="not_a_list")
        kept, faults = [], {}
        for index, entry in enumerate(value):
            try:
                kept.append(self.inner.deserialize(entry, **kwargs))
            except ValidationError as error:
                faults[index] = error.messages
        if faults:
            raise ValidationError(faults)
        if self.unique and len({repr(entry) for entry in kept}) < len(kept):
            raise refused("Each value stands here once.", code="not_unique")
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


def utc_text(moment: datetime) -> str:
    """Return a moment in UTC as RFC 3339 writes it, with a Z."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _encodable(text: str) -> bool:
    """Tell half a surrogate pair, which no encoding of Unicode can carry."""
    return not any("\ud800" <= character <= "\udfff" for character in text)


def _plain(number: float) -> str:
    return f"{number:,.15g}"
