"""Print how quickly a standing day answers events, and whether the checker passes the plans.

    python -m tests.bench.planning.events S M L --seeds 1 2 3 [--count 40]

A day is planned with a short guard and frozen at 11:00; every event is played on that same day.
Milliseconds are of this process's processor. An event that displaces others is one after which
vehicles moved, or were asked to move, that it was not about. Checking is not timed.
"""

from __future__ import annotations

import argparse
import dataclasses
import random
import statistics
import time
from collections.abc import Callable

from service.core.errors import Refusal
from service.planning.checker.check import check_plan
from service.planning.events.amendment import Event
from service.planning.events.breakdown import broken_down
from service.planning.events.kinds import (
    EventNotPossible,
    capacity_cut,
    closes_early,
    job_added,
    job_amended,
    job_cancelled,
    load_weighed,
    refuses,
    repaired,
)
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Job, Place, Problem, Vehicle
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from service.planning.warm import warm
from tests.bench.planning.days import SIZES, day

ELEVEN = 11 * 3600
CHANGE_CENTS = 200
GUARD_S = {"S": 1.0, "M": 3.0, "L": 12.0, "X": 60.0}


def priced(problem: Problem, cents: int = CHANGE_CENTS) -> Problem:
    """Return the day with so many cents for each tip that the plan before did not have."""
    costs = dataclasses.replace(problem.costs, change_cents_per_stop=cents)
    return dataclasses.replace(problem, costs=costs)


def gone_to(now: LiveDay, kind: str) -> list[str]:
    """Return the destinations of a kind that somebody means to go to."""
    kinds = {d.id: d.kind for d in now.problem.destinations}
    return sorted(
        {
            stop.destination
            for vehicle in now.plan.vehicles
            for stop in vehicle.stops
            if stop.destination is not None and not stop.done and kinds[stop.destination] == kind
        }
    )


def _ahead(vehicle: Vehicle) -> tuple[str, ...]:
    return vehicle.jobs[sum(1 for stop in vehicle.done if stop.job is not None) :]


def _busy(now: LiveDay, chance: random.Random) -> Vehicle:
    busy = [v for v in now.problem.vehicles if _ahead(v)]
    if not busy:
        raise EventNotPossible(detail="all jobs are done.")
    return chance.choice(busy)


def _some_job(now: LiveDay, chance: random.Random) -> Job:
    name = chance.choice(_ahead(_busy(now, chance)))
    return next(job for job in now.problem.jobs if job.id == name)


def _used(now: LiveDay, chance: random.Random, kind: str) -> str:
    ahead = gone_to(now, kind)
    if not ahead:
        raise EventNotPossible(detail=f"nobody goes to a {kind} any more.")
    return chance.choice(ahead)


def added(now: LiveDay, chance: random.Random) -> Event:
    """Return a job like another of the day, 500 m away from that one, on the same list."""
    like = _some_job(now, chance)
    vehicle = next(v for v in now.problem.vehicles if like.id in v.jobs)
    near = next(p for p in now.problem.places if p.id == like.place)
    new = Place(id="new", x_m=(near.x_m or 0) + 300, y_m=(near.y_m or 0) + 400)
    job = dataclasses.replace(like, id="new", place="new")
    return job_added(now.problem, vehicle.id, job, after_job=like.id, place=new)


def amended(now: LiveDay, chance: random.Random) -> Event:
    """Return a job with half or one and a half of its mass."""
    job = _some_job(now, chance)
    vehicle = next(v for v in now.problem.vehicles if job.id in v.jobs)
    share = chance.choice([0.5, 1.5])
    share = min(share, vehicle.payload_kg / job.mass_kg, vehicle.body_l / job.volume_l)
    return job_amended(
        now.problem,
        dataclasses.replace(
            job, mass_kg=int(job.mass_kg * share), volume_l=int(job.volume_l * share)
        ),
    )


def cancelled(now: LiveDay, chance: random.Random) -> Event:
    """Return a job that falls away."""
    return job_cancelled(now.problem, _some_job(now, chance).id)


def closing(now: LiveDay, chance: random.Random) -> Event:
    """Return a site in use that closes at one of four hours."""
    return closes_early(
        now.problem, _used(now, chance, "site"), chance.choice([12, 13, 14, 15]) * 3600
    )


def cut(now: LiveDay, chance: random.Random) -> Event:
    """Return a site in use with less room: a tenth to a half of what goes there has none."""
    name = _used(now, chance, "site")
    used = next(use.used_kg for use in now.plan.destinations if use.id == name)
    return capacity_cut(now.problem, name, int(used * chance.uniform(0.5, 0.9)))


def refusing(now: LiveDay, chance: random.Random) -> Event:
    """Return a bed in use that refuses everything."""
    return refuses(now.problem, _used(now, chance, "bed"))


def standing_still(now: LiveDay, chance: random.Random) -> Event:
    """Return a vehicle that is repaired within one or two hours."""
    until = ELEVEN + chance.randrange(3600, 7200)
    return repaired(now.problem, _busy(now, chance).id, until)


