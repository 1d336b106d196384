"""The working day is the depot's: from midnight to midnight in its time zone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.errors import RecordMissing
from service.core.measures.units import date_words
from service.core.places import Depot
from service.core.records import Clock
from service.usecases.base.ports.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySpan:
    """One working day of a depot as a span of UTC, and its seconds.

    Seconds of the day are counted in real time from midnight, so that a day with a
    clock change has 23 or 25 hours and no second twice.
    """

    day: date
    start: datetime
    end: datetime
    zone: ZoneInfo

    def second(self, at: datetime) -> int:
        """Return the second of the day of a moment, negative before midnight."""
        return int((at - self.start).total_seconds())

    def at_second(self, second: int) -> datetime:
        """Return the moment of a second of the day, UTC."""
        return self.start + timedelta(seconds=second)

    def at_clock(self, clock: time) -> datetime:
        """Return the moment of a clock time on the day, UTC."""
        return datetime.combine(self.day, clock, tzinfo=self.zone).astimezone(UTC)


def find_depot(unit: UnitOfWork, firm_id: UUID, depot_id: UUID) -> Depot:
    """Return a depot of a firm. Raises RecordMissing, also for another firm's."""
    depot: Depot | None = unit.depots.get(firm_id, depot_id)
    if depot is None:
        raise RecordMissing(record="depot", id=depot_id)
    return depot


def clock_words(at: datetime, *, day: date) -> str:
    """Return what the clock shows at a moment in its own zone, with the date if another."""
    return f"{at:%H:%M}" if at.date() == day else f"{at:%H:%M} on {date_words(at.date())}"


def depot_clock(depot: Depot | None, at: datetime, *, now: datetime | None = None) -> str:
    """Return what a depot's clock shows at a moment, with the date if it is another day's.

    Of a depot that is gone it is the clock of UTC.

    Parameters
    ----------
    now
        The moment whose day goes without saying; none does if left out.
    """
    zone = ZoneInfo("UTC" if depot is None else depot.time_zone)
    day = date.min if now is None else now.astimezone(zone).date()
    return clock_words(at.astimezone(zone), day=day)


def day_of(depot: Depot, at: datetime) -> date:
    """Return the depot's working day of a moment."""
    return at.astimezone(ZoneInfo(depot.time_zone)).date()


def span_of(depot: Depot, day: date) -> DaySpan:
    """Return the span of a depot's working day."""
    zone = ZoneInfo(depot.time_zone)
    start = datetime.combine(day, time(0), tzinfo=zone).astimezone(UTC)
    end = datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone).astimezone(UTC)
    return DaySpan(day=day, start=start, end=end, zone=zone)


# Asked for: a date of each depot's calendar, or the word for the one that it has now.
DAY: Final = "day"
TODAY: Final = "today"
# Handed to the books: see DepotDay.
DAYS: Final = "days"
LOT_CODE: Final = "lot_code"
ANSWER: Final = "answer"
# Of jobs: those of some statuses, and what is aboard or was in a load that was not clean; nothing
# else can have turned sour.
MAY_BE_SOUR: Final = "may_be_sour"


@dataclass(frozen=True, slots=True, kw_only=True)
class DepotDay:
    """One day of one depot, and the moments between which it lies."""

    depot_id: UUID
    day: date
    start: datetime
    end: datetime


def with_days(
    unit: UnitOfWork, firm_id: UUID, filters: Mapping[str, object], clock: Clock
) -> Mapping[str, object]:
    """Return the filters with days as the firm's depots, or the depots asked for, have them."""
    if DAY not in filters:
        return filters
    wanted: Any = filters[DAY]
    asked: Any = filters.get("depot_id")
    only = asked if isinstance(asked, tuple) or asked is None else (asked,)
    days = [
        _depot_day(depot, day_of(depot, clock.now()) if day == TODAY else day)
        for depot in unit.depots.all(firm_id)
        if only is None or depot.id in only
        for day in (wanted if isinstance(wanted, tuple) else (wanted,))
    ]
    return {**{name: value for name, value in filters.items() if name != DAY}, DAYS: tuple(days)}


def _depot_day(depot: Depot, day: date) -> DepotDay:
    span = span_of(depot, day)
    return DepotDay(depot_id=depot.id, day=day, start=span.start, end=span.end)
