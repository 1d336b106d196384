"""Tip plans of one vehicle: shortlists, pricing, and the exact cost of a given tip plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from service.planning.completion import (
    ACCEPT,
    CIN,
    CLOSE,
    COUT,
    DEST,
    FIX,
    LATER,
    NEED,
    OPEN,
    OVER,
    TIN,
    TIP,
    TOUT,
    TRACK,
    late_table,
)
from service.planning.labelling import NEVER, price
from service.planning.states import TRACKED
from service.planning.tables import Tables, VehicleTables, Whole
from service.planning.ways import choose, fill, way

BEAM = 400  # labels looked at after a job when a plan is sought; a bound looks at all of them
Tips = tuple[tuple[int, int, int], ...]  # gap, destination number, kilograms
NOWHERE = -1  # stands for a destination where material no destination takes is left


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A tip plan of one vehicle.

    ``cost`` is true cost in units without overflow; ``tips`` are (gap, destination number, kg).
    """

    vehicle: int
    cost: int
    tips: tuple[tuple[int, int, int], ...]

    def use(self) -> dict[int, int]:
        """Return kilograms by destination number."""
        used: dict[int, int] = {}
        for _, number, kg in self.tips:
            if number != NOWHERE:
                used[number] = used.get(number, 0) + kg
        return used


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortlist:
    """What the labelling of one vehicle reads: legs, candidates of every gap, ways between them."""

    legs: Whole
    offsets: Whole
    near: Whole
    pair_offsets: Whole
    pairs: Any
    who: Whole  # destination numbers of the rows of ``near``
    touched: Whole  # the same, each once
    late: Whole  # least cost of lateness to go
    of_pairs: Whole  # and of the delay by two tips
    slopes: Whole  # price of a second of delay by gap, -1 if lateness counts on the earliest day
    size: int


def shortlist(
    tables: Tables, vehicle: VehicleTables, prices: Whole, *, worth: int, count: int
) -> Shortlist:
    """Return the candidates that look best at these prices.

    Parameters
    ----------
    prices
        Units per kg of each destination: fee and scarcity price.
    worth
        What it is worth to be rid of a kilogram [units].
    count
        Candidates a gap, besides what statuses, locks and the previous plan ask for.
    """
    d = tables.destinations
    usual = int(vehicle.limits[0]) // 2
    seen = int(np.bitwise_or.reduce(vehicle.jobs[:, 2], initial=int(vehicle.start[3])))
    must = np.concatenate([vehicle.kept, vehicle.locks[:, :2]]).astype(np.int64)
    must = must[(vehicle.accepts[must[:, 1]] != 0)] if len(must) else must.reshape(0, 2)
    scales = np.array(
        [tables.drive, worth, usual, tables.overflow, count, 2, seen.bit_length()], dtype=np.int64
    )
    arguments = tables.map.arguments()
    chosen, counts = choose(
        *arguments,
        vehicle.points,
        d.place,
        vehicle.accepts,
        d.capacity_kg,
        d.stop,
        prices,
        d.may_overflow,
        must,
        scales,
    )
    return shortlist_of(tables, vehicle, chosen, counts, count)


def shortlist_of(
    tables: Tables, vehicle: VehicleTables, chosen: Whole, counts: Whole, size: int
) -> Shortlist:
    """Return the shortlist with these candidates in every gap."""
    d = tables.destinations
    legs, offsets, ways, pair_offsets, pairs = fill(
        *tables.map.arguments(), vehicle.points, d.place, chosen, counts, tables.drive
    )
    who = np.ascontiguousarray(ways[:, 0])
    near = np.zeros((len(who), 14), dtype=np.int64)
    near[:, :5] = ways
    near[:, FIX] = d.stop[who] + tables.change
    near[:, ACCEPT] = vehicle.accepts[who]
    near[:, OPEN], near[:, CLOSE], near[:, TIP] = d.open_s[who], d.close_s[who], d.tip_s[who]
    near[:, TRACK] = -1
    near[:, OVER] = d.may_overflow[who]
    for gap, number in vehicle.kept:
        rows = slice(offsets[gap], offsets[gap + 1])
        near[rows, FIX] -= np.where(who[rows] == number, tables.change, 0)
    for gap, number, kg in vehicle.locks:
        rows = slice(offsets[gap], offsets[gap + 1])
        near[rows, NEED] = np.where(who[rows] == number, kg, near[rows, NEED])
    late, of_pairs = late_table(
        vehicle.jobs,
        legs,
        offsets,
        near,
        pair_offsets,
        pairs,
        vehicle.start[0],
        vehicle.limits[2],
        tables.late,
        tables.overtime,
    )
    return Shortlist(
        legs=legs,
        offsets=offsets,
        near=near,
        pair_offsets=pair_offsets,
        pairs=pairs,
        who=who,
        touched=np.unique(who),
        late=late,
        of_pairs=of_pairs,
        slopes=np.full(len(legs), -1, dtype=np.int64),
        size=size,
    )