def out(now: LiveDay, chance: random.Random) -> Event:
    """Return a vehicle that is out for the day; others take its jobs and its load."""
    return broken_down(now, _busy(now, chance).id)


def weighed(now: LiveDay, chance: random.Random) -> Event:
    """Return a load that weighs up to a third more or less than thought."""
    loaded = [v for v in now.problem.vehicles if sum(part.mass_kg for part in v.aboard)]
    if not loaded:
        raise EventNotPossible(detail="nobody has anything aboard.")
    vehicle = chance.choice(loaded)
    kg = sum(part.mass_kg for part in vehicle.aboard)
    new = min(vehicle.payload_kg, max(1, int(kg * chance.uniform(0.67, 1.33))))
    litres = min(sum(part.volume_l for part in vehicle.aboard), vehicle.body_l)
    return load_weighed(now.problem, vehicle.id, new, volume_l=litres)


KINDS: dict[str, Callable[[LiveDay, random.Random], Event]] = {
    "job added": added,
    "job amended": amended,
    "job cancelled": cancelled,
    "site closes early": closing,
    "capacity cut": cut,
    "bed refuses": refusing,
    "vehicle late": standing_still,
    "vehicle out": out,
    "load weighed": weighed,
}


def stood(size: str, seed: int, guard_s: float | None = None) -> tuple[LiveDay, float, float]:
    """Return a planned day at 11:00, and the milliseconds to make it stand and to freeze it."""
    problem = priced(Problem.from_json(day(size, seed)))
    rule = StopRule(rounds=100_000, seconds=guard_s or GUARD_S[size])
    plan = solve(problem, stop=rule, explain=False)
    began = time.process_time()
    whole = LiveDay.of(problem, plan)
    made = time.process_time()
    now = whole.at(ELEVEN)
    ended = time.process_time()
    faults = check_plan(now.problem, now.plan)
    if faults:
        raise SystemExit(f"{size}-{seed} at 11:00: {faults[0]}")
    return now, 1000 * (made - began), 1000 * (ended - made)


@dataclasses.dataclass(slots=True)
class Tally:
    """What the events of one kind took [ms], and how many plans were right."""

    alone: list[float] = dataclasses.field(default_factory=list)
    others: list[float] = dataclasses.field(default_factory=list)
    legal: int = 0
    refused: int = 0


def play(now: LiveDay, name: str, count: int, seed: int, tally: Tally) -> list[str]:
    """Play events of a kind on a day; return what the checker finds."""
    chance = random.Random(f"{name}-{seed}")
    found = []
    for _ in range(count):
        try:
            event = KINDS[name](now, chance)
        except Refusal:
            tally.refused += 1
            continue
        began = time.process_time()
        if name == "vehicle out":  # finding who takes over is part of the answer
            event = broken_down(now, event.vehicles[0].id)
        then = now.after(event)
        took = 1000 * (time.process_time() - began)
        asked = len(then.causes) > 1 or then.plan.work.nodes > 0  # even if in vain
        (tally.others if asked else tally.alone).append(took)
        faults = check_plan(then.problem, then.plan, now.plan)
        tally.legal += not faults
        found += [f"{name}: {event.why}: {fault}" for fault in faults[:1]]
    return found


def _told(times: list[float], goal_ms: float) -> str:
    if not times:
        return f"{0:4} {'':8} {'':8} {'':7}"
    within = 100 * sum(1 for took in times if took <= goal_ms) / len(times)
    return f"{len(times):4} {statistics.median(times):8.2f} {max(times):8.2f} {within:5.0f} %"


def main() -> None:
    """Play every kind of event on the days asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["S", "M"], help=", ".join(SIZES))
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--count", type=int, default=40, help="events a kind and day")
    parser.add_argument("--seconds", type=float, help="guard by the clock, for all sizes")
    options = parser.parse_args()
    warm()
    stood("S", 9, 0.5)
    for size in options.sizes:
        tallies = {name: Tally() for name in KINDS}
        faults: list[str] = []
        for seed in options.seeds:
            now, made, frozen = stood(size, seed, options.seconds)
            if seed == options.seeds[0]:
                for name in KINDS:  # what is loaded at the first call is not measured
                    play(now, name, 2, 0, Tally())
            print(f"{size}-{seed}: standing in {made:.0f} ms, frozen at 11:00 in {frozen:.1f} ms")
            for name, tally in tallies.items():
                faults += play(now, name, options.count, seed, tally)
        print(f"{size:20} one:  median   max ms  <= 5 ms | more: median  max ms <= 150 ms | legal")
        for name, tally in tallies.items():
            played = len(tally.alone) + len(tally.others)
            legal = 100 * tally.legal / max(1, played)
            print(
                f"{name:20} {_told(tally.alone, 5)} | {_told(tally.others, 150)} "
                f"| {legal:5.1f} %" + (f", {tally.refused} refused" if tally.refused else "")
            )
        print(*faults[:10], sep="\n")


if __name__ == "__main__":
    main()
