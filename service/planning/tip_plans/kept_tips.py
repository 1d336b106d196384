"""What of a plan still holds: tips that are to come, and whether they are still legal."""

from __future__ import annotations

from collections.abc import Mapping

from service.planning.arrays.tables import Tables, VehicleTables
from service.planning.model.problem import Vehicle
from service.planning.model.result import Plan, Unplaced, VehiclePlan
from service.planning.tip_plans.columns import AHEAD, Column, Tips, legs_of, true_cost
from service.planning.tip_plans.shortlists import NOWHERE

Stops = set[tuple[str | None, str]]


def stops_of(plan: Plan) -> dict[str, Stops]:
    """Return the tips of a plan, by the ids of the vehicles that have any."""
    tips = ((answer.id, stops_of_vehicle(answer)) for answer in plan.vehicles)
    return {name: stops for name, stops in tips if stops}


def stops_of_vehicle(answer: VehiclePlan) -> Stops:
    """Return the tips of a vehicle: pairs of job before (None: start) and destination."""
    stops: Stops = set()
    after = None
    for stop in answer.stops:
        if stop.job is not None:
            after = stop.job
        elif stop.destination is not None:
            stops.add((after, stop.destination))
    return stops


def tips_ahead(
    vehicle: Vehicle,
    answer: VehiclePlan,
    unplaced: tuple[Unplaced, ...],
    numbers: Mapping[str, int],
) -> Tips | None:
    """Return a vehicle's tips still to come, None if the answer is of other jobs.

    Parameters
    ----------
    vehicle
        With as many done stops as there are now; they are the first of the answer.
    answer, unplaced
        The vehicle's part of a plan.
    numbers
        Destination numbers by id; tips at others are left out.
    """
    if tuple(stop.job for stop in answer.stops if stop.job is not None) != vehicle.jobs:
        return None
    left = {part.after_job: part.mass_kg for part in unplaced}
    done = [stop.job for stop in vehicle.done if stop.job is not None]
    gap = -len(done)
    tips = []
    now = left.get(done[-1] if done else None)
    if now is not None:
        tips.append((0, NOWHERE, now))
    for passed, stop in enumerate(answer.stops, start=1):
        ahead = passed > len(vehicle.done)
        if stop.job is not None:
            gap += 1
            if ahead and stop.job in left:
                tips.append((gap, NOWHERE, left[stop.job]))
        elif ahead:
            number = numbers.get(str(stop.destination))
            if number is not None:
                tips.append((gap, number, stop.mass_kg))
    return tuple(tips)


def columns_carried(
    tables: Tables, plan: Plan, numbers: Mapping[str, int]
) -> tuple[list[Column], set[int]]:
    """Return the tips of a plan in another problem of the day, and who can't keep theirs.

    Parameters
    ----------
    plan
        A plan of the day before something happened to it.
    numbers
        Destination numbers by id.
    """
    answers = {answer.id: answer for answer in plan.vehicles}
    columns, lost = [], set()
    for number, (vehicle, arrays) in enumerate(
        zip(tables.problem.vehicles, tables.vehicles, strict=True)
    ):
        left = tuple(part for part in plan.unplaced if part.vehicle == vehicle.id)
        answer = answers.get(vehicle.id)
        tips = None if answer is None else tips_ahead(vehicle, answer, left, numbers)
        if tips is None or not stands(tables, arrays, tips):
            lost.add(number)
        tips = tips or ()
        columns.append(Column(vehicle=number, cost=true_cost(tables, arrays, tips), tips=tips))
    return columns, lost


def _too_late(vehicle: VehicleTables, number: int, bits: int, clock: int) -> bool:
    """Return whether a tip that begins then comes too late for any of what is aboard."""
    row = int(vehicle.until_row[number])
    if row < 0:
        return False
    ends = vehicle.until[row].tolist()
    return any(bits >> bit & 1 and clock > last for bit, last in enumerate(ends))


def stands(tables: Tables, vehicle: VehicleTables, tips: Tips) -> bool:
    """Tell whether a tip plan is legal, whatever room there is.

    Everything that is aboard leaves by the end, nothing is too heavy, too bulky, refused, too
    little, too late or too often, every lock is kept, and what is left lies on its own lawn or
    stays aboard a vehicle that tips nothing more.
    """
    d, costs = tables.destinations, tables.problem.costs
    leasts_kg = vehicle.leasts_kg(d)
    _, kg, litres, bits = vehicle.start.tolist()
    payload, body, _, made = vehicle.limits.tolist()
    jobs, parts, walked, one_lot = vehicle.jobs.tolist(), 0, 0, False
    last_tip = max((at for at, (_, number, _) in enumerate(tips) if number != NOWHERE), default=-1)
    for gap, number, amount, _, clock, wait_s in legs_of(tables, vehicle, tips):
        if number == AHEAD:
            if gap < len(jobs):
                more_kg, more_l, bit, *_ = jobs[gap]
                one_lot = kg == 0
                kg, litres, bits, made = kg + more_kg, litres + more_l, bits | bit, 0
                if kg > payload or litres > body + parts:
                    return False
            continue
        walked += 1
        if not 0 < amount <= kg:
            return False
        if number != NOWHERE:
            made += 1
            if (
                made > costs.tips_between_jobs
                or clock + wait_s > d.close_s[number]
                or bits & ~int(vehicle.accepts[number])
                or _too_late(vehicle, number, bits, clock + wait_s)
                or amount < min(kg, costs.minimum_tip_kg)
                or amount < leasts_kg[number]
            ):
                return False
        elif gap < len(jobs) and walked <= last_tip and not one_lot:
            return False  # it stays aboard, and so it is in what is tipped later
        gone = (2 * litres * amount + kg) // (2 * kg)
        kg, litres, parts = kg - amount, litres - gone, parts + 1
        if not kg:
            litres, bits, parts = 0, 0, 0
    heeded = all(
        any((gap, number) == (g, n) and amount >= least for g, n, amount in tips)
        for gap, number, least in vehicle.locks.tolist()
    )
    return walked == len(tips) and not kg and heeded