def best_columns(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    *,
    prices: Whole,
    room: Whole,
    results: int = 1,
    cutoff: int = NEVER,
    gap_rule: Whole | None = None,
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
    """
    found: dict[Tips, int] = {}
    for track in (False, True):
        rule = rules(
            tables, vehicle, results=results, elementary=not track, cutoff=cutoff, beam=BEAM
        )
        tracked: list[int] = []
        while True:
            reds, lengths, tips = price_shortlist(
                tables, vehicle, listed, rule, prices=prices, room=room, gap_rule=gap_rule
            )
            plans = [
                (int(red), tuple((g, d, q) for g, d, q in tips[k, : lengths[k]].tolist()))
                for k, red in enumerate(reds)
            ]
            twice = overdrawn(plans[0][1], room, tracked) if track and plans else []
            if not twice or len(tracked) >= TRACKED:
                break
            for number in twice[: TRACKED - len(tracked)]:
                listed.near[listed.who == number, TRACK] = len(tracked)
                tracked.append(number)
        listed.near[:, TRACK] = -1
        for red, plan in plans:
            if not track or not overdrawn(plan, room, []):
                found[plan] = min(red, found.get(plan, red))
    return sorted(((red, plan) for plan, red in found.items()), key=lambda item: item)[:results]


def overdrawn(tips: Tips, room: Whole, known: list[int]) -> list[int]:
    """Return destinations, not among those known, that a plan tips at twice and above their room."""
    kilograms: dict[int, list[int]] = {}
    for _, number, kg in tips:
        if number != NOWHERE:
            kilograms.setdefault(number, []).append(kg)
    return [
        number
        for number, kg in sorted(kilograms.items())
        if len(kg) > 1 and number not in known and sum(kg) > room[number]
    ]


def price_shortlist(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    rule: Whole,
    *,
    prices: Whole,
    room: Whole,
    gap_rule: Whole | None = None,
) -> tuple[Whole, Whole, Whole]:
    """Return reduced costs, numbers of tips, and tips, as the labelling gives them."""
    reds, lengths, tips, _ = price(
        rule,
        vehicle.start,
        vehicle.jobs,
        listed.legs,
        listed.offsets,
        listed.near,
        listed.pair_offsets,
        listed.pairs,
        np.zeros(len(listed.legs), dtype=np.int64) if gap_rule is None else gap_rule,
        listed.late,
        listed.of_pairs,
        np.append(prices, tables.unplaced)[listed.who],
        np.append(tables.destinations.fee + tables.overflow, tables.unplaced)[listed.who],
        np.append(room, 10**9)[listed.who],
    )
    return reds, lengths, tips


def with_nowhere(tables: Tables, listed: Shortlist) -> Shortlist:
    """Return the shortlist with a way out in every gap: to leave material unplaced, at its price.

    It takes no time and no way, and it comes first in its gap.
    """
    gaps = len(listed.legs)
    far = np.iinfo(np.int32).max
    near, offsets, pair_offsets, blocks = [], [0], [0], []
    for gap in range(gaps):
        rows = listed.near[listed.offsets[gap] : listed.offsets[gap + 1]]
        width = len(rows)
        extra = np.zeros((1, rows.shape[1]), dtype=np.int64)
        extra[0, [DEST, COUT, TOUT]] = NOWHERE, listed.legs[gap, 0], listed.legs[gap, 1]
        extra[0, [ACCEPT, CLOSE, OVER, TRACK]] = -1, far // 2, 1, -1
        near.append(np.concatenate([rows, extra]))
        block = np.full((width + 1, width + 1, 2), far, dtype=np.int32)
        ways = listed.pairs[listed.pair_offsets[gap] : listed.pair_offsets[gap + 1]]
        block[:width, :width] = ways.reshape(width, width, 2)
        block[width, :width, 0] = rows[:, CIN] // max(1, tables.drive)
        block[width, :width, 1] = rows[:, TIN]
        blocks.append(block.reshape(-1, 2))
        offsets.append(offsets[-1] + width + 1)
        pair_offsets.append(pair_offsets[-1] + (width + 1) ** 2)
    joined = np.concatenate(near)
    joined[:, LATER] = 0
    return Shortlist(
        legs=listed.legs,
        offsets=np.array(offsets, dtype=np.int64),
        near=joined,
        pair_offsets=np.array(pair_offsets, dtype=np.int64),
        pairs=np.concatenate(blocks),
        who=np.ascontiguousarray(joined[:, DEST]),
        touched=listed.touched,
        late=listed.late,
        of_pairs=np.zeros(pair_offsets[-1], dtype=np.int64),
        slopes=listed.slopes,
        size=listed.size,
    )


def rules(
    tables: Tables,
    vehicle: VehicleTables,
    *,
    results: int,
    elementary: bool = False,
    bound: bool = False,
    cutoff: int = NEVER,
    beam: int = 0,
) -> Whole:
    """Return the rules of the labelling for one vehicle."""
    costs = tables.problem.costs
    payload, body, shift_end, tips_made = vehicle.limits
    return np.array(
        [
            payload,
            body,
            shift_end,
            tips_made,
            costs.minimum_tip_kg,
            costs.tips_between_jobs,
            tables.late,
            tables.overtime,
            tables.drive,
            results,
            int(bound),
            tables.overflow,
            cutoff,
            int(elementary),
            int(bool(len(vehicle.locks)) and bool((vehicle.locks[:, 2] > 1).any())),
            beam,
        ],
        dtype=np.int64,
    )


def true_cost(
    tables: Tables, vehicle: VehicleTables, tips: tuple[tuple[int, int, int], ...]
) -> int:
    """Return the exact cost of a tip plan in units, without overflow: driving to change price."""
    d, arguments = tables.destinations, tables.map.arguments()
    kept = {(int(gap), int(number)) for gap, number in vehicle.kept}
    place, clock, cost, position = int(vehicle.points[0]), int(vehicle.start[0]), 0, 0
    gaps = len(vehicle.points) - 1
    for gap in range(gaps):
        while position < len(tips) and tips[position][0] == gap:
            _, number, kg = tips[position]
            position += 1
            if number == NOWHERE:
                cost += kg * tables.unplaced
                continue
            metres, seconds = way(*arguments, place, d.place[number])
            place = int(d.place[number])
            clock = max(clock + int(seconds), int(d.open_s[number])) + int(d.tip_s[number])
            cost += int(metres) * tables.drive + int(d.stop[number]) + int(d.fee[number]) * kg
            cost += 0 if (gap, number) in kept else tables.change
        metres, seconds = way(*arguments, place, vehicle.points[gap + 1])
        place = int(vehicle.points[gap + 1])
        clock += int(seconds)
        cost += int(metres) * tables.drive
        if gap < gaps - 1:
            job = vehicle.jobs[gap]
            cost += max(0, clock - int(job[4])) * tables.late
            clock = max(clock, int(job[3])) + int(job[5])
    return cost + max(0, clock - int(vehicle.limits[2])) * tables.overtime


def arrivals(
    tables: Tables, vehicle: VehicleTables, tips: tuple[tuple[int, int, int], ...]
) -> Whole:
    """Return when a tip plan reaches each job, and the end."""
    d, arguments = tables.destinations, tables.map.arguments()
    place, clock, position = int(vehicle.points[0]), int(vehicle.start[0]), 0
    times = []
    for gap in range(len(vehicle.points) - 1):
        while position < len(tips) and tips[position][0] == gap:
            number = tips[position][1]
            position += 1
            if number == NOWHERE:
                continue
            _, seconds = way(*arguments, place, d.place[number])
            place = int(d.place[number])
            clock = max(clock + int(seconds), int(d.open_s[number])) + int(d.tip_s[number])
        _, seconds = way(*arguments, place, vehicle.points[gap + 1])
        place, clock = int(vehicle.points[gap + 1]), clock + int(seconds)
        times.append(clock)
        if gap < len(vehicle.jobs):
            clock = max(clock, int(vehicle.jobs[gap][3])) + int(vehicle.jobs[gap][5])
    return np.array(times, dtype=np.int64)
