"""Who takes over what a vehicle leaves: each parcel as a whole, where it costs least in driving.

Tips are not regarded: they are planned afterwards, in the lists that come out of this.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from service.planning.arrays.tables import Tables
from service.planning.model.problem import Job, Vehicle
from service.planning.outcome.stops import tipless

Block = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """What goes to one other vehicle as a whole.

    Attributes
    ----------
    cut
        How a vehicle would fetch it: jobs that each fit it, one after the other; none if it
        cannot.
    """

    name: str
    cut: Callable[[Vehicle], tuple[Job, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taker:
    """A vehicle that may take something over.

    Attributes
    ----------
    blocks
        Its job list; jobs of one block stay together.
    first
        How many blocks are done or under way: nothing comes before or between them.
    """

    vehicle: Vehicle
    blocks: tuple[Block, ...]
    first: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOver:
    """What became of the parcels.

    Attributes
    ----------
    blocks
        The whole new list of each vehicle that takes something, by its id.
    takers
        The vehicle of each parcel that found one.
    jobs
        The jobs that the parcels became.
    left
        Names of parcels that nobody can carry.
    """

    blocks: dict[str, tuple[Block, ...]]
    takers: dict[str, str]
    jobs: tuple[Job, ...]
    left: tuple[str, ...]


def take_over(
    tables: Tables,
    parcels: Sequence[Parcel],
    takers: Sequence[Taker],
    *,
    before: Mapping[str, str] | None = None,
) -> TakenOver:
    """Return who takes what, and where in its list, parcel by parcel.

    Each goes where it costs least in driving, lateness and overtime.

    Parameters
    ----------
    tables
        The day, for its ways and prices; it has every place of the parcels.
    before
        Who was told to take a parcel: it keeps it as long as it can carry it.
    """
    search = _Search(tables)
    lists = {taker.vehicle.id: list(taker.blocks) for taker in takers}
    chosen: dict[str, str] = {}
    made: list[Job] = []
    left = []
    for parcel in parcels:
        told = (before or {}).get(parcel.name)
        asked = sorted(takers, key=lambda taker: taker.vehicle.id != told)
        best: tuple[int, int, Taker, tuple[Job, ...]] | None = None
        for taker in asked:
            jobs = parcel.cut(taker.vehicle)
            if not jobs:
                continue
            cost, at = search.place(taker, lists[taker.vehicle.id], jobs)
            if best is None or cost < best[0]:
                best = cost, at, taker, jobs
            if taker.vehicle.id == told:
                break
        if best is None:
            left.append(parcel.name)
            continue
        _, at, taker, jobs = best
        search.jobs.update({job.id: job for job in jobs})
        lists[taker.vehicle.id].insert(at, tuple(job.id for job in jobs))
        chosen[parcel.name] = taker.vehicle.id
        made += jobs
    return TakenOver(
        blocks={name: tuple(lists[name]) for name in lists if name in set(chosen.values())},
        takers=chosen,
        jobs=tuple(made),
        left=tuple(left),
    )


class _Search:
    """Finds the point of a job list where some more jobs cost least."""

    def __init__(self, tables: Tables) -> None:
        self.tables, self.jobs = tables, dict(tables.jobs)

    def place(self, taker: Taker, blocks: list[Block], jobs: tuple[Job, ...]) -> tuple[int, int]:
        """Return the extra cost in units, and before which block."""
        head = sum(len(block) for block in blocks[: taker.first])
        rows = [self.jobs[name] for block in blocks for name in block]
        done = sum(1 for stop in taker.vehicle.done if stop.job is not None)
        without = self._cost(taker.vehicle, rows[done:])
        found = []
        for at in range(taker.first, len(blocks) + 1):
            trial = [*rows[done:head], *jobs, *rows[head:]]
            found.append((self._cost(taker.vehicle, trial) - without, at))
            head += len(blocks[at]) if at < len(blocks) else 0
        return min(found)

    def _cost(self, vehicle: Vehicle, left: list[Job]) -> int:
        """Return what the rest of a day costs without tips: driving, lateness, overtime."""
        clock = vehicle.shift_start_s
        if vehicle.done:
            last = vehicle.done[-1]
            clock = last.arrive_s if last.leave_s is None else last.leave_s
        return tipless(self.tables, vehicle, left, standing_place(self.tables, vehicle), clock)


def standing_place(tables: Tables, vehicle: Vehicle) -> str:
    """Return the place where a vehicle is after what is done or under way."""
    if not vehicle.done:
        return vehicle.start_place
    last = vehicle.done[-1]
    if last.job is not None:
        return tables.jobs[last.job].place
    return tables.named[str(last.destination)].place
