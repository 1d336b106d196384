"""Sums of many days: by day, week or month, by outcome, place, client and status; what it cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.mass_book import ELSEWHERE, LAWN, MassMoved
from service.core.places import DestinationKind
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import span_of
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.travel import Distances
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.whose_then import ClientsThen
from service.usecases.day.problem.prices import CrewMinute, as_priced_then, crew_minute
from service.usecases.telling.evening.amounts import Amount, came_to_places, carried_over
from service.usecases.telling.evening.bodies import Bodies, before, bodies_now
from service.usecases.telling.evening.costs import Cost, costs_of
from service.usecases.telling.evening.evening import STAYED

# A year, its first and last day included; common practice, no source.
MOST_DAYS: Final = 366


# Of the rows: what left a bay in a period and had come there before it; what was in bodies as it
# began, and as it ended.
CARRIED_OVER: Final = "carried_over"
ABOARD_BEFORE: Final = "aboard_before"
ABOARD: Final = "aboard"
GRAM_KG: Final = 0.001


class Span(StrEnum):
    """How days are gathered; a week begins on Monday (ISO 8601)."""

    DAY = "day"
    WEEK = "week"
    MONTH = "month"


FIRST_OF: Final[Mapping[Span, Callable[[date], date]]] = {
    Span.DAY: lambda day: day,
    Span.WEEK: lambda day: day - timedelta(days=day.weekday()),
    Span.MONTH: lambda day: day.replace(day=1),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One sum of a period: by what, of which, with its name."""

    first: date
    until: date
    by: str
    key: str
    name: str
    amount: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """The sums of some days, and what their tips cost; a crew's minute is that of the last day."""

    rows: tuple[Row, ...]
    costs: Mapping[date, Cost]
    crew_minute: CrewMinute


def span_faults(since: date, until: date) -> list[FieldFault]:
    """Return what is wrong with the first and the last of some days."""
    if 0 <= (until - since).days < MOST_DAYS:
        return []
    detail = f"The last day is not before the first, and at most {MOST_DAYS} days are told."
    return [FieldFault(pointer="/until", detail=detail)]


@dataclass(frozen=True, kw_only=True, eq=False)
class TellTotals:
    """Add up days by the mass book, and what bringing it away cost."""

    open_reading: OpenUnitOfWork
    rulebook: Rulebook
    distances: Distances

    def __call__(
        self, caller: Caller, depot_id: UUID, *, since: date, until: date, by: Span
    ) -> Totals:
        """Return the sums of a depot's days from one to another, both included.

        They are of the book as it is now: what was corrected since counts as corrected.

        Raises
        ------
        RecordMissing, RecordNotUsable
        """
        faults = span_faults(since, until)
        if faults:
            raise RecordNotUsable(faults)
        first_of = FIRST_OF[by]
        with self.open_reading() as unit:
            depot, firm = unit.depots.get(caller.firm_id, depot_id), unit.firms.get(caller.firm_id)
            if depot is None or firm is None:
                raise RecordMissing(record="depot", id=depot_id)
            all_since = unit.mass_movements.moved(
                caller.firm_id, depot_id, since=since, before=date.max
            )
            moved = [one for one in all_since if one.day <= until]
            bodies = before(bodies_now(unit, depot), (one for one in all_since if one.day > until))
            days = tuple(since + timedelta(days=n) for n in range((until - since).days + 1))
            loads = unit.loads.all(
                caller.firm_id, depot_id=depot_id, working_day=days, state=tuple(STAYED)
            )
            changes = unit.amendments.of(caller.firm_id, depot_id)
            priced = as_priced_then(depot, changes, span_of(depot, until).end)
            names = _Names.of(unit, caller.firm_id, all_since, bodies)
            costs = costs_of(
                unit,
                depot,
                loads,
                days,
                changes,
                rulebook=self.rulebook,
                distances=self.distances,
                currency=firm.currency,
            )
        periods: dict[date, list[MassMoved]] = defaultdict(list)
        for one in moved:
            periods[first_of(one.day)].append(one)
        spent: dict[date, Cost] = defaultdict(Cost)
        for day, cost in costs.items():
            spent[first_of(day)] = spent[first_of(day)] + cost
        told: list[list[Row]] = []
        for first in sorted({first_of(day) for day in days}, reverse=True):
            last = min(until, _last_of(first, first_of))
            ended, bodies = bodies, before(bodies, periods[first])
            aboard = {ABOARD_BEFORE: bodies, ABOARD: ended}
            told.append(list(_rows(max(first, since), last, periods[first], names, aboard)))
        return Totals(
            rows=tuple(row for rows in reversed(told) for row in rows),
            costs={max(first, since): cost for first, cost in sorted(spent.items())},
            crew_minute=crew_minute(priced, firm.currency, until, rulebook=self.rulebook),
        )


