"""Invented days to measure the planner on: seeded, of four sizes, in the problem format.

The distributions are those of the figures in the planner's description: crews work in clusters,
their order is nearest neighbour improved by 2-opt, arrival windows lie an hour before to 75 minutes
after the undisturbed arrival. All choices of numbers are common practice, no source.
"""

from __future__ import annotations

import itertools
import math
import random
from typing import Any

SIZES = {
    "S": (20, 4, 15, 2),
    "M": (200, 30, 150, 6),
    "L": (1000, 120, 600, 15),
    "X": (5000, 500, 2500, 30),
}
STATUSES = ("clean", "weedy", "treated", "unknown")
DETOUR_PERMILLE, SPEED_M_PER_MIN = 1300, 633
SHIFT_START_S, SHIFT_END_S = 7 * 3600, 17 * 3600
Point = tuple[int, int]


def day(size: str, seed: int) -> dict[str, Any]:
    """Return an invented day as a problem document."""
    jobs, vehicles, beds, sites = SIZES[size]
    return _Invention(f"{size}-{seed}").make(jobs=jobs, vehicles=vehicles, beds=beds, sites=sites)


def small_day(name: str, *, jobs: int, vehicles: int, beds: int, sites: int) -> dict[str, Any]:
    """Return an invented day of any size; the name is its seed."""
    return _Invention(name).make(jobs=jobs, vehicles=vehicles, beds=beds, sites=sites)


def _metres(a: Point, b: Point) -> int:
    return math.floor(math.hypot(a[0] - b[0], a[1] - b[1]) * DETOUR_PERMILLE / 1000 + 0.5)


def _seconds(a: Point, b: Point) -> int:
    return math.floor(_metres(a, b) * 60 / SPEED_M_PER_MIN + 0.5)


