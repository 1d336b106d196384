"""Does a detour ever pay? The bound's proof needs that it does not; where it does, ways are closed.

A label that is empty is said to be at least as good as one that still has to tip, because it may
skip the tip. That holds if going a -> b costs no more than a -> tip -> b with the stop, in money
and in time. The searches that leave out destinations rest on it too. Rounded ways break it by a
metre: in a bound, a label must be cheaper by as much for every tip it may skip, and tips must take
at least as long as rounding may be wrong by. A road matrix may break it by any amount; then bounds
are taken on its metric closure: every way is the shortest over any destinations, with what their
stops cost and how long their tips take. No plan costs less there, and ways between two stops are
hardly ever shorter: on real roads a chain of short hops is, but it is no plan without its stops.

Who skips a tip may come sooner to a gate and wait there for longer, with the crew paid as long. So
a bound counts waiting only where a detour does not pay in metres and stops alone either. On closed
ways a vehicle comes too soon, so nothing of it is counted there. Before the first lot there is no
choice, and on ways that were not closed that wait is always counted.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import ROUNDING_S
from service.planning.arrays.priced_ways import matrix_of
from service.planning.arrays.tables import Tables, Whole
from service.planning.arrays.travel import MATRIX_MODE

MOST_PLACES = 1_500  # closing takes the cube of this; 1,500 places are seconds
MOST_TIPS = 2
NO_WAY = 2_000_000_000  # metres; no detour is shorter


def _close(ways: Array, over: Array, extra: Array) -> Array:
    """Return shortest ways over some places, each at so much more (Floyd 1962, Warshall 1962)."""
    closed, count = ways.astype(np.int64), ways.shape[0]
    for j in range(over.shape[0]):
        for a in range(count):
            first = closed[a, over[j]] + extra[j]
            for b in range(count):
                closed[a, b] = min(closed[a, b], first + closed[over[j], b])
    return closed


close = compiled(_close)


def _waiting_counts(tables: Tables) -> bool:
    """Tell whether going straight is never dearer than by a tip, if no time is paid."""
    if tables.metre == 0 or tables.crew == 0:
        return True
    d, crew = tables.destinations, tables.crew
    places = np.unique(d.place)
    stops = [int((d.stop - d.tip_s * crew)[d.place == place].min()) for place in places]
    metres = np.array(stops, dtype=np.int64) // tables.metre
    roads, _ = matrix_of(tables.roads)
    return bool((close(roads, places, metres) == roads).all())


def _closed(tables: Tables) -> tuple[Whole, Whole]:
    """Return metres and seconds, shortest over any destinations with their stops and tips."""
    d, places = tables.destinations, np.unique(tables.destinations.place)
    metres, seconds = np.zeros_like(places), np.zeros_like(places)
    for at, place in enumerate(places):
        here = d.place == place
        metres[at] = int(d.stop[here].min()) // tables.drive if tables.drive else NO_WAY
        seconds[at] = d.tip_s[here].min()
    return (
        close(tables.map.metres, places, metres),
        close(tables.map.seconds, places, seconds),
    )


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """On which ways bounds are taken, and whether that is a proof."""

    tables: Tables
    proven: bool
    note: str
    closed: bool = False


def ground_of(tables: Tables) -> Ground:  # noqa: PLR0911 - one a reason
    """Return the ways that bounds of this problem are taken on."""
    d = tables.destinations
    if any(vehicle.merged_bits for vehicle in tables.vehicles):
        note = "more kinds of lots in one vehicle than can be told apart"
        return Ground(tables=tables, proven=False, note=note)
    if tables.problem.costs.tips_between_jobs > MOST_TIPS:
        note = f"bounds count at most {MOST_TIPS} tips between jobs"
        return Ground(tables=tables, proven=False, note=note)
    if tables.map.mode != MATRIX_MODE:
        if len(d.tip_s) and int(d.tip_s.min()) < ROUNDING_S:
            note = "a tip takes less time than rounded ways may be wrong by"
            return Ground(tables=tables, proven=False, note=note)
        return Ground(tables=tables, proven=True, note="")
    count = len(tables.problem.places)
    if count > MOST_PLACES:
        note = f"the triangle inequality was not examined for {count} places"
        return Ground(tables=tables, proven=False, note=note)
    metres, seconds = _closed(tables)
    if (metres == tables.map.metres).all() and (seconds == tables.map.seconds).all():
        wait = tables.crew if _waiting_counts(tables) else 0
        counted = dataclasses.replace(
            tables, wait_in_bounds=wait, idle_in_bounds=tables.crew - wait
        )
        return Ground(tables=counted, proven=True, note="")
    closed = dataclasses.replace(
        tables,
        map=dataclasses.replace(
            tables.map, metres=metres.astype(np.int32), seconds=seconds.astype(np.int32)
        ),
    )
    note = "the matrix breaks the triangle inequality; the bound is taken on its metric closure"
    return Ground(tables=closed, proven=True, note=note, closed=True)
