"""Times: moments with their offset, dates, and the clock on the wall."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time
from typing import Any, Final

from service.api.failures.faults import refused
from service.api.fields.base import Strict

# Nothing in the trade is older than these years or lies later: a guard against typing errors,
# common practice, no source.
FIRST_YEAR: Final = 1990
LAST_YEAR: Final = 2199
# RFC 3339, section 5.6, without leap seconds and without the unknown offset -00:00.
_DATE_TIME: Final = re.compile(
    r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,6})?([Zz]|[+-]\d\d:\d\d)", re.ASCII
)
_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_TIME: Final = re.compile(r"([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?")


class Moment(Strict):
    """A date and time with its offset; kept and answered in UTC."""

    sentence: Final = (
        "Write a date and time with its offset (RFC 3339), such as "
        f"2026-05-24T14:05:00+01:00, of the years {FIRST_YEAR} to {LAST_YEAR}."
    )

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> datetime:
        if not isinstance(value, str) or not _DATE_TIME.fullmatch(value):
            raise refused(self.sentence, code="not_a_date_time")
        try:
            moment = datetime.fromisoformat(value.upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            raise refused(self.sentence, code="not_a_date_time") from None
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise refused(self.sentence, code="out_of_range")
        return moment

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else utc_text(value)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a date and time."""
        return {"type": "string", "format": "date-time"}


class Day(Strict):
    """A calendar date."""

    sentence = f"Write a date such as 2026-05-24, of the years {FIRST_YEAR} to {LAST_YEAR}."

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> date:
        if not isinstance(value, str) or not _DATE.fullmatch(value):
            raise refused(self.sentence, code="not_a_date")
        try:
            day = date.fromisoformat(value)
        except ValueError:
            raise refused(self.sentence, code="not_a_date") from None
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise refused(self.sentence, code="out_of_range")
        return day

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else value.isoformat()

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a date."""
        return {"type": "string", "format": "date"}


class TimeOfDay(Strict):
    """A local time of day, without offset: the place's own clock."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> time:
        if not isinstance(value, str) or not _TIME.fullmatch(value):
            raise refused("Write a time such as 17:30.", code="not_a_time")
        return time.fromisoformat(value)

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else value.isoformat("minutes" if not value.second else "auto")

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a time of day."""
        return {"type": "string", "pattern": f"^{_TIME.pattern}$"}


def utc_text(moment: datetime) -> str:
    """Return a moment in UTC as RFC 3339 writes it, with a Z."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
