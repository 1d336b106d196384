"""Random days over HTTP: no place ever gets what it refuses, by a replay of every body."""

from __future__ import annotations

import random

import pytest

from service.api.books import crews
from tests.crews import Crew

TAINTS = ("litter", "unknown", "aminopyralid")


class Firm(Crew):
    """Two vehicles with clean and tainted lots, mown or planned, with a bay or without."""

    def __init__(self, seed):
        self.chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
        super().__init__(bay=self.chance.random() < 0.5)
        self.clean, self.mown = {}, {}
        other = {**crews.VEHICLES.example, "depot_id": self.ids["depots"], "registration": "B"}
        self.vehicles = [self.ids["vehicles"], self.post("/vehicles", other)["id"]]
        for vehicle in self.vehicles:
            self.mown[vehicle] = []
            for number in range(self.chance.randint(1, 4)):
                self.add(vehicle, f"{vehicle} {number}")

    def add(self, vehicle, name):
        taint = self.chance.choice((None, None, None, *TAINTS))
        fields = {
            "vehicle_id": vehicle,
            "area_mowed": {"value": self.chance.choice((60, 300)), "unit": "m2"},
        }
        if self.chance.random() < 0.6:
            at = f"{self.chance.randint(8, 12):02}:00"
            if taint is None:
                job = self.mow(self.lawn(name), at=at, **fields)
            else:
                job = self.mow_tainted(taint, at=at, **fields)
            self.mown[vehicle].append(job)
        else:
            lawn = self.lawn(name)
            how = {"litter": {"litter_seen": True}, "unknown": {"treatment_history": "unknown"}}
            if taint == "aminopyralid":
                self.treated(lawn)
            at = f"{self.chance.randint(14, 16)}:00"
            job = self.plan_to_mow(lawn, at=at, **how.get(taint, {}), **fields)
        self.clean[job] = taint is None

    def shares(self, load_id):
        load = self.client.get(f"/loads/{load_id}").json
        kept = 0.0 if load["state"] == "refused" else 1.0 - load["refused_share"]
        return {part["job_id"]: part["share"] * kept for part in load["parts"]}

    def body(self, vehicle, done):
        """Return what is left of each mown lot after what was tipped."""
        body = dict.fromkeys(self.mown[vehicle], 1.0)
        for load_id in done:
            for job, share in self.shares(load_id).items():
                body[job] -= share
        return {job: share for job, share in body.items() if share > 1e-6}

    def replay(self, plan):
        """Check every tip ahead against everything in the body; return the first of each."""
        first = {}
        for way in plan["routing"]["vehicles"]:
            stops = way["stops"]
            done = [s["load_id"] for s in stops if s["kind"] == "drop" and s["done"]]
            body = self.body(way["vehicle_id"], done)
            ahead = [stop for stop in stops if not stop["done"]]
            tipped = [s["load_id"] for s in ahead if s["kind"] == "drop"]
            for stop in ahead:
                if stop["kind"] == "job":
                    whole = sum(self.shares(load).get(stop["job_id"], 0.0) for load in tipped)
                    body[stop["job_id"]] = whole if stop["leave_on_lawn"] else 1.0
                    continue
                inside = {job for job, share in body.items() if share > 1e-6}
                bad = [job for job in inside if not self.clean[job]]
                assert stop["destination_kind"] == "hold_bay" or not bad
                first.setdefault(way["vehicle_id"], stop)
                for job, share in self.shares(stop["load_id"]).items():
                    body[job] -= share
        return first

    def something_happens(self, plan, first):
        """Tip, turn away, or find out: whatever a day brings."""
        self.world.clock.move(minutes=7)
        what = self.chance.choice(("tip", "tip", "turn away", "find out", "find out"))
        if what == "find out":
            job = self.chance.choice(sorted(self.clean))
            self.patch(f"/jobs/{job}", {"litter_seen": True})
            self.clean[job] = False
        for vehicle, stop in first.items():
            load = f"/loads/{stop['load_id']}"
            if set(self.shares(stop["load_id"])) - set(self.mown[vehicle]):
                continue
            if what == "turn away":
                self.patch(load, {"state": "refused", "refusal_reason": "It smells."})
                return
            done = [
                s["load_id"]
                for way in plan["routing"]["vehicles"]
                for s in way["stops"]
                if way["vehicle_id"] == vehicle and s["kind"] == "drop" and s["done"]
            ]
            bad = [job for job in self.body(vehicle, done) if not self.clean[job]]
            fine = stop["destination_kind"] == "hold_bay" or not bad
            self.patch(load, {"state": "delivered"}, status=200 if fine else 409)
            return


@pytest.mark.parametrize("seed", range(12))
def test_no_bed_and_no_site_gets_what_it_refuses(seed):
    firm = Firm(seed)
    for _ in range(4):
        plan = firm.read()
        firm.something_happens(plan, firm.replay(plan))
    firm.replay(firm.read())
