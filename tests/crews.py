"""A crew of a new customer over HTTP: its lawns, what it mows, and what is read of its day."""

from service.api.books import clients
from tests.worlds import furnish, make_world

DAY = "2026-05-24"
NOW = {"If-Match": "*"}
SMALL = {"value": 60, "unit": "m2"}
# What the label of each says of clippings is in the rules; nobody takes either lot without a bay.
TAINTS = ("aminopyralid", "litter", "unknown")


class Crew:
    """A new customer's only vehicle: a lawn that is tainted, clean ones, beds that take clean."""

    def __init__(self, *, bay=False, world=None):
        self.world = world or make_world()
        self.yard = furnish(self.world, without=frozenset() if bay else frozenset({"hold-bays"}))
        self.client, self.ids = self.yard.client, self.yard.ids
        basis = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}
        changed = {"legal_basis": basis}
        self.patch(f"/beds/{self.ids['beds']}", changed)

    def crews_cost(self, cents):
        """Say what a minute of the crew costs; 0: nothing before overtime."""
        self.patch(f"/depots/{self.ids['depots']}", {"crew_minute_cents": cents})

    def lawn(self, name):
        body = {**clients.LAWNS.example, "property_id": self.ids["properties"], "name": name}
        return self.post("/lawns", body)["id"]

    def treated(self, lawn, active="aminopyralid", **fields):
        body = {
            "lawn_id": lawn,
            "product": "Pasture weed control",
            "active_ingredients": [active],
            "applied_on": "2026-05-10",
            "statement_source": "applicator_record",
            "stated_by": "T. Green, spray technician",
            **fields,
        }
        return self.post("/treatments", body)

    def mow(self, lawn, *, at="09:00", day=DAY, **fields):
        cut = {"cut_at": f"{day}T{at}:00+01:00", "area_mowed": SMALL, "lawn_id": lawn, **fields}
        return self.post("/jobs", self.yard.job(**cut))["id"]

    def plan_to_mow(self, lawn=None, *, at="15:00", **fields):
        planned = {"state": "planned", "planned_at": f"{DAY}T{at}:00+01:00", "cut_at": None}
        own = {"lawn_id": lawn or self.ids["lawns"], "area_mowed": SMALL}
        body = self.yard.job(**{**own, **planned, **fields})
        return self.post("/jobs", body)["id"]

    def mow_tainted(self, taint, **fields):
        lawn = self.lawn(f"Tainted {taint}")
        if taint == "aminopyralid":
            self.treated(lawn)
        how = {
            "aminopyralid": {"treatment_history": "known"},
            "litter": {"litter_seen": True},
            "unknown": {"treatment_history": "unknown"},
        }
        return self.mow(lawn, **how[taint], **fields)

    def post(self, path, body):
        answer = self.client.post(path, json=body)
        assert answer.status_code == 201, answer.text
        return answer.json

    def patch(self, path, body, status=200, *, reason=None):
        said = {} if reason is None else {"Change-Reason": reason}
        answer = self.client.patch(path, json=body, headers={**NOW, **said})
        assert answer.status_code == status, answer.text
        return answer.json

    def read(self):
        answer = self.client.get(f"/days/{DAY}/routing?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json


def drops(plan):
    return [
        stop
        for vehicle in plan["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and not stop["done"]
    ]


def another_crew(crew):
    vehicle = crew.client.get(f"/vehicles/{crew.ids['vehicles']}").json
    names = ("depot_id", "payload_kg", "body_volume_m3")
    vehicle = crew.post("/vehicles", {n: vehicle[n] for n in names} | {"registration": "AB12 CDE"})
    names = {"depot_id": crew.ids["depots"], "name": "Second", "vehicle_id": vehicle["id"]}
    return {"crew_id": crew.post("/crews", names)["id"], "vehicle_id": vehicle["id"]}


def aboard_kg(plan):
    (vehicle,) = plan["routing"]["vehicles"]
    return vehicle["aboard_now"]["mass_high_kg"]
