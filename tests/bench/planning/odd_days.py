"""Invented days so small that every plan can be tried, and odd in every way the format allows.

A few kilograms and a few places: rooms below the smallest tip, locks, closed hours, lots of no
mass, ties, roads that are no metric. All choices of numbers are common practice, no source.
"""

from __future__ import annotations

import math
import random
from typing import Any

Document = dict[str, Any]
KINDS = ("bed", "site", "hold")
STATUSES = ("clean", "weedy", "unknown")
SHIFT_S = (25_200, 32_400)


def odd_day(seed: int) -> Document:
    """Return a small odd day as a problem document; the number is its seed."""
    return _Invention(seed).day()


class _Invention:
    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.chance = random.Random(f"odd-{seed}")
        self.places: list[Document] = []
        self.side_m = self.chance.choice([0, 300, 3_000, 12_000])
        self.round_earth = self.chance.random() < 0.15

    def one_in(self, times: int) -> bool:
        return self.chance.randrange(times) == 0

    def place(self) -> str:
        """Return a place: often one that is there already, so that ways of 0 m come up."""
        if self.places and self.one_in(4):
            return str(self.chance.choice(self.places)["id"])
        x_m, y_m = (self.chance.randint(0, self.side_m) for _ in range(2))
        point: Document = {"id": f"P{len(self.places)}"}
        if self.round_earth:
            point |= {"lat": 52 + y_m / 111_000, "lon": 13 + x_m / 68_000}
        else:
            point |= {"x_m": x_m, "y_m": y_m}
        self.places.append(point)
        return str(point["id"])

    def day(self) -> Document:
        chance = self.chance
        jobs: list[Document] = []
        few = chance.choice([1, 1, 2])
        destinations = [self.destination(k) for k in range(chance.choice([1, 2, 2, 3]))]
        vehicles = [self.vehicle(k, jobs, 3 if few == 1 else 2) for k in range(few)]
        for job in jobs:
            if self.one_in(8):
                job["refused_destinations"] = {chance.choice(destinations)["id"]: "too_wet"}
        for vehicle in vehicles:
            if self.one_in(3):
                vehicle["locked"] = [self.lock(vehicle, destinations)]
        costs = {
            "drive_cents_per_km": chance.choice([0, 60, 120]),
            "late_cents_per_min": chance.choice([0, 30, 150]),
            "overtime_cents_per_min": chance.choice([0, 100]),
            "overflow_cents_per_kg": chance.choice([0, 20, 200]),
            "speed_m_per_min": chance.choice([300, 633]),
            "detour_permille": 1300,
            "minimum_tip_kg": chance.choice([1, 2, 3, 5]),
            "tips_between_jobs": chance.choice([1, 2, 2, 2]),
        }
        if self.one_in(4):
            costs["unplaced_cents_per_kg"] = chance.choice([0, 10, 100, 1_000])
        day = {
            "format": 1,
            "name": f"odd-{self.seed}",
            "costs": costs,
            "statuses": list(STATUSES),
            "places": self.places,
            "vehicles": vehicles,
            "jobs": jobs,
            "destinations": destinations,
        }
        if self.one_in(3):
            day["matrix"] = self.matrix()
        self.limit_times(destinations)
        self.shut_for_a_while(destinations)
        for there in destinations:
            least = random.Random(f"least-{self.seed}-{there['id']}").choice([0, 0, 0, 2, 4, 8])
            there.update({"least_kg": least} if least else {})
        for vehicle in vehicles:
            permille = random.Random(f"permille-{self.seed}-{vehicle['id']}")
            vehicle["least_permille"] = permille.choice([1000, 1000, 1250, 1700])
        # Drawn by itself, so that days of a number stay what they were in all else.
        paid = random.Random(f"crew-{self.seed}").choice([0, 0, 7, 60, 300])
        costs |= {"crew_cents_per_min": paid} if paid else {}
        return day

    def limit_times(self, destinations: list[Document]) -> None:
        """Let some destinations take some statuses for a part of the day only.

        Drawn by itself, so that days of a number stay what they were in all else.
        """
        chance = random.Random(f"until-{self.seed}")
        for there in destinations:
            if chance.randrange(3) == 0:
                there["accepts_until_s"] = {
                    status: SHIFT_S[0] + chance.choice([0, 600, 1_500, 3_600, 9_000])
                    for status in chance.sample(STATUSES, chance.choice([1, 1, 2]))
                }

    def shut_for_a_while(self, destinations: list[Document]) -> None:
        """Let some destinations be shut for a while within their hours, drawn likewise."""
        chance = random.Random(f"pause-{self.seed}")
        for there in destinations:
            first = SHIFT_S[0] + chance.choice([60, 600, 1_500, 3_600])
            last = first + chance.choice([300, 1_200, 3_600])
            if chance.randrange(3) == 0 and there["open_s"] <= first < last <= there["close_s"]:
                there["pause_from_s"], there["pause_until_s"] = first, last

    def destination(self, number: int) -> Document:
        chance = self.chance
        hours = (0, 86_400)
        if self.one_in(4):
            hours = chance.choice([(0, 27_000), (0, 25_600), (28_000, 86_400), (26_000, 30_000)])
        return {
            "id": f"D{number}",
            "kind": chance.choice(KINDS),
            "place": self.place(),
            "capacity_kg": chance.choice([0, 1, 2, 4, 6, 10, 15, 100]),
            "fee_cents_per_t": chance.choice([0, 0, 30_000, 250_000]),
            "accepts": list(STATUSES[: chance.choice([1, 2, 3, 3])]),
            "tip_s": chance.choice([2, 300, 900]),
            "stop_cents": chance.choice([0, 0, 50, 300]),
            "open_s": hours[0],
            "close_s": hours[1],
            "may_overflow": chance.choice([True, True, False]),
        }

    def vehicle(self, number: int, jobs: list[Document], most: int) -> Document:
        chance = self.chance
        payload = chance.choice([6, 8, 11])
        names = []
        for _ in range(chance.randint(1, most)):
            kg = 0 if self.one_in(8) else chance.randint(1, min(7, payload))
            first = SHIFT_S[0] + chance.choice([0, 0, 600, 3_000])
            job = {
                "id": f"J{len(jobs)}",
                "place": self.place(),
                "mass_kg": kg,
                "volume_l": 4 * kg,
                "status": chance.choice(STATUSES[: chance.choice([1, 2, 3])]),
                "service_s": chance.choice([0, 600, 1_800]),
                "window_s": [first, first + chance.choice([0, 900, 3_600, 20_000])],
            }
            if kg and self.one_in(4):
                job["volume_l"] = chance.randint(1, 6 * kg)
            jobs.append(job)
            names.append(job["id"])
        litres = max([4 * payload, *(job["volume_l"] for job in jobs)])
        vehicle = {
            "id": f"V{number}",
            "start_place": self.place(),
            "end_place": self.place(),
            "shift_start_s": SHIFT_S[0],
            "shift_end_s": chance.choice([SHIFT_S[0] + 1_800, *SHIFT_S[1:]]),
            "payload_kg": payload,
            "body_l": litres if self.one_in(4) else 8 * litres,
            "jobs": names,
        }
        if self.one_in(6):
            kg = chance.randint(1, payload)
            part = {"mass_kg": kg, "volume_l": 4 * kg, "status": chance.choice(STATUSES)}
            vehicle["aboard"] = [part]
        return vehicle

    def lock(self, vehicle: Document, destinations: list[Document]) -> Document:
        chance = self.chance
        lock: Document = {"destination": chance.choice(destinations)["id"]}
        if not ("aboard" in vehicle and self.one_in(2)):
            lock["after_job"] = chance.choice(vehicle["jobs"])
        if self.one_in(2):
            lock["mass_kg"] = chance.randint(1, 8)
        return lock

    def matrix(self) -> Document:
        """Return roads: near the straight lines, or with no regard to them at all."""
        chance, count = self.chance, len(self.places)
        noise = chance.choice([0.0, 0.03, 0.2, 1.0])
        points = [
            (p.get("x_m", p.get("lon", 0)), p.get("y_m", p.get("lat", 0))) for p in self.places
        ]
        metres, seconds = [], []
        for a in range(count):
            row = [
                round(math.dist(points[a], points[b]) * 1.3 * (1 + noise * chance.uniform(-1, 1)))
                for b in range(count)
            ]
            if noise == 1.0:
                row = [chance.randint(0, 4_000) for _ in range(count)]
            row[a] = 0
            metres.append(row)
            seconds.append([m * 60 // 500 for m in row])
        return {"distance_m": metres, "duration_s": seconds}
