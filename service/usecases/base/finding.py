"""What lists are found by beside the fields of their records: days, lots, answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from service.core.places import Depot
from service.core.records import Clock
from service.usecases.base.calendar import day_of, span_of
from service.usecases.base.ports import UnitOfWork

# Asked for: a date of each depot's calendar, or the word for the one that it has now.
DAY: Final = "day"
TODAY: Final = "today"
# Handed to the books: see DepotDay.
DAYS: Final = "days"
LOT_CODE: Final = "lot_code"
ANSWER: Final = "answer"


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
