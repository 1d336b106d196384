"""Every legal plan of a tiny day, one after the other: the slow truth that the planner must meet.

It shares no code with the planner. Each gap of each vehicle tries no tip, every destination and
every amount of whole steps, up to two tips in a row; vehicles are combined with their overflow.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

from service.planning.model.problem import Problem

Use = tuple[tuple[str, int], ...]


def cheapest(problem: Problem, *, step_kg: int, again: bool) -> Fraction:
    """Return the cost in cents of the cheapest plan whose tips are multiples of ``step_kg``.

    Without ``again`` no vehicle tips twice at the same destination.
    """
    options = [days_of(problem, vehicle, step_kg, again=again) for vehicle in problem.vehicles]
    room = {d.id: d.capacity_kg for d in problem.destinations}
    best = Fraction(10**12)
    for choice in itertools.product(*(list(found.items()) for found in options)):
        used: dict[str, int] = {}
        for use, _ in choice:
            for name, kg in use:
                used[name] = used.get(name, 0) + kg
        over = sum(max(0, kg - room[name]) for name, kg in used.items())
        cost = sum((c for _, c in choice), Fraction(0)) + over * problem.costs.overflow_cents_per_kg
        best = min(best, cost)
    return best


def _way(problem: Problem, a: str, b: str) -> tuple[int, int]:
    if problem.matrix is not None:
        rows = {place.id: row for row, place in enumerate(problem.places)}
        here, there = rows[a], rows[b]
        return problem.matrix.distance_m[here][there], problem.matrix.duration_s[here][there]
    places = {place.id: place for place in problem.places}
    one, two = places[a], places[b]
    metres = math.floor(
        math.dist((one.x_m, one.y_m), (two.x_m, two.y_m)) * problem.costs.detour_permille / 1000
        + 0.5
    )
    return metres, math.floor(metres * 60 / problem.costs.speed_m_per_min + 0.5)


def _moved(costs, metres: int, crew_s: int) -> Fraction:
    """Return what a way costs, and the time of the crew on it, at a tip and waiting."""
    drive = Fraction(metres * costs.drive_cents_per_km, 1000)
    return drive + Fraction(crew_s * costs.crew_cents_per_min, 60)


def days_of(problem: Problem, vehicle, step_kg: int, *, again: bool) -> dict[Use, Fraction]:
    """Return the least cost of one vehicle for every use of destinations it can make."""
    costs = problem.costs
    jobs = {job.id: job for job in problem.jobs}
    found: dict[Use, Fraction] = {}

    def go(  # noqa: PLR0917 - the whole state of a search
        gap, place, clock, kg, litres, statuses, tips, used, cost, partial
    ):
        order = [jobs[name] for name in vehicle.jobs]
        # leave the gap
        if gap < len(order):
            job = order[gap]
            metres, seconds = _way(problem, place, job.place)
            arrive = clock + seconds
            waits = max(0, job.window_s[0] - arrive)
            late = Fraction(max(0, arrive - job.window_s[1]) * costs.late_cents_per_min, 60)
            if (
                kg + job.mass_kg <= vehicle.payload_kg
                and litres + job.volume_l <= vehicle.body_l + partial
            ):
                go(
                    gap + 1,
                    job.place,
                    max(arrive, job.window_s[0]) + job.service_s,
                    kg + job.mass_kg,
                    litres + job.volume_l,
                    statuses | {job.status},
                    0,
                    used,
                    cost + _moved(costs, metres, seconds + waits) + late,
                    partial,
                )
        elif kg == 0:
            metres, seconds = _way(problem, place, vehicle.end_place)
            over = max(0, clock + seconds - vehicle.shift_end_s)
            total = cost + _moved(costs, metres, seconds)
            total += Fraction(over * costs.overtime_cents_per_min, 60)
            use = tuple(sorted(used.items()))
            found[use] = min(found.get(use, total), total)
        if kg == 0 or tips == costs.tips_between_jobs:
            return
        for d in problem.destinations:
            metres, seconds = _way(problem, place, d.place)
            arrive = clock + seconds
            waits = max(0, d.open_s - arrive) if gap < len(order) else 0  # a job waits, too
            if d.id in used and not again:
                continue
            if arrive > d.close_s or not statuses <= set(d.accepts):
                continue
            amounts = {q for q in range(step_kg, kg, step_kg) if q >= costs.minimum_tip_kg} | {kg}
            for q in sorted(amounts):
                gone = math.floor(Fraction(litres * q, kg) + Fraction(1, 2))
                go(
                    gap,
                    d.place,
                    max(arrive, d.open_s) + d.tip_s,
                    kg - q,
                    litres - gone if q < kg else 0,
                    statuses if q < kg else frozenset(),
                    tips + 1,
                    {**used, d.id: used.get(d.id, 0) + q},
                    cost
                    + _moved(costs, metres, seconds + waits + d.tip_s)
                    + Fraction(d.fee_cents_per_t * q, 1000)
                    + d.stop_cents,
                    partial + 1 if q < kg else 0,
                )

    go(0, vehicle.start_place, vehicle.shift_start_s, 0, 0, frozenset(), 0, {}, Fraction(0), 0)
    return found
