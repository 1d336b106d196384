"""Random days of a firm over HTTP, at which anything may happen next."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from werkzeug.test import TestResponse

from service.usecases.mass_book.checking import CheckMassBook
from tests.crews import NOW, Crew

STEPS = 18
KG = 0.1
REFUSED = {409, 422}

Places = dict[tuple[str, str], dict]


class Walk(Crew):
    """A firm at which anything may happen next."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
        super().__init__(bay=True)
        self.done: list[str] = []
        self.reported: list[str] = []
        self.other: str | None = None
        with self.world.open_unit_of_work() as unit:
            (firm,) = unit.firms.all()
            self.firm_id = firm.id

    @property
    def steps(self) -> list[Callable[[], object]]:
        return [
            self.mow_more,
            self.mow_more,
            self.bring,
            self.bring,
            self.bring,
            self.tip_elsewhere,
            self.turn_away_some,
            self.weigh,
            self.correct,
            self.undo,
            self.release,
            self.treat,
            self.end_the_day,
            self.mow_again,
            self.decide,
            self.plan,
            self.report,
            self.report,
        ]

    def step(self) -> None:
        step = self.chance.choice(self.steps)
        self.done.append(step.__name__)
        step()
        self.world.clock.move(minutes=self.chance.randint(5, 40))

    def items(self, path: str) -> list[dict]:
        found, start = [], f"{path}{'&' if '?' in path else '?'}limit=200"
        while start:
            answer = self.client.get(start)
            assert answer.status_code == 200, answer.text
            found += answer.json["items"]
            start = answer.json["next"]
        return found

    def send(self, method: str, path: str, body: dict, **headers: str) -> TestResponse:
        """Send what may be refused, but never fails."""
        answer = getattr(self.client, method)(path, json=body, headers=NOW | headers)
        assert answer.status_code < 300 or answer.status_code in REFUSED, answer.text
        return answer

    def now(self) -> str:
        return self.world.clock.now().isoformat()

    def mow_more(self) -> None:
        fields = {
            "cut_at": self.now(),
            "area_mowed": {"value": self.chance.choice((20, 60, 200)), "unit": "m2"},
            "litter_seen": self.chance.random() < 0.25,
        }
        if self.chance.random() < 0.2:
            fields["measured_mass"] = {"value": 25, "unit": "kg"}
        self.post("/jobs", self.yard.job(lawn_id=self.lawn(f"L{len(self.done)}"), **fields))

    def mow_again(self) -> None:
        """Say a cut once more, or mow what was planned: one of it counts until it is decided."""
        jobs = self.items("/jobs")
        if jobs:
            names = ("lawn_id", "area_mowed", "litter_seen")
            job = self.chance.choice(jobs)
            fields = {name: job[name] for name in names}
            self.send("post", "/jobs", self.yard.job(cut_at=self.now(), **fields))

    def decide(self) -> None:
        waiting = self.items("/jobs?state=possible_duplicate")
        if waiting:
            path = f"/jobs/{self.chance.choice(waiting)['id']}/decisions"
            self.send("post", path, {"decision": self.chance.choice(("the_same", "another_cut"))})

    def plan(self) -> None:
        lawn = self.lawn(f"P{len(self.done)}")
        planned = {"state": "planned", "planned_at": self.now(), "cut_at": None}
        self.post("/jobs", self.yard.job(lawn_id=lawn, **planned))

    def report(self) -> None:
        """Let a tablet send some of what it may say, twice, and now and then take one back."""
        reports = [self.something() for _ in range(self.chance.randint(1, 3))]
        if self.reported and self.chance.random() < 0.4:
            undoes = self.chance.choice(self.reported)
            reports.append({**self.something(), "kind": "undo", "undoes": undoes})
        self.reported += [one["id"] for one in reports]
        body = {
            "device": "tablet",
            "sent_at": self.now(),
            "crew_id": self.ids["crews"],
            "vehicle_id": self.ids["vehicles"],
            "reports": reports,
        }
        answers = [self.client.post("/reports", json=body) for _ in "ab"]
        assert [answer.status_code for answer in answers] == [200, 200], answers[0].text
        statuses = {row["status"] for answer in answers for row in answer.json["reports"]}
        assert statuses <= {200, *REFUSED, 404}, answers[0].text

    def something(self) -> dict:
        path = self.chance.choice(("compost-sites", "beds", "hold-bays"))
        place = {"destination_kind": path[:-1].replace("-", "_"), "destination_id": self.ids[path]}
        loads = self.items("/loads")
        if loads and self.chance.random() < 0.5:
            place = {"load_id": self.chance.choice(loads)["id"]}
        jobs = self.items("/jobs")
        kinds = {
            "mown": {"lawn_id": self.chance.choice(jobs)["lawn_id"]} if jobs else {},
            "left": {"lawn_id": self.chance.choice(jobs)["lawn_id"]} if jobs else {},
            "tipped": place,
            "refused": {**place, "reason": "Too wet."},
            "part_taken": {**place, "reason": "Full.", "refused_share": 0.5},
            "weighed": {**place, "weighed_net": {"value": 20, "unit": "kg"}, "weigh_ticket": "W"},
        }
        held = self.items("/hold-entries?state=in_bay")
        if held:
            kinds["loaded"] = self.loading(held)
            kinds["given"] = {"to_vehicle_id": self.other_vehicle()}
        kind = self.chance.choice(sorted(kinds))
        height = {"height_removed": {"value": 30, "unit": "mm"}}
        own = str(UUID(int=self.chance.getrandbits(128), version=4))
        return {"id": own, "kind": kind, "at": self.now(), **height, **kinds[kind]}

    def loading(self, held: list[dict]) -> dict:
        """Say what was loaded out of a bay: as planned, or so much of it."""
        entry = self.chance.choice(held)
        said = {
            "hold_entry_id": entry["id"],
            "vehicle_id": self.chance.choice((self.ids["vehicles"], self.other_vehicle())),
        }
        if self.chance.random() < 0.5:
            kg = entry["mass_kg"]["likely"] * self.chance.choice((0.3, 0.6, 1.5))
            said["mass"] = {"value": max(0.1, round(kg, 1)), "unit": "kg"}
        return said

    def other_vehicle(self) -> str:
        if self.other is None:
            names = ("depot_id", "payload_kg", "body_volume_m3")
            first = self.client.get(f"/vehicles/{self.ids['vehicles']}").json
            body = {name: first[name] for name in names} | {"registration": "AB12 CDE"}
            self.other = self.post("/vehicles", body)["id"]
        return self.other

    def today(self) -> date:
        """Return the day that it is by the depot's clock."""
        return self.world.clock.now().astimezone(ZoneInfo("Europe/London")).date()

    def routing(self) -> None:
        answer = self.client.get(f"/days/{self.today()}/routing?depot_id={self.ids['depots']}")
        assert answer.status_code in {200, 404}, answer.text

    def any_load(self, *states: str) -> str | None:
        self.routing()
        found = [load for load in self.items("/loads") if load["state"] in states]
        return f"/loads/{self.chance.choice(found)['id']}" if found else None

    def bring(self) -> None:
        load = self.any_load("planned", "under_way")
        if load:
            self.send("patch", load, {"state": self.chance.choice(("delivered", "under_way"))})

    def tip_elsewhere(self) -> None:
        jobs = [job for job in self.items("/jobs?state=mown") if not job["litter_seen"]]
        if not jobs:
            return
        kind, path = self.chance.choice(
            (("compost_site", "compost-sites"), ("bed", "beds"), ("hold_bay", "hold-bays"))
        )
        part = {"job_id": self.chance.choice(jobs)["id"]}
        if self.chance.random() < 0.7:
            part["share"] = self.chance.choice((0.25, 0.5, 1.0))
        body = {
            "vehicle_id": self.ids["vehicles"],
            "destination_kind": kind,
            "destination_id": self.ids[path],
            "done_at": self.now(),
            "parts": [part],
        }
        self.send("post", "/loads", body)

    def turn_away_some(self) -> None:
        load = self.any_load("planned", "under_way", "delivered", "partly_refused")
        share = self.chance.choice((0.25, 0.5, 1.0))
        said = {"state": "refused"}
        if share < 1.0:
            said = {"state": "partly_refused", "refused_share": share}
        if load:
            self.send("patch", load, {**said, "refusal_reason": "Too wet."})

    def weigh(self) -> None:
        load = self.any_load("delivered", "partly_refused")
        if load:
            high = self.client.get(load).json["mass_kg"]["high"]
            net = {"value": max(0.1, round(high * self.chance.choice((0.7, 5.0)), 1)), "unit": "kg"}
            self.send("patch", load, {"weighed_net": net, "weigh_ticket": f"W{len(self.done)}"})

    def correct(self) -> None:
        jobs = self.items("/jobs")
        if not jobs:
            return
        change = self.chance.choice(
            (
                {"area_mowed": {"value": self.chance.choice((6, 30, 180)), "unit": "m2"}},
                {"measured_mass": {"value": self.chance.choice((5, 50)), "unit": "kg"}},
                {"state": "cancelled"},
                {"clippings": "left"},
                {"litter_seen": False},
            )
        )
        why = {"Change-Reason": "It was a slip."}
        self.send("patch", f"/jobs/{self.chance.choice(jobs)['id']}", change, **why)

    def undo(self) -> None:
        load = self.any_load("delivered", "partly_refused", "refused", "under_way")
        if load:
            self.send("patch", load, {"state": "planned"})

    def release(self) -> None:
        entries = self.items("/hold-entries?state=in_bay")
        if entries:
            path = f"/hold-entries/{self.chance.choice(entries)['id']}"
            self.send("patch", path, {"state": "released", "released_to": "Hill Farm"})

    def treat(self) -> None:
        jobs = self.items("/jobs")
        if jobs:
            self.treated(self.chance.choice(jobs)["lawn_id"])

    def end_the_day(self) -> None:
        self.world.clock.move(days=self.chance.choice((1, 1, 4, 30)))

    # -- what must hold -----------------------------------------------------------------------

    def assert_every_kilogram_is_somewhere(self) -> None:
        jobs = {job["id"]: job for job in self.items("/jobs")}
        tipped = self.tipped_shares()
        entries = defaultdict(list)
        for entry in self.items("/mass-movements"):
            entries[entry["lot_id"]].append(entry)
        for job_id, job in jobs.items():
            answer = self.client.get(f"/mass-balances?lot_id={job_id}")
            at = {(one["place_kind"], one["place_id"]): one for one in answer.json["balances"]}
            is_bagged = job["state"] == "mown" and job["clippings"] == "collected"
            grown_kg = lot_kg(job) if is_bagged else 0.0
            lawn = at.pop(("lawn", job["lawn_id"]), None)
            assert (-lawn["mass_kg"]["likely"] if lawn else 0.0) == pytest.approx(grown_kg, abs=KG)
            somewhere_kg = sum(one["mass_kg"]["likely"] for one in at.values())
            assert somewhere_kg == pytest.approx(grown_kg, abs=KG)
            assert all(one["share"] >= 0 for one in at.values())
            for kind in ("bed", "compost_site"):
                kept = sum(one["share"] for (where, _), one in at.items() if where == kind)
                assert kept == pytest.approx(tipped[kind, job_id], abs=1e-5)
            # Whoever adds the entries up, taken back ones and all, finds the sums.
            for place, one in at.items():
                kg, counted_kg = added_up(entries[job_id], place)
                assert kg == pytest.approx(one["mass_kg"]["likely"], abs=KG)
                assert counted_kg == pytest.approx(one["counted_kg"], abs=KG)
            self.assert_a_weight_goes_with_what_was_weighed(job_id, at)
        for load in self.items("/loads"):
            if load["state"] in {"delivered", "partly_refused"}:
                parts_kg = sum(p["share"] * lot_kg(jobs[p["job_id"]]) for p in load["parts"])
                assert load["mass_kg"]["likely"] == pytest.approx(parts_kg, abs=KG)
        self.assert_no_heap_is_in_two_places()
        checked = CheckMassBook(open_reading=self.world.open_unit_of_work)(self.firm_id)
        assert checked.differences == ()

    def assert_a_weight_goes_with_what_was_weighed(self, job_id: str, at: Places) -> None:
        """Nothing counts as more or less than any of its weights, or the estimate, says of it."""
        ratios = [1.0]
        for load in self.items("/loads"):
            if load["weighed_net"] and job_id in {part["job_id"] for part in load["parts"]}:
                kept_kg = load["mass_kg"]["likely"] * (1.0 - load["refused_share"])
                ratios.append(load["weighed_net"]["value"] / max(kept_kg, KG))
        for place, one in at.items():
            likely_kg, counted_kg = one["mass_kg"]["likely"], one["counted_kg"]
            assert counted_kg >= min(ratios) * likely_kg - KG, place
            assert counted_kg <= max(ratios) * likely_kg + KG, place

    def assert_no_heap_is_in_two_places(self) -> None:
        """What was loaded of a heap is no more than came, and of what left a body no more is in."""
        for entry in self.items("/hold-entries"):
            into: dict[str, float] = defaultdict(float)
            out = 0.0
            for one in entry["loadings"] or ():
                into[one["vehicle_id"]] += one["share"]
                if one["from_vehicle_id"] is None:
                    out += one["share"]
                else:
                    into[one["from_vehicle_id"]] -= one["share"]
            assert out <= 1.0 + 1e-6
            assert all(share >= -1e-6 for share in into.values())

    def tipped_shares(self) -> dict[tuple[str, str], float]:
        shares: dict[tuple[str, str], float] = defaultdict(float)
        for load in self.items("/loads"):
            if load["state"] in {"delivered", "partly_refused"}:
                for part in load["parts"]:
                    kept = part["share"] * (1.0 - load["refused_share"])
                    shares[load["destination_kind"], part["job_id"]] += kept
        return shares


def lot_kg(job: dict) -> float:
    """Return the likely kilograms of a lot: as the crew measured them, or as estimated."""
    if job["measured_mass"]:
        return job["measured_mass"]["value"]
    return job["estimate"]["mass_kg"]["likely"]


def added_up(entries: list[dict], place: tuple[str, str]) -> tuple[float, float]:
    """Return what came to a place less what left it, likely and as it counts there."""
    came = [e for e in entries if (e["to_kind"], e["to_id"]) == place]
    left = [e for e in entries if (e["from_kind"], e["from_id"]) == place]
    likely = sum(e["mass_likely_kg"] for e in came) - sum(e["mass_likely_kg"] for e in left)
    return likely, sum(e["counted_kg"] for e in came) - sum(counted_before(e) for e in left)


def counted_before(entry: dict) -> float:
    """Return what an entry took from where it left."""
    before = entry["counted_before_kg"]
    return entry["counted_kg"] if before is None else before
