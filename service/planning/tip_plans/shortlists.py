"""Which destinations a vehicle looks at in each gap of its day, and what the labelling is told."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.delays import late_on_time
from service.planning.arrays.inputs import (
    ACCEPT,
    ASKED,
    CANDIDATE_COLUMNS,
    CAP,
    CIN,
    CLOSE,
    COUT,
    DEST,
    FIX,
    LATE_STEPS,
    LEAVE,
    NEED,
    NEVER,
    NO_CAP,
    OPEN,
    OVER,
    PAUSE,
    RESUME,
    SHED,
    TIN,
    TIP,
    TOUT,
    TRACK,
    UNTIL,
    Road,
)
from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.arrays.travel import choose, fill
from service.planning.tip_plans.capacity_cuts import Tolls

# States on their way through a gap that a bound looks at; with more, what is proven by then must
# do. On large days the same work is shared between the vehicles.
EFFORT_OF_A_BOUND = 200_000
EFFORT_OF_ALL_BOUNDS = 60_000_000
COARSE, FINE = 48, 144  # steps of the payload in which bounds tell loads apart
NOWHERE = -1  # stands for a destination where material no destination takes is left
CANDIDATES = 14  # destinations looked at in a gap, besides those that statuses ask for
MANY = 500  # destinations; above, a day is large
FEWER = 8  # destinations looked at in a gap of a large day, at first


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortlist:
    """What the labelling of one vehicle reads: legs, candidates of every gap, ways between them."""

    road: Road
    who: Whole  # destination numbers of the road's candidates
    touched: Whole  # the same, each once
    size: int
    # Of a late second, by job and for the end; None: lateness counts on the earliest day.
    late_prices: Whole | None = None
    asked: int = 0  # bits of what the vehicle must heed, see the candidates' ``ASK``
    leave: int = NEVER  # units per kilogram that is left unplaced, if that is a choice

    def in_gap(self, gap: int) -> Whole:
        """Return the destinations looked at in a gap."""
        offsets = self.road.offsets
        who: Whole = self.who[offsets[gap] : offsets[gap + 1]]
        found: Whole = who[who != NOWHERE]
        return found


def shortlist(
    tables: Tables,
    vehicle: VehicleTables,
    prices: Whole,
    *,
    worth: int,
    count: int,
    room: Whole | None = None,
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
    room
        Kilograms left at each destination, if that is not all there is.
    """
    d = tables.destinations
    usual = int(vehicle.limits[0]) // 2
    seen = int(np.bitwise_or.reduce(vehicle.jobs[:, 2], initial=int(vehicle.start[3])))
    kept = vehicle.kept[vehicle.accepts[vehicle.kept[:, 1]] != 0]
    must = np.concatenate([kept, vehicle.locks[:, :2]]).astype(np.int64)
    scales = np.array(
        [tables.drive, worth, usual, tables.overflow, count, 2, seen.bit_length()], dtype=np.int64
    )
    arguments = tables.map.arguments()
    chosen, counts = choose(
        *arguments,
        vehicle.points,
        d.place,
        vehicle.accepts,
        d.capacity_kg if room is None else room,
        d.stop,
        prices,
        d.may_overflow,
        d.close_s,
        vehicle.start,
        vehicle.jobs,
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
    near = np.zeros((len(who), CANDIDATE_COLUMNS), dtype=np.int64)
    near[:, :5] = ways
    near[:, FIX] = d.stop[who] + tables.change
    near[:, ACCEPT] = vehicle.accepts[who]
    near[:, OPEN], near[:, CLOSE], near[:, TIP] = d.open_s[who], d.close_s[who], d.tip_s[who]
    near[:, PAUSE], near[:, RESUME] = d.pause_from_s[who], d.pause_until_s[who]
    near[:, TRACK], near[:, UNTIL] = -1, vehicle.until_row[who]
    near[:, OVER], near[:, CAP] = d.may_overflow[who], NO_CAP
    leasts_kg = vehicle.leasts_kg(d)
    near[:, NEED] = -leasts_kg[who]
    for gap, number in vehicle.kept:
        rows = slice(offsets[gap], offsets[gap + 1])
        near[rows, FIX] -= np.where(who[rows] == number, tables.change, 0)
    for gap, number, kg in vehicle.locks:
        rows = slice(offsets[gap], offsets[gap + 1])
        demanded = max(kg, leasts_kg[number])
        near[rows, NEED] = np.where(who[rows] == number, demanded, near[rows, NEED])
    road = Road(
        start=vehicle.start,
        jobs=vehicle.jobs,
        legs=legs,
        offsets=offsets,
        near=near,
        pair_offsets=pair_offsets,
        pairs=pairs,
        late=np.zeros((len(legs) + 1, LATE_STEPS), dtype=np.int64),
        pace=np.zeros((len(legs), 4), dtype=np.int64),
        until=vehicle.until,
    )
    late_on_time(rules(tables, vehicle, results=1), road)
    listed = Shortlist(
        road=road,
        who=who,
        touched=np.unique(who),
        size=size,
    )
    return with_nowhere(tables, listed, tables.unplaced) if vehicle.may_leave else listed


def of_rows(tables: Tables, vehicle: VehicleTables, rows: list[Whole], size: int) -> Shortlist:
    """Return the shortlist with these destinations, by gap."""
    counts = np.array([len(row) for row in rows], dtype=np.int64)
    chosen = np.zeros((len(rows), max(1, int(counts.max()))), dtype=np.int64)
    for gap, row in enumerate(rows):
        chosen[gap, : len(row)] = row
    return shortlist_of(tables, vehicle, chosen, counts, size)


def with_nowhere(tables: Tables, listed: Shortlist, price: int) -> Shortlist:
    """Return the shortlist with a way out in every gap: to leave material unplaced, at a price.

    It takes no time and no way, it is no tip, any amount may be left, and it comes first in its
    gap.
    """
    if listed.leave < NEVER:
        return listed
    old = listed.road
    gaps = len(old.legs)
    far = np.iinfo(np.int32).max
    near, offsets, pair_offsets, blocks = [], [0], [0], []
    for gap in range(gaps):
        rows = old.near[old.offsets[gap] : old.offsets[gap + 1]]
        width = len(rows)
        extra = np.zeros((1, rows.shape[1]), dtype=np.int64)
        extra[0, [DEST, COUT, TOUT]] = NOWHERE, old.legs[gap, 0], old.legs[gap, 1]
        extra[0, [ACCEPT, CLOSE, TRACK, UNTIL, CAP]] = -1, far // 2, -1, -1, NO_CAP
        extra[0, PAUSE] = NO_CAP
        near.append(np.concatenate([rows, extra]))
        block = np.full((width + 1, width + 1, 2), far, dtype=np.int32)
        ways = old.pairs[old.pair_offsets[gap] : old.pair_offsets[gap + 1]]
        block[:width, :width] = ways.reshape(width, width, 2)
        block[width, :width, 0] = rows[:, CIN] // max(1, tables.drive)
        block[width, :width, 1] = rows[:, TIN]
        blocks.append(block.reshape(-1, 2))
        offsets.append(offsets[-1] + width + 1)
        pair_offsets.append(pair_offsets[-1] + (width + 1) ** 2)
    joined = np.concatenate(near)
    return dataclasses.replace(
        listed,
        road=old._replace(
            offsets=np.array(offsets, dtype=np.int64),
            near=joined,
            pair_offsets=np.array(pair_offsets, dtype=np.int64),
            pairs=np.concatenate(blocks),
        ),
        who=np.ascontiguousarray(joined[:, DEST]),
        leave=price,
    )


def told(rule: Whole, listed: Shortlist) -> Whole:
    """Return the rules, told what a shortlist asks, and what it costs to leave material.

    What is left counts at its price wherever what a destination lacks room for does.
    """
    rule[ASKED], rule[LEAVE] = listed.asked, listed.leave
    rule[SHED] = min(rule[SHED], listed.leave)
    return rule


def rules(
    tables: Tables,
    vehicle: VehicleTables,
    *,
    results: int,
    elementary: bool = False,
    bound: bool = False,
    cutoff: int = NEVER,
    beam: int = 0,
    tolls: Tolls | None = None,
    fine: bool = False,
) -> Whole:
    """Return the rules of the labelling for one vehicle.

    What comes after is bounded coarsely unless ``fine``, which is slower: for bounds only.
    """
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
            tables.overflow - (0 if tolls is None else int(tolls.relief.max(initial=0))),
            cutoff,
            int(elementary),
            beam,
            min(EFFORT_OF_A_BOUND, EFFORT_OF_ALL_BOUNDS // max(1, len(tables.vehicles))),
            0,  # a shortlist says what it asks
            costs.tips_between_jobs,  # that may leave a part aboard, of those in one gap
            FINE if fine else COARSE,
            NEVER,  # and whether material may be left
            tables.astray,
            tables.wait_in_bounds if bound else tables.crew,
            tables.idle_in_bounds if bound else 0,
        ],
        dtype=np.int64,
    )


def candidates(tables: Tables) -> int:
    """Return how many destinations a shortlist has in a gap."""
    return FEWER if len(tables.destinations.place) > MANY else CANDIDATES
