"""When a place takes loads: hours of its weekdays, the days on which it takes none."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from service.core.errors import FieldFault

_DAY = timedelta(days=1)
NONE_LEFT = timedelta(0)
TIME_TO_COME = timedelta(minutes=30)  # common practice, no source: who is on the way arrives


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningHours:
    """One span of a weekday; Monday is 0. The last load is no later than closing.

    A weekday may have several. One that closes no later than it opens goes on after midnight.
    """

    weekday: int
    opens: time
    closes: time
    last_load: time


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenSpan:
    """When a place takes loads, UTC; the end is the last load."""

    opens_at: datetime
    last_load_at: datetime

    def holds(self, at: datetime) -> bool:
        """Return whether a load may come at a moment."""
        return self.opens_at <= at <= self.last_load_at

    def within(self, starts_at: datetime, ends_at: datetime) -> timedelta:
        """Return how much of it lies between two moments; nothing if none does."""
        return max(NONE_LEFT, min(self.last_load_at, ends_at) - max(self.opens_at, starts_at))


def hours_faults(hours: Sequence[OpeningHours], field: str = "hours") -> list[FieldFault]:
    """Return a fault for each span whose last load is not between opening and closing."""
    return [
        FieldFault(
            pointer=f"/{field}/{number}",
            detail="A day opens before its last load, and the last load is not after closing.",
        )
        for number, span in enumerate(hours)
        if not NONE_LEFT < _after(span.opens, span.last_load) <= _after(span.opens, span.closes)
    ]


def spans_on(
    day: date, hours: Sequence[OpeningHours], closed_on: Collection[date], *, zone: ZoneInfo
) -> tuple[OpenSpan, ...]:
    """Return when a place takes loads on a day of its calendar, the earliest first.

    What began the evening before is of the day as far as it lies in it. On a closed day nothing
    is taken, and the night that would begin on it does not.
    """
    if day in closed_on:
        return ()
    found = [
        span
        for begins in (day - _DAY, day)
        if begins not in closed_on
        for span in _beginning(begins, hours, zone)
    ]
    starts_at, ends_at = (_at(one, time(0), zone) for one in (day, day + _DAY))
    cut = (
        OpenSpan(
            opens_at=max(span.opens_at, starts_at), last_load_at=min(span.last_load_at, ends_at)
        )
        for span in found
    )
    return tuple(sorted((one for one in cut if one.opens_at < one.last_load_at), key=_order))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedHours:
    """When a plan may have a load come, UTC: from, until, and a pause in between if there is one.

    No load comes after the first moment of the pause and before its last.
    """

    whole: OpenSpan
    pause: tuple[datetime, datetime] | tuple[()] = ()


def planned_hours(
    spans: Sequence[OpenSpan], starts_at: datetime, ends_at: datetime
) -> PlannedHours | None:
    """Return the hours of a place that a plan knows of the time between two moments; None of none.

    They are the first two spans that leave time enough to come; of three in one shift the last is
    known when the day is planned anew. Where none does, see ``planned_span``.
    """
    first = planned_span(spans, starts_at, ends_at)
    if first is None:
        return None
    later = [one for one in spans if one.opens_at > first.opens_at]
    second = next((one for one in later if one.within(starts_at, ends_at) >= TIME_TO_COME), None)
    if second is None:
        return PlannedHours(whole=first)
    whole = OpenSpan(opens_at=first.opens_at, last_load_at=second.last_load_at)
    if second.opens_at <= first.last_load_at:
        return PlannedHours(whole=whole)
    return PlannedHours(whole=whole, pause=(first.last_load_at, second.opens_at))


def planned_span(
    spans: Sequence[OpenSpan], starts_at: datetime, ends_at: datetime
) -> OpenSpan | None:
    """Return the span of a place that a plan knows of the time between two moments; None of none.

    It is the first that leaves time enough to come: a later one would have vehicles stand before
    an open gate. Where none does it is the one that leaves most, and of those that leave nothing
    the one that lasts longest after the first moment.
    """
    first = next((one for one in spans if one.within(starts_at, ends_at) >= TIME_TO_COME), None)
    return first or max(
        spans,
        key=lambda span: (
            span.within(starts_at, ends_at),
            span.within(starts_at, span.last_load_at),
        ),
        default=None,
    )


def _beginning(day: date, hours: Sequence[OpeningHours], zone: ZoneInfo) -> Iterator[OpenSpan]:
    for one in hours:
        if one.weekday == day.weekday():
            ends = day if one.last_load > one.opens else day + _DAY
            yield OpenSpan(
                opens_at=_at(day, one.opens, zone), last_load_at=_at(ends, one.last_load, zone)
            )


def _at(day: date, clock: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


def _after(first: time, then: time) -> timedelta:
    """Return how long after one clock time the next other comes; nothing if it is the same."""
    apart = datetime.combine(date.min, then) - datetime.combine(date.min, first)
    return apart % _DAY


def _order(span: OpenSpan) -> tuple[datetime, datetime]:
    return span.opens_at, span.last_load_at
