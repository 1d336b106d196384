"""Tip plans of one vehicle: the cheapest at given prices, and the exact cost of any."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from service.planning.arrays.inputs import (
    CAP,
    FIRST_S,
    LAST_S,
    NEVER,
    NO_CAP,
    PARTS,
    SERVICE,
    SHIFT_END,
    START_S,
    TRACK,
    Offer,
)
from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.labelling.labels import TRACKED
from service.planning.labelling.pricing import price
from service.planning.tip_plans.capacity_cuts import Tolls
from service.planning.tip_plans.shortlists import NOWHERE, Shortlist, rules, told

BEAM = 400  # labels looked at after a job when a plan is sought; a bound looks at all of them
QUICK_BEAM = 40  # and when a first plan is sought
AHEAD = -2  # stands for a job or the end, where a destination's number would stand
Tips = tuple[tuple[int, int, int], ...]  # gap, destination number, kilograms


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A tip plan of one vehicle.

    ``cost`` is true cost in units without overflow; ``tips`` are (gap, destination number, kg).
    """

    vehicle: int
    cost: int
    tips: Tips
    # asked for some ten thousand times a search, so it is summed up once
    _use: dict[int, int] = field(init=False, repr=False, compare=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Sum up what each destination takes."""
        for _, number, kg in self.tips:
            if number != NOWHERE:
                self._use[number] = self._use.get(number, 0) + kg

    def use(self) -> Mapping[int, int]:
        """Return kilograms by destination number."""
        return self._use


def best_columns(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    *,
    prices: Whole,
    room: Whole,
    results: int = 1,
    cutoff: int = NEVER,
    quick: bool = False,
    beam: int | None = None,
    parts: int | None = None,
    tolls: Tolls | None = None,
) -> list[tuple[int, Tips]]:
    """Return the cheapest legal tip plans at these prices, as (reduced cost, tips).

    Parameters
    ----------
    prices
        Units per kg within the room of a destination; beyond it fee and overflow price hold.
    room
        Kilograms left at each destination; -1 closes it.
    cutoff
        Nothing dearer is of interest [units].
    quick
        Look at fewer states, and do not look again where one destination is tipped at twice.
    beam
        Look at so many states after a job, instead.
    parts
        Of the tips in a gap, only so many leave a part aboard.
    tolls
        What large tips cost besides.
    """
    found: dict[Tips, int] = {}
    beam = beam or (QUICK_BEAM if quick else BEAM)
    for track in (False,) if quick else (False, True):
        rule = rules(
            tables,
            vehicle,
            results=results,
            elementary=not track,
            cutoff=cutoff,
            beam=beam,
            tolls=tolls,
        )
        rule[PARTS] = parts or rule[PARTS]
        plans = _priced(tables, listed, rule, prices=prices, room=room, tolls=tolls, track=track)
        for red, plan in plans:
            if not track or not overdrawn(plan, room, []):
                found[plan] = min(red, found.get(plan, red))
    return sorted(((red, plan) for plan, red in found.items()), key=lambda item: item)[:results]


def _priced(
    tables: Tables,
    listed: Shortlist,
    rule: Whole,
    *,
    prices: Whole,
    room: Whole,
    tolls: Tolls | None,
    track: bool,
) -> list[tuple[int, Tips]]:
    """Return what the labelling finds; with ``track`` again, while the best overfills by returning.

    The destinations it overfills are tracked from then on.
    """
    tracked: list[int] = []
    while True:
        reds, lengths, tips, _ = price_shortlist(
            tables, listed, rule, prices=prices, room=room, tolls=tolls
        )
        plans = [
            (int(red), tuple((g, d, q) for g, d, q in tips[k, : lengths[k]].tolist()))
            for k, red in enumerate(reds)
        ]
        twice = overdrawn(plans[0][1], room, tracked) if track and plans else []
        if not twice or len(tracked) >= TRACKED:
            break
        for number in twice[: TRACKED - len(tracked)]:
            listed.road.near[listed.who == number, TRACK] = len(tracked)
            tracked.append(number)
    listed.road.near[:, TRACK] = -1
    return plans


def overdrawn(tips: Tips, room: Whole, known: list[int]) -> list[int]:
    """Return destinations, not among those known, tipped at twice and above their room."""
    kilograms: dict[int, list[int]] = {}
    for _, number, kg in tips:
        if number != NOWHERE:
            kilograms.setdefault(number, []).append(kg)
    return [
        number
        for number, kg in sorted(kilograms.items())
        if len(kg) > 1 and number not in known and sum(kg) > room[number]
    ]


def returned_to(tips: Tips, known: list[int]) -> list[int]:
    """Return destinations, not among those known, tipped at more than once."""
    seen = [number for _, number, _ in tips if number != NOWHERE and number not in known]
    return sorted({number for number in seen if seen.count(number) > 1})


def price_shortlist(
    tables: Tables,
    listed: Shortlist,
    rule: Whole,
    *,
    prices: Whole,
    room: Whole,
    tolls: Tolls | None = None,
) -> tuple[Whole, Whole, Whole, int]:
    """Return reduced costs, numbers of tips, tips and effort, as the labelling gives them."""
    offer = offer_of(tables, listed, prices, room, tolls)
    reds, lengths, tips, effort = price(told(rule, listed), listed.road, offer)
    return reds, lengths, tips, int(effort)


def offer_of(
    tables: Tables, listed: Shortlist, prices: Whole, room: Whole, tolls: Tolls | None = None
) -> Offer:
    """Return what the candidates of a shortlist offer; nowhere takes all, at its price."""
    who, near = listed.who, listed.road.near
    # NOWHERE is no row of any table: a day may have no destination at all.
    rows = np.flatnonzero(who != NOWHERE)
    numbers = who[rows]
    price, own = np.full(len(who), listed.leave), np.full(len(who), NO_CAP)
    beyond = price.copy()
    price[rows], own[rows] = prices[numbers], np.minimum(room[numbers], near[rows, CAP])
    beyond[rows] = tables.destinations.fee[numbers] + tables.overflow
    steps = 0 if tolls is None else tolls.kg.shape[1]
    toll_kg = np.full((len(who), steps), NO_CAP)
    toll = np.zeros((len(who), steps), dtype=np.int64)
    if tolls is not None:
        toll_kg[rows], toll[rows] = tolls.kg[numbers], tolls.cost[numbers]
        beyond[rows] -= tolls.relief[numbers]
    return Offer(price=price, beyond=beyond, room=own, toll_kg=toll_kg, toll=toll)


def leaving_price(tables: Tables, vehicle: VehicleTables) -> int:
    """Return what a kilogram costs that a vehicle leaves unplaced [units]."""
    return tables.unplaced + (0 if vehicle.may_leave else tables.last_resort)


class Leg(NamedTuple):
    """A way of a vehicle's day, to a tip of a gap or to what the gap leads to."""

    gap: int
    number: int  # of the destination, NOWHERE, or AHEAD: the gap's job, or the end
    kg: int
    steps: int  # of the map
    clock: int  # when it is reached; what is left nowhere takes no way and no time
    wait_s: int  # until it opens


def legs_of(tables: Tables, vehicle: VehicleTables, tips: Tips) -> Iterator[Leg]:
    """Yield the ways of a tip plan in their order."""
    d, way = tables.destinations, tables.map.way
    place, clock, position = int(vehicle.points[0]), int(vehicle.start[START_S]), 0
    for gap, ahead in enumerate(vehicle.points[1:].tolist()):
        while position < len(tips) and tips[position][0] == gap:
            _, number, kg = tips[position]
            position += 1
            if number == NOWHERE:
                yield Leg(gap, number, kg, 0, clock, 0)
                continue
            steps, seconds = way(place, int(d.place[number]))
            place, clock = int(d.place[number]), clock + seconds
            wait_s = tables.problem.destinations[number].begins_s(clock) - clock
            yield Leg(gap, number, kg, steps, clock, wait_s)
            clock += wait_s + int(d.tip_s[number])
        steps, seconds = way(place, ahead)
        place, clock = ahead, clock + seconds
        job = vehicle.jobs[gap] if gap < len(vehicle.jobs) else None
        wait_s = 0 if job is None else max(0, int(job[FIRST_S]) - clock)
        yield Leg(gap, AHEAD, 0, steps, clock, wait_s)
        clock += 0 if job is None else wait_s + int(job[SERVICE])


def true_cost(tables: Tables, vehicle: VehicleTables, tips: Tips) -> int:
    """Return the exact cost of a tip plan in units, without overflow: driving to change price."""
    d, cost, leave = tables.destinations, 0, leaving_price(tables, vehicle)
    kept = {(int(gap), int(number)) for gap, number in vehicle.kept}
    for gap, number, kg, steps, clock, wait_s in legs_of(tables, vehicle, tips):
        cost += steps * tables.drive
        cost += wait_s * tables.crew if gap < len(vehicle.jobs) else 0
        if number == NOWHERE:
            cost += kg * leave
        elif number != AHEAD:
            cost += int(d.stop[number]) + int(d.fee[number]) * kg
            cost += 0 if (gap, number) in kept else tables.change
        elif gap < len(vehicle.jobs):
            cost += max(0, clock - int(vehicle.jobs[gap][LAST_S])) * tables.late
        else:
            cost += max(0, clock - int(vehicle.limits[SHIFT_END])) * tables.overtime
    return cost


def arrivals(tables: Tables, vehicle: VehicleTables, tips: Tips) -> Whole:
    """Return when a tip plan reaches each job, and the end."""
    legs = legs_of(tables, vehicle, tips)
    return np.array([leg.clock for leg in legs if leg.number == AHEAD], dtype=np.int64)


def reached_at(tables: Tables, vehicle: VehicleTables, tips: Tips) -> list[int]:
    """Return when each tip of a tip plan is reached; for what is left nowhere, when it is left."""
    return [leg.clock for leg in legs_of(tables, vehicle, tips) if leg.number != AHEAD]
