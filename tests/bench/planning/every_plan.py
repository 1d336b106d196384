"""Every legal plan of a very small day, one after the other: the truth that a planner must meet.

It reads the problem document as the format describes it, and shares no code with the planner or
its checker. Masses are whole kilograms, and every whole amount of every tip is tried. The only
plans left out are those that reach the same load, room and place later and dearer than another,
even if that one waits until then.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Any, NamedTuple

EARTH_RADIUS_M = 6_371_008.8  # the problem format's sphere
UNITS = 60_000  # a cent in units that make every price of the format whole: per km, minute and t

Document = dict[str, Any]
Use = tuple[int, ...]  # kilograms by destination
Costs = dict[Use, int]  # least cost in units, by use


class Load(NamedTuple):
    """What is aboard, and what the destinations got: all that the rest of a day depends on."""

    at: int  # place
    kg: int
    litres: int
    lots: frozenset[tuple[str, str]]  # status and job, "" if it is none of today's
    parted: int  # tips since the body was empty that left something
    use: Use
    kept: frozenset[int]  # locks, by number
    alone: bool = False  # nothing else was aboard when the last lot came
    stays: bool = False  # a mixture that was left stays aboard, so nothing is tipped any more


Front = dict[Load, list[tuple[int, int]]]  # clock and cost, each cheaper than to be sooner and wait


def cheapest(
    day: Document, *, leaving: Collection[str] = (), below: int | None = None
) -> int | None:
    """Return what the cheapest legal plan costs in units; None if there is none.

    Parameters
    ----------
    leaving
        Vehicles that may leave material behind at its price; all others place everything.
    below
        Only plans cheaper than this are of interest [units].
    """
    days = []
    for vehicle in day["vehicles"]:
        found = _Vehicle(day, vehicle, leaving=vehicle["id"] in leaving, below=below).days()
        if not found:
            return None
        days.append(sorted(found.items(), key=lambda item: item[1]))
    least = [choice[0][1] for choice in days]
    best = below

    def add(number: int, used: Use, cost: int) -> None:
        nonlocal best
        if best is not None and cost + sum(least[number:]) >= best:
            return
        if number == len(days):
            over = _overflow(day, used)
            if over is not None and (best is None or cost + over < best):
                best = cost + over
            return
        for use, own in days[number]:
            if best is not None and cost + own + sum(least[number + 1 :]) >= best:
                break
            add(number + 1, tuple(map(sum, zip(used, use, strict=True))), cost + own)

    add(0, (0,) * len(day["destinations"]), 0)
    return None if best == below else best


def cents(units: int) -> int:
    """Return whole cents, half a cent upwards."""
    return (2 * units + UNITS) // (2 * UNITS)


def bay_takes(day: Document, name: str) -> bool:
    """Tell whether some hold bay takes every lot of a vehicle."""
    vehicle = next(vehicle for vehicle in day["vehicles"] if vehicle["id"] == name)
    jobs = {job["id"]: job for job in day["jobs"]}
    lots = [jobs[job] for job in vehicle["jobs"] if jobs[job]["mass_kg"]] + vehicle.get(
        "aboard", []
    )
    return any(
        bay["kind"] == "hold"
        and (bay["capacity_kg"] > 0 or bay.get("may_overflow", True))
        and all(lot["status"] in bay["accepts"] for lot in lots)
        and not any(bay["id"] in lot.get("refused_destinations", {}) for lot in lots)
        and not any(
            bay.get("accepts_until_s", {}).get(lot["status"], math.inf) < bay["close_s"]
            for lot in lots
        )
        for bay in day["destinations"]
    )


def _overflow(day: Document, used: Use) -> int | None:
    """Return what it costs to tip so much at the destinations; None if that may not be."""
    over = 0
    for there, kg in zip(day["destinations"], used, strict=True):
        more = max(0, kg - there["capacity_kg"])
        if more and not there.get("may_overflow", True):
            return None
        over += more
    return over * day["costs"]["overflow_cents_per_kg"] * UNITS


class _Vehicle:
    """One vehicle's legal days."""

    def __init__(
        self, day: Document, vehicle: Document, *, leaving: bool, below: int | None
    ) -> None:
        self.day, self.vehicle, self.leaving, self.below = day, vehicle, leaving, below
        self.costs = day["costs"]
        self.rows = {place["id"]: row for row, place in enumerate(day["places"])}
        self.jobs = {job["id"]: job for job in day["jobs"]}
        self.smallest = self.costs["minimum_tip_kg"]
        default = 2 * self.costs["overflow_cents_per_kg"]
        self.left_price = self.costs.get("unplaced_cents_per_kg", default) * UNITS
        self.ways: dict[tuple[int, int], tuple[int, int]] = {}
        mass = sum(j["mass_kg"] for j in day["jobs"])
        mass += sum(p["mass_kg"] for v in day["vehicles"] for p in v.get("aboard", []))
        # where all there is finds room, it need not be known how much was tipped
        self.scarce = [there["capacity_kg"] < mass for there in day["destinations"]]

    def way(self, a: int, b: int) -> tuple[int, int]:
        """Return metres and seconds from place to place."""
        if (a, b) not in self.ways:
            self.ways[a, b] = self._way(a, b)
        return self.ways[a, b]

    def _way(self, a: int, b: int) -> tuple[int, int]:
        if "matrix" in self.day:
            matrix = self.day["matrix"]
            return matrix["distance_m"][a][b], matrix["duration_s"][a][b]
        one, two = self.day["places"][a], self.day["places"][b]
        if "x_m" in one:
            straight = math.hypot(one["x_m"] - two["x_m"], one["y_m"] - two["y_m"])
        else:
            straight = _great_circle_m(one, two)
        metres = math.floor(straight * self.costs["detour_permille"] / 1000 + 0.5)
        return metres, math.floor(metres * 60 / self.costs["speed_m_per_min"] + 0.5)

    def drive(self, a: int, b: int) -> tuple[int, int]:
        """Return what the way costs [units] and how long it takes."""
        metres, seconds = self.way(a, b)
        cost = metres * self.costs["drive_cents_per_km"] * (UNITS // 1000)
        return cost + self.crew(seconds), seconds

    def crew(self, seconds: int) -> int:
        """Return what the crew's time on the way, at a tip or waiting costs [units]."""
        return seconds * int(self.costs.get("crew_cents_per_min", 0)) * (UNITS // 60)

    def days(self) -> Costs:
        """Return the least cost of the vehicle for everything it may tip where."""
        parts = self.vehicle.get("aboard", [])
        kg = sum(part["mass_kg"] for part in parts)
        start = Load(
            at=self.rows[self.vehicle["start_place"]],
            kg=kg,
            litres=sum(part["volume_l"] for part in parts),
            lots=frozenset((p["status"], p.get("job", "")) for p in parts) if kg else frozenset(),
            parted=0,
            use=(0,) * len(self.day["destinations"]),
            kept=frozenset(),
        )
        front: Front = {start: [(self.vehicle["shift_start_s"], 0)]}
        jobs = self.vehicle["jobs"]
        front = self.gap(front, None, last=not jobs)
        for name in jobs:
            front = self.gap(self.job(front, self.jobs[name]), name, last=name == jobs[-1])
        return self.home(front)

    def gap(self, front: Front, after: str | None, *, last: bool) -> Front:
        """Return what may come of leaving material behind, and of tips, before the next job.

        A lot that came into an empty body may be left on its lawn; a mixture stays aboard.
        """
        found: Front = {}
        for load, ends in front.items():
            for kg in range(load.kg + 1 if self.leaving else 1):
                rest = self.less(load, kg) if kg else load
                if kg and not (last or load.alone):
                    rest = rest._replace(stays=True)
                self.join(
                    found, rest, [(clock, cost + kg * self.left_price) for clock, cost in ends]
                )
        wave = found
        for _ in range(self.costs["tips_between_jobs"]):
            tipped: Front = {}
            for load, ends in wave.items():
                for number in range(len(self.day["destinations"])):
                    self.tips(tipped, load, ends, number, after)
            wave = tipped
            for load, ends in tipped.items():
                self.join(found, load, ends)
        return found

    def tips(
        self, found: Front, load: Load, ends: list[tuple[int, int]], number: int, after: str | None
    ) -> None:
        """Add what comes of every tip at one destination."""
        there = self.day["destinations"][number]
        if load.stays or not load.kg or not all(self.takes(there, *lot) for lot in load.lots):
            return
        place = self.rows[there["place"]]
        way, seconds = self.drive(load.at, place)
        reached = [(clock + seconds, cost + way) for clock, cost in ends]
        reached = [end for end in reached if end[0] <= there["close_s"]]
        ends_s = [there.get("accepts_until_s", {}).get(status, math.inf) for status, _ in load.lots]
        reached = [end for end in reached if _begins(there, end[0]) <= min(ends_s)]
        least = there.get("least_kg", 0) * self.vehicle.get("least_permille", 1000)
        for kg in range(1, load.kg + 1) if reached else ():
            if (kg < load.kg and kg < self.smallest) or kg * 1000 < least:
                continue
            price = there["stop_cents"] * UNITS + self.crew(there["tip_s"])
            price += kg * there["fee_cents_per_t"] * (UNITS // 1000)
            told = kg if self.scarce[number] else 0
            use = (*load.use[:number], load.use[number] + told, *load.use[number + 1 :])
            over = _overflow(self.day, use)
            if over is None:
                break
            kept = load.kept | {
                k
                for k, lock in enumerate(self.vehicle.get("locked", []))
                if (lock.get("after_job"), lock["destination"]) == (after, there["id"])
                and kg >= lock.get("mass_kg", 1)
            }
            then = self.less(load, kg)._replace(at=place, use=use, kept=kept)
            paid = bool(self.vehicle["jobs"]) and after != self.vehicle["jobs"][-1]
            left = [
                (
                    _begins(there, c) + there["tip_s"],
                    cost + price + (self.crew(_begins(there, c) - c) if paid else 0),
                )
                for c, cost in reached
            ]
            self.join(found, then, left)

    def takes(self, there: Document, status: str, job: str) -> bool:
        """Tell whether a destination takes a lot."""
        refused = self.jobs[job].get("refused_destinations", {}) if job else {}
        return status in there["accepts"] and there["id"] not in refused

    def less(self, load: Load, kg: int) -> Load:
        """Return what is aboard once so many kilograms are off."""
        if kg == load.kg:
            return load._replace(kg=0, litres=0, lots=frozenset(), parted=0)
        litres = (2 * load.litres * kg + load.kg) // (2 * load.kg)
        return load._replace(kg=load.kg - kg, litres=load.litres - litres, parted=load.parted + 1)

    def job(self, front: Front, job: Document) -> Front:
        """Return what comes of driving to a job and loading it, where it fits."""
        found: Front = {}
        first, last = job["window_s"]
        place = self.rows[job["place"]]
        late = self.costs["late_cents_per_min"] * (UNITS // 60)
        for load, ends in front.items():
            kg, litres = load.kg + job["mass_kg"], load.litres + job["volume_l"]
            if kg > self.vehicle["payload_kg"] or litres > self.vehicle["body_l"] + load.parted:
                continue
            way, seconds = self.drive(load.at, place)
            lots = load.lots | ({(job["status"], job["id"])} if job["mass_kg"] else set())
            reached = [(clock + seconds, cost + way) for clock, cost in ends]
            done = [
                (
                    max(clock, first) + job["service_s"],
                    cost + max(0, clock - last) * late + self.crew(max(0, first - clock)),
                )
                for clock, cost in reached
            ]
            alone = self.leaving and not load.kg
            then = load._replace(at=place, kg=kg, litres=litres, lots=frozenset(lots), alone=alone)
            self.join(found, then, done)
        return found

    def home(self, front: Front) -> Costs:
        """Return what the days cost that end empty, with all locked tips made."""
        found: Costs = {}
        end = self.rows[self.vehicle["end_place"]]
        price = self.costs["overtime_cents_per_min"] * (UNITS // 60)
        for load, ends in front.items():
            if load.kg or len(load.kept) < len(self.vehicle.get("locked", [])):
                continue
            way, seconds = self.drive(load.at, end)
            for clock, cost in ends:
                over = max(0, clock + seconds - self.vehicle["shift_end_s"])
                total = cost + way + over * price
                found[load.use] = min(total, found.get(load.use, total))
        return found

    def join(self, front: Front, load: Load, ends: list[tuple[int, int]]) -> None:
        """Add ends of a load; keep those that no sooner one, waiting until then, is as cheap as."""
        if self.below is not None:
            most = self.below - (_overflow(self.day, load.use) or 0)
            ends = [end for end in ends if end[1] < most]
        kept: list[tuple[int, int]] = []
        for clock, cost in sorted([*front.get(load, ()), *ends]):
            if all(cost < less + self.crew(clock - sooner) for sooner, less in kept):
                kept.append((clock, cost))
        if kept:
            front[load] = kept


def _begins(there: Document, clock: int) -> int:
    """Return when a tip begins: not before it opens, and not while it is shut in between."""
    if clock < there["open_s"]:
        return int(there["open_s"])
    if "pause_from_s" in there and there["pause_from_s"] < clock < there["pause_until_s"]:
        return int(there["pause_until_s"])
    return clock


def _great_circle_m(one: Document, two: Document) -> float:
    """Return the way between two points on the format's sphere (haversine)."""
    a, b = math.radians(one["lat"]), math.radians(two["lat"])
    wide = math.radians(two["lon"] - one["lon"])
    chord = math.sin((b - a) / 2) ** 2 + math.cos(a) * math.cos(b) * math.sin(wide / 2) ** 2
    return 2 * EARTH_RADIUS_M * math.asin(min(1.0, math.sqrt(chord)))
