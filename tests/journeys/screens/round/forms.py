"""What a crew lead sends from the round, and what is on record then."""

from uuid import uuid4

from tests.screens import OURS

ASKS_JSON = {**OURS, "Accept": "application/json"}
SMALL = {"value": 60, "unit": "m2"}


def speaks(yard, language):
    change = {"language": language}
    path = f"/crews/{yard.ids['crews']}"
    assert yard.client.patch(path, json=change, headers={"If-Match": "*"}).status_code == 200


def plan(yard):
    body = {"depot_id": yard.ids["depots"], "day": "2026-05-24"}
    assert yard.client.post("/day-plans", json=body).status_code == 201


def report(device, **fields):
    form = {"key": str(uuid4()), **fields}
    return device.post("/screens/round/reports", data=form, headers=ASKS_JSON)


def mown(device, yard, **fields):
    return report(device, act="mown", job=yard.ids["jobs"], **fields)


def job_of(yard):
    return yard.client.get(f"/jobs/{yard.ids['jobs']}").json


def the_load(yard):
    loads = yard.client.get("/loads").json["items"]
    return next(one for one in loads if one["state"] != "superseded")