def _last_of(first: date, first_of: Callable[[date], date]) -> date:
    """Return the last day that is gathered with a first one."""
    day = first
    while first_of(day + timedelta(days=1)) == first:
        day += timedelta(days=1)
    return day


@dataclass(frozen=True, slots=True, kw_only=True)
class _Names:
    """Names of places, and whose they are."""

    places: Mapping[UUID, str]
    homes: Mapping[UUID, UUID]
    whose: ClientsThen
    clients: Mapping[UUID, str]

    @classmethod
    def of(
        cls, unit: UnitOfWork, firm_id: UUID, moved: Sequence[MassMoved], bodies: Bodies
    ) -> _Names:
        """Read the names of what kilograms moved from and to, in a statement a kind."""
        ids = sorted({one.from_id for one in moved} | {one.to_id for one in moved})
        places: dict[UUID, Any] = {}
        vehicles = unit.vehicles.get_many(firm_id, sorted({*ids, *bodies}))
        for kind in KINDS.values():
            places |= unit.repository(kind.repository).get_many(firm_id, ids)
        lawns = unit.lawns.get_many(firm_id, ids)
        homes = {p.id: p.property_id for p in (*places.values(), *lawns.values()) if _lies_on(p)}
        properties = unit.properties.get_many(firm_id, sorted({*homes.values(), *ids}))
        # A job that names no lawn was cut on its property.
        at_home = homes | {home.id: home.id for home in properties.values()}
        whose = ClientsThen.of(unit, firm_id, properties.values())
        clients = unit.clients.get_many(firm_id, sorted(whose.all))
        return cls(
            places={place.id: str(place.name) for place in places.values()}
            | {vehicle.id: vehicle.registration for vehicle in vehicles.values()},
            homes=at_home,
            whose=whose,
            clients={client.id: client.name for client in clients.values()},
        )

    def client_of(self, place_id: UUID, day: date) -> tuple[str, str]:
        """Return the id and the name of whose a lawn or bed was on a day; empty if nobody's."""
        home = self.homes.get(place_id)
        client_id = None if home is None else self.whose.on(home, day)
        return ("", "") if client_id is None else (str(client_id), self.clients.get(client_id, ""))


def _lies_on(place: object) -> bool:
    return getattr(place, "property_id", None) is not None


def _rows(
    first: date,
    until: date,
    moved: Sequence[MassMoved],
    names: _Names,
    aboard: Mapping[str, Bodies],
) -> Iterator[Row]:
    sums: dict[tuple[str, str, str], Amount] = defaultdict(Amount)
    for by, bodies in aboard.items():
        for vehicle_id, amount in bodies.items():
            if amount.mass_kg["high"] > GRAM_KG:
                sums[by, str(vehicle_id), names.places.get(vehicle_id, "a vehicle")] = amount
    for kind, place_id, one in came_to_places(moved):
        sums["outcome", kind, kind].add(one)
        sums["status", one.status, one.status].add(one)
        named = "gone in words" if kind == ELSEWHERE else "a place that is gone"
        sums["place", str(place_id), names.places.get(place_id, named)].add(one)
    for bay_id, one in carried_over(moved):
        sums[CARRIED_OVER, str(bay_id), names.places.get(bay_id, "a place that is gone")].add(one)
    for one in moved:
        if one.from_kind == LAWN:
            sums["client_cut", *names.client_of(one.from_id, one.day)].add(one)
        if one.to_kind == DestinationKind.BED:
            sums["client_laid", *names.client_of(one.to_id, one.day)].add(one)
    for (by, key, name), amount in sorted(sums.items()):
        yield Row(first=first, until=until, by=by, key=key, name=name, amount=amount)
