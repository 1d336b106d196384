"""A depot kept over HTTP: more vehicles than a small day has, two jobs each, a bed at each lawn."""

import random

import jsonschema

from service.api.books import clients, crews
from service.api.work.days.routing_shape import ROUTING
from tests.worlds import furnish, make_world

DAY = "2026-05-25"  # a Monday; the world's clock stands at one on the Sunday before
VEHICLES = 9
NOW = {"If-Match": "*"}


class Depot:
    """A dispatcher's day: more vehicles than a small day has, two jobs each, a bed at each lawn."""

    def __init__(self, vehicles=VEHICLES, world=None):
        self.world = world or make_world()
        self.yard = furnish(self.world)
        self.client, self.ids = self.yard.client, self.yard.ids
        chance = random.Random(4)  # noqa: S311 - repeatable, no secret
        self.lawns, self.jobs, self.vehicles = [], [], []
        for number in range(vehicles):
            name = f"V{number:02}"
            vehicle = {**crews.VEHICLES.example, "depot_id": self.ids["depots"]}
            vehicle = self.keep("/vehicles", {**vehicle, "registration": name})
            crew = {**crews.CREWS.example, "depot_id": self.ids["depots"], "name": name}
            crew = self.keep("/crews", {**crew, "vehicle_id": vehicle})
            self.vehicles.append((vehicle, crew))
            for hour in (9, 11):
                self.lawns.append(self.lawn(chance))
                self.jobs.append(self.job(number, self.lawns[-1], hour=hour)["id"])

    def keep(self, path, body):
        answer = self.client.post(path, json=body)
        assert answer.status_code == 201, answer.text
        return answer.json["id"]

    def lawn(self, chance):
        """Keep a lawn within some kilometres of the depot, with a willing bed beside it."""
        place = [-1.25 + chance.uniform(-0.06, 0.06), 51.75 + chance.uniform(-0.04, 0.04)]
        home = {**clients.PROPERTIES.example, "client_id": self.ids["clients"]}
        home = self.keep("/properties", {**home, "point": {"type": "Point", "coordinates": place}})
        basis = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}
        bed = {**clients.BEDS.example, "property_id": home, "legal_basis": basis}
        self.keep("/beds", bed)
        return self.keep("/lawns", {**clients.LAWNS.example, "property_id": home})

    def job(self, number, lawn, *, hour, **fields):
        vehicle, crew = self.vehicles[number]
        body = self.yard.job(
            lawn_id=lawn,
            vehicle_id=vehicle,
            crew_id=crew,
            state="planned",
            planned_at=f"{DAY}T{hour:02}:00:00+01:00",
            **{"area_mowed": {"value": 120, "unit": "m2"}, **fields},
        )
        del body["cut_at"]
        answer = self.client.post("/jobs", json=body)
        assert answer.status_code == 201, answer.text
        return answer.json

    def amend(self, path, changes, *, reason=None):
        self.world.clock.move(minutes=1)
        said = {} if reason is None else {"Change-Reason": reason}
        answer = self.client.patch(path, json=changes, headers={**NOW, **said})
        assert answer.status_code == 200, answer.text
        return answer.json

    def plan(self):
        """Plan the whole day, as a dispatcher asks for it."""
        body = {"depot_id": self.ids["depots"], "day": DAY}
        answer = self.client.post("/day-plans", json=body)
        assert answer.status_code == 201, answer.text
        return answer.json

    def read(self):
        answer = self.client.get(f"/days/{DAY}/routing?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        jsonschema.Draft202012Validator(ROUTING).validate(answer.json["routing"])
        return answer.json
