"""When a planned vehicle is back at its depot."""

from __future__ import annotations

from service.planning.model.problem import Vehicle
from service.planning.model.result import VehiclePlan
from service.usecases.day.problem.build import DayProblem


def vehicle_of(built: DayProblem, answer: VehiclePlan) -> Vehicle:
    """Return the vehicle that an answer is about."""
    return next(vehicle for vehicle in built.problem.vehicles if vehicle.id == answer.id)


def home_s(built: DayProblem, answer: VehiclePlan) -> int:
    """Return when a vehicle is back at its depot [s since midnight]."""
    return last_begun_and_home_s(built, answer)[1]


def last_begun_and_home_s(built: DayProblem, answer: VehiclePlan) -> tuple[int, int]:
    """Return when a vehicle's last stop begins, and when it is back [s since midnight].

    Before a gate that opens later it waits.
    """
    vehicle = vehicle_of(built, answer)
    if not answer.stops:
        return vehicle.shift_start_s, vehicle.shift_start_s
    last = answer.stops[-1]
    if last.job is not None:
        job = next(one for one in built.problem.jobs if one.id == last.job)
        place, stays_s = job.place, job.service_s
        begun_s = max(last.arrive_s, job.window_s[0])
    else:
        tip = next(one for one in built.problem.destinations if one.id == last.destination)
        place, stays_s, begun_s = tip.place, tip.tip_s, tip.begins_s(last.arrive_s)
    rows = {one.id: row for row, one in enumerate(built.problem.places)}
    matrix = built.problem.matrix
    way_s = 0 if matrix is None else matrix.duration_s[rows[place]][rows[vehicle.end_place]]
    return begun_s, begun_s + stays_s + way_s
