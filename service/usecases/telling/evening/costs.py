"""What bringing clippings away cost: fees, the way to the tips and back, and the crew's time."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from service.core.callers.access import Amendment
from service.core.jobs import Job, JobState
from service.core.loads import Load
from service.core.measures.units import METRES_PER_KM
from service.core.places import Depot, DestinationKind, Point
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import DepotDay, day_of, span_of
from service.usecases.base.ports.travel import Distances
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.problem.prices import COSTS, as_priced_then, crew_minute
from service.usecases.day.reading.places import points_of, read_places


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Hundredths of the currency, and what they are of."""

    fee_cents: float = 0.0
    way_cents: float = 0.0
    time_cents: float = 0.0
    tips: int = 0
    way_km: float = 0.0
    minutes: float = 0.0

    def __add__(self, other: Cost) -> Cost:
        """Return both together."""
        return Cost(
            fee_cents=self.fee_cents + other.fee_cents,
            way_cents=self.way_cents + other.way_cents,
            time_cents=self.time_cents + other.time_cents,
            tips=self.tips + other.tips,
            way_km=self.way_km + other.way_km,
            minutes=self.minutes + other.minutes,
        )


def costs_of(
    unit: UnitOfWork,
    depot: Depot,
    loads: Sequence[Load],
    days: Sequence[date],
    changes: Sequence[Amendment],
    *,
    rulebook: Rulebook,
    distances: Distances,
    currency: str,
) -> dict[date, Cost]:
    """Return by day what the tips of a depot cost, each at that day's price of a crew's minute.

    That is the price at the end of the day by the ``changes`` of the depot: one that is set later
    leaves it as it was.

    The way of a tip is what the vehicle drove more than from lawn to lawn, in the order of the
    times on record; its time is that of the way and at the tip.
    """
    if not loads:
        return {}
    jobs = _mown(unit, depot, days)
    properties = unit.properties.get_many(depot.firm_id, sorted({job.property_id for job in jobs}))
    places = read_places(unit, depot)
    homes = unit.properties.get_many(
        depot.firm_id,
        sorted({p.property_id for some in places.values() for p in some if _lies(p)}),
    )
    points = points_of(places, depot=depot, properties=properties | homes)
    stands = {site.id: site.unloading_minutes for site in places[DestinationKind.COMPOST_SITE]}
    rounds: dict[tuple[date, UUID], list[Load]] = defaultdict(list)
    for load in loads:
        if load.destination_id in points:
            rounds[load.working_day, load.vehicle_id].append(load)
    visited: dict[tuple[date, UUID], list[tuple[datetime, Point]]] = defaultdict(list)
    for job in jobs:
        point = properties[job.property_id].point
        visited[day_of(depot, job.at), job.vehicle_id].append((job.at, point))
    found: dict[date, Cost] = defaultdict(Cost)
    for (day, vehicle_id), tips in sorted(rounds.items()):
        visits = visited[day, vehicle_id]
        stops = [(load.done_at or load.arrive_at, points[load.destination_id]) for load in tips]
        way_m, way_s = _more(depot, visits, stops, distances)
        minutes = way_s / 60.0 + sum(
            float(stands.get(load.destination_id, 0))
            or _tipping_minutes(load, depot, day, rulebook)
            for load in tips
        )
        priced = as_priced_then(depot, changes, span_of(depot, day).end)
        minute = crew_minute(priced, currency, day, rulebook=rulebook)
        found[day] = found[day] + Cost(
            fee_cents=sum(load.fee_cents for load in tips),
            way_cents=way_m / METRES_PER_KM * COSTS.drive_cents_per_km,
            time_cents=minutes * (minute.cents or 0),
            tips=len(tips),
            way_km=way_m / METRES_PER_KM,
            minutes=minutes,
        )
    return dict(found)


def _lies(place: object) -> bool:
    return getattr(place, "property_id", None) is not None


def _mown(unit: UnitOfWork, depot: Depot, days: Sequence[date]) -> list[Job]:
    start, end = span_of(depot, days[0]).start, span_of(depot, days[-1]).end
    whole = DepotDay(depot_id=depot.id, day=days[0], start=start, end=end)
    return unit.jobs.all(depot.firm_id, days=(whole,), state=JobState.MOWN)


def _tipping_minutes(load: Load, depot: Depot, day: date, rulebook: Rulebook) -> float:
    word = "hold" if load.destination_kind is DestinationKind.HOLD_BAY else "bed"
    return rulebook.value_on(
        "tipping_minutes", day, jurisdiction=depot.jurisdiction, destination=word
    ).value


def _more(
    depot: Depot,
    visits: Sequence[tuple[datetime, Point]],
    tips: Sequence[tuple[datetime, Point]],
    distances: Distances,
) -> tuple[float, float]:
    """Return the metres and seconds of a round with its tips less those without them."""
    # A tip at the moment of a cut comes after it.
    later = timedelta(microseconds=1)
    in_turn = sorted(
        [*((at, point, True) for at, point in visits)]
        + [((at + later), point, False) for at, point in tips],
        key=lambda stop: stop[0],
    )
    points = list(dict.fromkeys([depot.point, *(point for _, point, _ in in_turn)]))
    travel = distances.matrix(points)
    number: Mapping[Point, int] = {point: place for place, point in enumerate(points)}

    def along(way: Sequence[Point]) -> tuple[float, float]:
        pairs = [(number[a], number[b]) for a, b in itertools.pairwise(way)]
        return (
            float(sum(travel.distance_m[a, b] for a, b in pairs)),
            float(sum(travel.duration_s[a, b] for a, b in pairs)),
        )

    home = depot.point
    with_tips = along([home, *(point for _, point, _ in in_turn), home])
    without = along([home, *(point for _, point, is_visit in in_turn if is_visit), home])
    return max(0.0, with_tips[0] - without[0]), max(0.0, with_tips[1] - without[1])
