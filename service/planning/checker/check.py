"""The independent judge: replays a plan stop by stop, and says what breaks a rule or a cost.

It shares no code with the solver: problem in, plan in, faults out. Money is summed as fractions.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from service.planning.checker.body import Body
from service.planning.checker.costs import cost_faults, whole
from service.planning.checker.travel import Ways
from service.planning.model.faults import Fault
from service.planning.model.problem import Destination, Problem, Vehicle
from service.planning.model.result import Plan, PlanStop, Unplaced, VehiclePlan


def check_plan(problem: Problem, plan: Plan, previous: Plan | None = None) -> list[Fault]:
    """Return everything that is wrong with a plan; an empty list if it is legal and priced right.

    Parameters
    ----------
    problem, plan
        The day, and the plan to be judged, whoever made it.
    previous
        The plan that ``changes`` are counted against, if the day was planned before.

    Returns
    -------
    list of Fault
        Broken rules (payload, body, statuses, hours, smallest tip, tips between jobs, order of
        jobs, done and locked stops), wrong figures (arrivals, litres, costs, use), false bounds.
    """
    judge = _Judge(problem, plan, previous)
    judge.run()
    return judge.faults


class _Judge:
    def __init__(self, problem: Problem, plan: Plan, previous: Plan | None) -> None:
        self.problem, self.plan, self.previous = problem, plan, previous
        self.faults: list[Fault] = []
        self.ways = Ways(problem)
        self.jobs = {job.id: job for job in problem.jobs}
        self.destinations = {d.id: d for d in problem.destinations}
        self.parts: dict[str, Fraction] = defaultdict(Fraction)
        self.used: dict[str, int] = defaultdict(int)

    def say(self, pointer: str, code: str, detail: str) -> None:
        self.faults.append(Fault(pointer=pointer, code=code, detail=detail))

    # --- the whole plan ---------------------------------------------------------------------
    def run(self) -> None:
        wanted = [v.id for v in self.problem.vehicles]
        if [v.id for v in self.plan.vehicles] != wanted:
            self.say("/vehicles", "vehicles_differ", "The vehicles are not those of the problem.")
            return
        if self.plan.problem != self.problem.name:
            self.say("/problem", "other_problem", "The plan names another problem.")
        bare = Fraction(0)
        for index, (vehicle, answer) in enumerate(
            zip(self.problem.vehicles, self.plan.vehicles, strict=True)
        ):
            left = [u for u in self.plan.unplaced if u.vehicle == vehicle.id]
            self.vehicle(vehicle, answer, left, f"/vehicles/{index}")
            bare += self.ways.bare_day(vehicle)
        over = sum(max(0, kg - self.destinations[d].capacity_kg) for d, kg in self.used.items())
        self.parts["overflow"] = Fraction(over * self.problem.costs.overflow_cents_per_kg)
        self.figures(bare, over)

    def figures(self, bare: Fraction, over: int) -> None:
        total = sum(self.parts.values(), Fraction(0))
        cost = self.plan.cost_cents
        for pointer, sentence in cost_faults(cost, self.parts, total):
            self.say(pointer, "wrong_cost", sentence)
        if self.plan.disposal_cents != whole(total) - whole(bare):
            self.say("/disposal_cents", "wrong_cost", f"The bare day costs {whole(bare)}.")
        if self.plan.bound_proven and self.plan.bound_cents > cost.total:
            self.say("/bound_cents", "false_bound", "A bound cannot lie above the cost.")
        listed = {use.id: use.used_kg for use in self.plan.destinations}
        for index, destination in enumerate(self.problem.destinations):
            used = self.used.get(destination.id, 0)
            if listed.get(destination.id) != used:
                self.say(f"/destinations/{index}", "wrong_use", f"{used} kg are tipped there.")
            if used > destination.capacity_kg and not destination.may_overflow:
                done = self.done_kg(destination.id)
                if used > max(done, destination.capacity_kg):
                    self.say(
                        f"/destinations/{index}", "overfull", "This destination may not overflow."
                    )
        status = "unplaced" if self.plan.unplaced else "overflow" if over else "ok"
        if self.plan.status != status:
            self.say("/status", "wrong_status", f"The status of this plan is {status}.")

    def done_kg(self, destination: str) -> int:
        return sum(
            stop.mass_kg
            for vehicle in self.problem.vehicles
            for stop in vehicle.done
            if stop.destination == destination
        )

    # --- one vehicle ------------------------------------------------------------------------
    def vehicle(  # noqa: C901, PLR0912 - one day, stop by stop
        self, vehicle: Vehicle, answer: VehiclePlan, left: list[Unplaced], at: str
    ) -> None:
        jobs = [stop.job for stop in answer.stops if stop.job is not None]
        if jobs != list(vehicle.jobs):
            self.say(f"{at}/stops", "order", "The jobs are not those of the vehicle, in order.")
            return
        for index, done in enumerate(vehicle.done):
            stop = answer.stops[index] if index < len(answer.stops) else None
            kept = stop is not None and (
                stop.job,
                stop.destination,
                stop.arrive_s,
                stop.mass_kg,
                stop.volume_l,
            ) == (done.job, done.destination, done.arrive_s, done.mass_kg, done.volume_l)
            if not kept:
                self.say(f"{at}/stops/{index}", "done_moved", "A done stop was changed.")
                return
        body = Body(place=vehicle.start_place, clock_s=vehicle.shift_start_s)
        tips, after = 0, None
        made: set[tuple[str | None, str | None]] = set()
        tipped: list[tuple[str | None, str | None, int]] = []
        if not vehicle.done:
            self.load_up(vehicle, body)
            self.leave_behind(body, left, None, answer.stops, at)
        for index, stop in enumerate(answer.stops):
            here = f"{at}/stops/{index}"
            is_done = index < len(vehicle.done)
            if stop.job is not None:
                tips, after = 0, stop.job
                self.job_stop(vehicle, body, stop, here, is_done=is_done)
            else:
                tips += 1
                if tips > self.problem.costs.tips_between_jobs:
                    self.say(here, "too_many_tips", "More tips between two jobs than allowed.")
                body.is_work_ahead = any(later.job is not None for later in answer.stops[index:])
                self.tip(vehicle, body, stop, here, is_done=is_done)
                if not is_done:
                    made.add((after, stop.destination))
                    tipped.append((after, stop.destination, stop.mass_kg))
            if is_done:
                leave = vehicle.done[index].leave_s
                body.clock_s = body.clock_s if leave is None else leave
                if index == len(vehicle.done) - 1:
                    self.load_up(vehicle, body)
            if not is_done or index == len(vehicle.done) - 1:
                self.leave_behind(body, left, after, answer.stops[index + 1 :], at)
        seconds = self.pay_way(body.place, vehicle.end_place)
        late = max(0, body.clock_s + seconds - vehicle.shift_end_s)
        self.parts["overtime"] += Fraction(late * self.problem.costs.overtime_cents_per_min, 60)
        if body.mass_kg:
            self.say(at, "not_empty", f"{body.mass_kg} kg are still aboard at the end.")
        self.locks(vehicle, tipped, at)
        self.changes(vehicle, made)

    def load_up(self, vehicle: Vehicle, body: Body) -> None:
        """Set what is aboard now; before the last done stop it is not known."""
        body.mass_kg = sum(part.mass_kg for part in vehicle.aboard)
        body.volume_l = sum(part.volume_l for part in vehicle.aboard)
        mixed = vehicle.aboard if body.mass_kg else ()  # a kilogram that is left is of all lots
        body.statuses = {part.status for part in mixed}
        body.lots = {part.job for part in mixed if part.job is not None}
        body.partial_tips, body.one_lot = 0, False

    def job_stop(
        self, vehicle: Vehicle, body: Body, stop: PlanStop, at: str, *, is_done: bool
    ) -> None:
        job = self.jobs[str(stop.job)]
        self.drive_to(body, job.place, stop, at, is_done=is_done)
        start = max(body.clock_s, job.window_s[0])
        self.pay_crew(start - body.clock_s)
        late = max(0, body.clock_s - job.window_s[1])
        self.parts["late"] += Fraction(late * self.problem.costs.late_cents_per_min, 60)
        body.clock_s = start + job.service_s
        if is_done:
            return
        body.one_lot = body.mass_kg == 0
        if job.mass_kg:
            body.mass_kg += job.mass_kg
            body.volume_l += job.volume_l
            body.lots.add(job.id)
            body.statuses.add(job.status)
        if body.mass_kg > vehicle.payload_kg:
            self.say(at, "overloaded", f"{body.mass_kg} kg aboard, {vehicle.payload_kg} allowed.")
        if body.volume_l > vehicle.body_l + body.partial_tips:
            self.say(at, "overfull", f"{body.volume_l} l aboard, {vehicle.body_l} allowed.")

    def tip(self, vehicle: Vehicle, body: Body, stop: PlanStop, at: str, *, is_done: bool) -> None:
        destination = self.destinations.get(str(stop.destination))
        if destination is None:
            self.say(at, "unknown_id", f"There is no destination {stop.destination!r}.")
            return
        self.drive_to(body, destination.place, stop, at, is_done=is_done)
        if not is_done:
            self.may_tip(vehicle, body, destination, stop, at)
        if body.is_work_ahead:
            self.pay_crew(body.gate_opens_s(destination) - body.clock_s)
        body.clock_s = body.gate_opens_s(destination) + destination.tip_s
        self.used[destination.id] += stop.mass_kg
        self.parts["stops"] += destination.stop_cents
        self.pay_crew(destination.tip_s)
        self.parts["fees"] += Fraction(destination.fee_cents_per_t * stop.mass_kg, 1000)
        self.parts["burden"] += Fraction(destination.burden_cents_per_t * stop.mass_kg, 1000)
        if not is_done:
            body.volume_l -= stop.volume_l
            body.mass_kg -= stop.mass_kg
            body.partial_tips += 1
            if body.mass_kg <= 0:
                body.emptied()

    def may_tip(
        self, vehicle: Vehicle, body: Body, destination: Destination, stop: PlanStop, at: str
    ) -> None:
        if body.clock_s > destination.close_s:
            self.say(at, "closed", f"{destination.id} closes at {destination.close_s} s.")
        if set(stop.statuses) != body.statuses:
            self.say(at, "statuses", f"Aboard are {sorted(body.statuses)}.")
        if not body.statuses <= set(destination.accepts):
            self.say(at, "not_accepted", f"{destination.id} does not accept what is aboard.")
        for said in body.too_late(destination):
            self.say(at, "too_late", said)
        for lot in sorted(body.lots):
            code = dict(self.jobs[lot].refused_destinations).get(destination.id)
            if code is not None:
                self.say(at, "refused", f"{destination.id} refuses the lot of {lot}: {code}.")
        if not 0 < stop.mass_kg <= body.mass_kg:
            self.say(at, "mass", f"{stop.mass_kg} kg of {body.mass_kg} kg cannot be tipped.")
            return
        least_kg = min(body.mass_kg, self.problem.costs.minimum_tip_kg)
        there_kg = math.ceil(Fraction(destination.least_kg * vehicle.least_permille, 1000))
        least_kg = max(least_kg, there_kg)
        if stop.mass_kg < least_kg:
            self.say(at, "too_little", f"This tip is of {least_kg} kg at least.")
        litres = math.floor(Fraction(body.volume_l * stop.mass_kg, body.mass_kg) + Fraction(1, 2))
        if stop.volume_l != litres:
            self.say(at, "wrong_volume", f"The litres of this tip are {litres}.")

    def drive_to(self, body: Body, place: str, stop: PlanStop, at: str, *, is_done: bool) -> None:
        seconds = self.pay_way(body.place, place)
        body.place = place
        body.clock_s += seconds
        if is_done:
            body.clock_s = stop.arrive_s
        elif stop.arrive_s != body.clock_s:
            self.say(f"{at}/arrive_s", "wrong_time", f"The arrival is at {body.clock_s}.")

    def pay_way(self, start: str, end: str) -> int:
        """Count the cost of a way and return its seconds."""
        metres, seconds = self.ways.way(start, end)
        self.parts["drive"] += Fraction(metres * self.problem.costs.drive_cents_per_km, 1000)
        self.pay_crew(seconds)
        return seconds

    def pay_crew(self, seconds: int) -> None:
        self.parts["crew"] += Fraction(seconds * self.problem.costs.crew_cents_per_min, 60)

    def leave_behind(
        self,
        body: Body,
        left: list[Unplaced],
        after: str | None,
        ahead: Sequence[PlanStop],
        at: str,
    ) -> None:
        """Take off what the plan says no destination takes, once, right after its job.

        A lot that lies alone can stay on its own lawn. What is mixed stays aboard: it is in all
        that is tipped later, so then nothing is, unless no lot comes any more.
        """
        jobs_come = any(stop.job is not None for stop in ahead)
        tips_come = any(stop.destination is not None for stop in ahead)
        for part in [u for u in left if u.after_job == after]:
            left.remove(part)
            if jobs_come and tips_come and not body.one_lot:
                self.say(at, "still_aboard", f"What is left after {after} is in later tips.")
            body.mass_kg -= part.mass_kg
            body.volume_l -= part.volume_l
            price = self.problem.costs.unplaced_cents_per_kg
            self.parts["unplaced"] += part.mass_kg * price
            if body.mass_kg <= 0:
                body.emptied()
            else:
                body.partial_tips += 1

    def locks(
        self, vehicle: Vehicle, tipped: list[tuple[str | None, str | None, int]], at: str
    ) -> None:
        for lock in vehicle.locked:
            least = 1 if lock.mass_kg is None else lock.mass_kg
            wanted = (lock.after_job, lock.destination)
            if not any((job, place) == wanted and kg >= least for job, place, kg in tipped):
                self.say(at, "lock_broken", f"The locked tip at {lock.destination} is missing.")

    def changes(self, vehicle: Vehicle, made: set[tuple[str | None, str | None]]) -> None:
        if self.previous is None:
            return
        before: set[tuple[str | None, str | None]] = set()
        for old in self.previous.vehicles:
            after = None
            for stop in old.stops if old.id == vehicle.id else ():
                after = stop.job if stop.job is not None else after
                if stop.destination is not None:
                    before.add((after, stop.destination))
        self.parts["changes"] += len(made - before) * self.problem.costs.change_cents_per_stop
