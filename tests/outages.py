"""A depot whose vehicle breaks down at ten: reporting it, and reading what a plan makes of it."""

import jsonschema

from service.api.work.days.moved_shape import CHANGES
from tests.depots import DAY

CUT_AT = f"{DAY}T09:00:00+01:00"
TEN = f"{DAY}T10:00:00+01:00"


def report(depot, vehicle, *, status=201, headers=None, **fields):
    body = {"vehicle_id": vehicle, "out_since": TEN, "reason": "Clutch gone.", **fields}
    answer = depot.client.post("/vehicle-outages", json=body, headers=headers)
    assert answer.status_code == status, answer.text
    return answer.json


def at_ten(depot):
    """Let the clock of the world stand at ten on the day."""
    depot.world.clock.move(hours=21)


def told(plan, vehicle):
    (found,) = (v for v in plan["routing"]["vehicles"] if v["vehicle_id"] == vehicle)
    return found


def way(plan, vehicle):
    """Return a vehicle's stops without what is explained of them."""
    return [{**stop, "explanation": None} for stop in told(plan, vehicle)["stops"]]


def lots(plan):
    return {lot["job_id"]: lot for lot in plan["routing"]["lots"]}


def warnings(plan, code):
    return [w for w in plan["routing"]["warnings"] if w["code"] == code]


def stops(plan, kind, *, ahead=True):
    return [
        (vehicle["vehicle_id"], stop)
        for vehicle in plan["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == kind and stop["done"] is not ahead
    ]


def changes(depot, plan):
    answer = depot.client.get(f"/day-plans/{plan['id']}/changes").json
    jsonschema.Draft202012Validator(CHANGES).validate(answer)
    return {one["job_id"]: one for one in answer["moved"]}


def mow(depot, job):
    depot.amend(f"/jobs/{job}", {"state": "mown", "cut_at": CUT_AT})
