"""Whatever is amended of any record, before a tip or after it, every page of the day is read."""

from __future__ import annotations

import random

import pytest

from tests.crews import DAY, NOW
from tests.effort import tried
from tests.holds import Yard, drops

NEXT_DAY = "2026-05-25"
GIVEN = {"state": "given", "given_on": "2026-04-01", "expires_on": "2026-10-31"}
# What may be said of each record: what is refused is as good as what is kept, but no fault.
SAID = {
    "clients": (
        {"name": "Renamed", "phone": None, "email": None, "address": None},
        {"language": "pl", "display_units": "us"},
    ),
    "properties": (
        {"name": "Renamed", "address": "2 Other Lane", "may_sign": None},
        {"point": {"type": "Point", "coordinates": [-1.2, 52.2]}},
    ),
    "lawns": (
        {"area": {"value": 61, "unit": "m2"}, "grass_kind": None},
        {"mowing_hours": [{"weekdays": ["mon", "sun"], "opens": "10:00", "closes": "16:00"}]},
    ),
    "beds": (
        {"consent": GIVEN},
        {"consent": {"state": "withdrawn"}},
        {"consent": {"state": "refused", "given_on": None}},
        {"consent": {"expires_on": "2026-05-23", "given_on": "2026-05-01"}},
        {"consent": {"mass_per_visit_max_kg": 1, "mass_per_month_max_kg": 2}},
        {"consent": None},
        {"legal_basis": None},
        {"area": {"value": 1, "unit": "m2"}},
        {"animals": ["horses"], "animals_beside": ["grazing"], "grazing_fenced": None},
        {"animals": [], "animals_beside": None},
        {"ground_state": "waterlogged", "ground_state_at": f"{DAY}T12:59:00+01:00"},
        {"drainage": "poor", "water_distance_m": 1, "well_distance_m": None},
        {"edible": None, "organic_certified": True, "ground_kind": "grassland"},
        {"closed_on": [DAY, NEXT_DAY]},
        {"feeds_ended_at": f"{DAY}T12:59:00+01:00"},
    ),
    "depots": (
        {"crew_minute_cents": 0},
        {"crew_minute_cents": None, "fairness_limit_kg_per_m2": None},
        {"shift_starts": "12:00", "shift_ends": "12:30"},
        {"point": {"type": "Point", "coordinates": [-1.2, 52.2]}},
    ),
    "hold-bays": ({"volume_m3": 0.1}, {"name": "Renamed", "leachate_contained": None}),
    "vehicles": (
        {"payload_kg": 1, "gross_limit_kg": None, "tare_kg": None},
        {"body_volume_m3": 0.1, "name": None},
    ),
    "crews": ({"vehicle_id": None}, {"language": "ro", "lead": "Somebody", "phone": None}),
    "compost-sites": (
        {"accepted_statuses": ["clean"], "fee": None},
        {"closed_on": [DAY], "live_status": None},
        {"hours": [], "daily_capacity_kg": 1},
        {"process_temperature_c": None, "kill_evidence": None, "takes_sour": True},
        {"feeds_ended_at": f"{DAY}T12:59:00+01:00"},
    ),
    "treatments": (
        {"applied_on": "2026-05-23"},
        {"active_ingredients": ["clopyralid"], "label_wait": None},
        {"statement_source": "client_statement", "people_may_return_at": None},
    ),
    "jobs": (
        {"area_mowed": {"value": 6, "unit": "m2"}},
        {"treatment_history": "unknown", "wetness": "rained_on"},
        {"litter_seen": True, "weeds_in_seed": True},
        {"clippings": "left"},
        {"state": "cancelled"},
        {"measured_mass": {"value": 5, "unit": "kg"}, "vehicle_id": None},
    ),
    "loads": (
        {"state": "refused", "refusal_reason": "Too wet."},
        {"state": "planned"},
        {"weighed_net": {"value": 40, "unit": "kg"}, "weigh_ticket": "W 1"},
        {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Full."},
    ),
    "hold-entries": ({"state": "released", "released_to": "Hill Farm"},),
}


class Firm(Yard):
    """A firm that tips on its bed and in its bay, at which anything is amended at any time."""

    def __init__(self, seed):
        self.chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
        super().__init__()
        self.done = []

    def items(self, path):
        answer = self.client.get(f"{path}?limit=200")
        assert answer.status_code == 200, answer.text
        return answer.json["items"]

    def tip(self):
        """Mow, and tip wherever its load is planned to."""
        number = len(self.done)
        lawn = self.lawn(f"Lawn {number}")
        if self.chance.random() < 0.3:
            self.treated(lawn)
        job = self.yard.job(lawn_id=lawn, cut_at=self.world.clock.now().isoformat())
        self.post("/jobs", {**job, "area_mowed": {"value": 60, "unit": "m2"}})
        self.world.clock.move(minutes=10)
        for drop in drops(self.client.get(self.about("routing")).json)[:1]:
            self.send(f"/loads/{drop['load_id']}", {"state": "delivered"})

    def amend(self, kind, said):
        for record in self.items(f"/{kind}"):
            self.send(f"/{kind}/{record['id']}", said)

    def send(self, path, said):
        self.world.clock.move(minutes=1)
        self.done.append((path, said))
        headers = NOW | {"Change-Reason": "It was a slip."}
        answer = self.client.patch(path, json=said, headers=headers)
        assert answer.status_code in {200, 409, 422}, answer.text

    def about(self, page, day=DAY):
        return f"/days/{day}/{page}?depot_id={self.ids['depots']}"

    def read_all(self):
        """Look at whatever tells of the day; nothing of it fails."""
        jobs, loads = self.items("/jobs"), self.items("/loads")
        days = [self.about(p, d) for d in (DAY, NEXT_DAY) for p in ("routing", "decisions")]
        pages = (
            *days,
            self.about("routing.geojson"),
            self.about("mass-balance"),
            f"/hold-queue?depot_id={self.ids['depots']}",
            f"/vehicles/{self.ids['vehicles']}/today",
            f"/totals?depot_id={self.ids['depots']}&since={DAY}&until={NEXT_DAY}&by=destination",
            *(f"/jobs/{job['id']}/{page}" for job in jobs for page in ("why", "verdicts")),
            *(f"/lawns/{job['lawn_id']}/pre-mow-check" for job in jobs[:1]),
            *(f"/{kind}/{self.ids[kind]}/history" for kind in ("beds", "clients")),
        )
        for page in pages:
            answer = self.client.get(page)
            assert answer.status_code < 500, (page, answer.text)
        for load in loads:
            answer = self.client.post(f"/loads/{load['id']}/delivery-notes", json={})
            assert answer.status_code < 500, answer.text
        plan = {"depot_id": self.ids["depots"], "day": DAY}
        for path, body in ((self.about("closing"), {}), ("/day-plans", plan)):
            answer = self.client.post(path, json=body)
            assert answer.status_code < 500, (path, answer.text)

    def report(self):
        """Let the crew say what it says in the evening: its answer is never a fault."""
        report = {
            "id": "6f7d4f3e-9d38-4a53-8a1e-0d9a1c6c2b12",
            "kind": "tipped",
            "at": self.world.clock.now().isoformat(),
            "destination_kind": "bed",
            "destination_id": self.ids["beds"],
        }
        own = {"crew_id": self.ids["crews"], "vehicle_id": self.ids["vehicles"]}
        said = {"device": "phone", "sent_at": report["at"], **own, "reports": [report]}
        answer = self.client.post("/reports", json=said)
        assert answer.status_code == 200, answer.text
        assert answer.json["reports"][0]["status"] < 500


@pytest.mark.parametrize("said", tried(SAID["beds"], 4), ids=str)
def test_whatever_is_amended_of_a_bed_after_a_tip_there_every_page_is_read(said):
    firm = Firm(0)
    firm.send(firm.bed, {"consent": GIVEN})
    firm.tip()
    firm.amend("beds", said)
    firm.read_all()
    firm.report()
    firm.read_all()


@pytest.mark.parametrize("seed", tried(range(24), 4))
def test_whatever_is_amended_before_tips_and_after_them_every_page_is_read(seed):
    firm = Firm(seed)
    try:
        for _ in range(3):
            firm.tip()
            for _ in range(3):
                kind = firm.chance.choice(sorted(SAID))
                firm.amend(kind, firm.chance.choice(SAID[kind]))
            firm.read_all()
        firm.report()
        firm.read_all()
    except AssertionError as error:
        error.add_note(f"after {firm.done}")
        raise
