"""What is aboard, and when, at each tip of a vehicle's plan, and who refuses it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from service.planning.arrays.tables import Tables
from service.planning.tip_plans.columns import Column, arrivals, reached_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A tip of a plan, or material it leaves unplaced, as it comes up in the day.

    ``number`` is the destination's, or NOWHERE; ``load_kg``, ``statuses`` and ``lots`` are what is
    aboard before it; ``clock_s`` is when its gap begins, ``arrive_s`` when the tip is reached.
    """

    gap: int
    number: int
    kg: int
    load_kg: int
    statuses: tuple[str, ...]
    lots: frozenset[str]
    clock_s: int
    arrive_s: int


@dataclass(slots=True, kw_only=True)
class _Body:
    kg: int = 0
    statuses: set[str] = field(default_factory=set)
    lots: set[str] = field(default_factory=set)


def moments_of(tables: Tables, column: Column) -> list[Moment]:
    """Return the tips of a tip plan in their order, with what is aboard before each."""
    vehicle = tables.problem.vehicles[column.vehicle]
    arrays = tables.vehicles[column.vehicle]
    body = _Body(
        kg=int(arrays.start[1]),
        statuses={part.status for part in vehicle.mixture},
        lots={part.job for part in vehicle.mixture if part.job is not None},
    )
    left = [tables.jobs[name] for name in vehicle.jobs[arrays.first_job :]]
    times = arrivals(tables, arrays, column.tips).tolist()
    reached = iter(reached_at(tables, arrays, column.tips))
    clock_s, found = int(arrays.start[0]), []
    for gap in range(len(left) + 1):
        for number, kg in [(d, kg) for at, d, kg in column.tips if at == gap]:
            found.append(
                Moment(
                    gap=gap,
                    number=number,
                    kg=kg,
                    load_kg=body.kg,
                    statuses=tuple(s for s in tables.problem.statuses if s in body.statuses),
                    lots=frozenset(body.lots),
                    clock_s=clock_s,
                    arrive_s=next(reached),
                )
            )
            body.kg -= kg
            if body.kg <= 0:
                body = _Body()
        if gap < len(left):
            job = left[gap]
            clock_s = max(times[gap], job.window_s[0]) + job.service_s
            body.kg += job.mass_kg
            if job.mass_kg:
                body.statuses.add(job.status)
                body.lots.add(job.id)
    return found


def barrier_code(tables: Tables, number: int, moment: Moment) -> str | None:
    """Return why a load may not go to a destination at all: a lot's own code, or not_accepted."""
    return codes_of(tables, moment, (number,))[0]


def codes_of(
    tables: Tables, moment: Moment, numbers: Iterable[int] | None = None
) -> list[str | None]:
    """Return why a load may not go to each of these destinations, of all if none are named.

    None stands where it may, as far as its lots and statuses go.
    """
    refused: dict[str, str] = {}
    for name in sorted(moment.lots):
        for destination, code in tables.jobs[name].refused_destinations:
            refused.setdefault(destination, code)
    statuses, every = set(moment.statuses), tables.problem.destinations
    return [
        refused.get(every[number].id)
        or (None if statuses.issubset(every[number].accepts) else "not_accepted")
        for number in (range(len(every)) if numbers is None else numbers)
    ]