class _Invention:
    def __init__(self, name: str) -> None:
        self.name = name
        self.chance = random.Random(name)
        self.places: list[dict[str, Any]] = []
        self.jobs: list[dict[str, Any]] = []
        self.at: dict[str, Point] = {}

    def place(self, point: Point) -> str:
        name = f"P{len(self.places)}"
        self.places.append({"id": name, "x_m": point[0], "y_m": point[1]})
        return name

    def somewhere(self, low: float, high: float) -> Point:
        side = self.side_m
        return round(self.chance.uniform(low, high) * side), round(
            self.chance.uniform(low, high) * side
        )

    def near(self, centre: Point, spread_m: float) -> Point:
        return (
            round(centre[0] + self.chance.gauss(0, spread_m)),
            round(centre[1] + self.chance.gauss(0, spread_m)),
        )

    def make(self, *, jobs: int, vehicles: int, beds: int, sites: int) -> dict[str, Any]:
        chance = self.chance
        self.side_m = 14_000 * (vehicles / 4) ** 0.38
        yards = [self.somewhere(0.25, 0.75) for _ in range(max(1, round(vehicles / 60)))]
        yard_places = [self.place(yard) for yard in yards]
        centres = [self.somewhere(0.05, 0.95) for _ in range(vehicles)]
        crews, left = [], jobs
        yard_kg, unknown_kg = [0] * len(yards), [0] * len(yards)
        for number, centre in enumerate(centres):
            yard = min(range(len(yards)), key=lambda k: _metres(centre, yards[k]))
            count = left // (vehicles - number)
            left -= count
            crew = self.crew(number, centre, yards[yard], yard_places[yard], count)
            crews.append(crew)
            mine = [job for job in self.jobs if job["id"] in crew["jobs"]]
            yard_kg[yard] += sum(job["mass_kg"] for job in mine)
            unknown_kg[yard] += sum(job["mass_kg"] for job in mine if job["status"] == "unknown")
        destinations = self.beds(beds, jobs, centres) + self.sites(sites)
        for number, name in enumerate(yard_places):
            room = max(0.15 * yard_kg[number], 1.25 * unknown_kg[number])
            destinations.append(
                _destination(
                    f"H{number}",
                    "hold",
                    name,
                    round(room / 10) * 10,
                    25_000,
                    list(STATUSES),
                    360,
                    200,
                )
            )
        chance.random()
        return {
            "format": 1,
            "name": self.name,
            "costs": {
                "drive_cents_per_km": 120,
                "late_cents_per_min": 150,
                "overtime_cents_per_min": 100,
                "overflow_cents_per_kg": 200,
                "speed_m_per_min": SPEED_M_PER_MIN,
                "detour_permille": DETOUR_PERMILLE,
                "minimum_tip_kg": 30,
                "tips_between_jobs": 2,
            },
            "statuses": list(STATUSES),
            "places": self.places,
            "vehicles": crews,
            "jobs": self.jobs,
            "destinations": destinations,
        }

    def crew(
        self, number: int, centre: Point, yard: Point, yard_place: str, count: int
    ) -> dict[str, Any]:
        chance = self.chance
        payload, body = chance.choice([(750, 3000), (1000, 4000), (1500, 6000)])
        lots = []
        for _ in range(count):
            kg = int(round(min(600.0, max(40.0, chance.lognormvariate(math.log(190), 0.55))), -1))
            density = chance.uniform(0.18, 0.35)
            litres, kg = min(int(kg / density), body), min(kg, payload)
            status = chance.choices(STATUSES, [0.70, 0.15, 0.08, 0.07])[0]
            lots.append((self.near(centre, 2200), kg, litres, status))
        order = _short_order(yard, lots)
        clock, here = SHIFT_START_S, yard
        names = []
        for point, kg, litres, status in order:
            clock += _seconds(here, point)
            first, last = max(SHIFT_START_S, clock - 3600), clock + 75 * 60
            service = round((22 + 0.07 * kg) * 60)
            name = f"J{len(self.jobs)}"
            self.at[name] = point
            self.jobs.append(
                {
                    "id": name,
                    "place": self.place(point),
                    "mass_kg": kg,
                    "volume_l": litres,
                    "status": status,
                    "service_s": service,
                    "window_s": [first, last],
                }
            )
            names.append(name)
            clock, here = max(clock, first) + service + 600, point
        return {
            "id": f"V{number}",
            "start_place": yard_place,
            "end_place": yard_place,
            "shift_start_s": SHIFT_START_S,
            "shift_end_s": max(SHIFT_END_S, clock + _seconds(here, yard) + 1200),
            "payload_kg": payload,
            "body_l": body,
            "jobs": names,
            "aboard": [],
            "done": [],
        }

    def beds(self, count: int, jobs: int, centres: list[Point]) -> list[dict[str, Any]]:
        chance, made = self.chance, []
        mown = chance.sample([job["id"] for job in self.jobs], min(jobs, int(count * 0.6)))
        for number in range(count):
            if number < len(mown):
                point = self.at[mown[number]]
            else:
                point = self.near(chance.choice(centres), 3000)
            room = chance.randrange(50, 601, 10)
            made.append(
                _destination(f"B{number}", "bed", self.place(point), room, 0, ["clean"], 480, 300)
            )
        return made

    def sites(self, count: int) -> list[dict[str, Any]]:
        chance, made = self.chance, []
        total = sum(job["mass_kg"] for job in self.jobs)
        share = [chance.uniform(0.4, 1.6) for _ in range(count)]
        for number in range(count):
            industrial = number % 3 == 1
            fee = chance.uniform(6000, 9000) if industrial else chance.uniform(3000, 5500)
            site = _destination(
                f"C{number}",
                "site",
                self.place(self.somewhere(0.1, 0.9)),
                int(round(total * 0.75 * share[number] / sum(share), -1)),
                round(fee),
                list(STATUSES[:3] if industrial else STATUSES[:2]),
                720,
                500,
            )
            site["open_s"] = chance.choice([450, 480, 510]) * 60
            site["close_s"] = chance.choice([930, 990, 1080]) * 60
            made.append(site)
        return made


def _short_order(yard: Point, lots: list[Any]) -> list[Any]:
    """Return lots in nearest-neighbour order, improved by 2-opt."""
    order, here, rest = [], yard, list(lots)
    while rest:
        nearest = min(rest, key=lambda lot: _metres(here, lot[0]))
        rest.remove(nearest)
        order.append(nearest)
        here = nearest[0]

    def length(some: list[Any]) -> int:
        points = [yard, *(lot[0] for lot in some), yard]
        return sum(_metres(a, b) for a, b in itertools.pairwise(points))

    best, improved = length(order), True
    while improved:
        improved = False
        for i in range(len(order)):
            for k in range(i + 1, len(order)):
                turned = order[:i] + order[i : k + 1][::-1] + order[k + 1 :]
                if length(turned) < best:
                    order, best, improved = turned, length(turned), True
    return order


def _destination(  # noqa: PLR0917 - a row of a table
    name: str, kind: str, place: str, room: int, fee: int, accepts: list[str], tip_s: int, stop: int
) -> dict[str, Any]:
    return {
        "id": name,
        "kind": kind,
        "place": place,
        "capacity_kg": room,
        "fee_cents_per_t": fee,
        "accepts": accepts,
        "tip_s": tip_s,
        "stop_cents": stop,
        "open_s": 0,
        "close_s": 86_400,
    }
