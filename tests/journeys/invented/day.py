"""A day with a digester, over HTTP: run in a checkout that has the kind, on a migrated database."""

import json
import sys

import jsonschema

from service.api.work.days.routing_shape import ROUTING
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.worlds import furnish, make_world

DAY = "2026-05-24"  # a Sunday: the compost site of the example is closed
ANY_VERSION = {"If-Match": "*"}


class Day:
    """A dispatcher's client on one day."""

    def __init__(self, url):
        engine = make_engine(url)
        self.world = make_world(unit_of_work_opener(engine), reading_opener(engine))
        self.yard = furnish(self.world)
        self.client, self.ids = self.yard.client, self.yard.ids

    def ask(self, method, path, status=200, **said):
        """Return the body of an answer that has the status that is expected."""
        answer = getattr(self.client, method)(path, **said)
        assert answer.status_code == status, f"{method} {path}: {answer.text}"
        return answer.json

    def amend(self, path, **changes):
        self.world.clock.move(minutes=1)
        return self.ask("patch", path, json=changes, headers=ANY_VERSION)

    def routing(self):
        told = self.ask("get", f"/days/{DAY}/routing?depot_id={self.ids['depots']}")["routing"]
        jsonschema.Draft202012Validator(ROUTING).validate(told)
        return told

    def said_by_digester(self, job):
        """Return the digester's verdict on a job's lot."""
        told = self.ask("get", f"/jobs/{job}/verdicts")["verdicts"]
        return next(one for one in told if one["destination_kind"] == "digester")

    def ways(self, job):
        """Return where a job's lot goes: kinds, in the order told."""
        (lot,) = (lot for lot in self.routing()["lots"] if lot["job_id"] == job)
        return [way["destination_kind"] for way in lot["goes_to"]]


def planned_and_explained(day):
    """Post a job, and ask why it goes where it goes."""
    day.ask("delete", f"/beds/{day.ids['beds']}", 204, headers=ANY_VERSION)
    job = day.ask("post", "/jobs", 201, json=day.yard.job())["id"]
    routing = day.routing()
    (load,) = day.ask("get", "/loads?destination_kind=digester")["items"]
    verdicts = day.ask("get", f"/jobs/{job}/verdicts")["verdicts"]
    body = {"depot_id": day.ids["depots"], "day": DAY}
    return job, {
        "goes_to": day.ways(job),
        "destinations": [one["destination_kind"] for one in routing["destinations"]],
        "warned_above": sorted(routing["overflow"]["warned_above"]),
        "fee_cents": load["fee_cents"] > 0,
        "explained": bool(day.ask("get", f"/loads/{load['id']}")["explanation"]),
        "why": bool(day.ask("get", f"/jobs/{job}/why")),
        "verdicts": {one["destination_kind"]: one["code"] for one in verdicts},
        "searched": day.ask("post", "/day-plans", 201, json=body)["routing"]["unplaced"],
        "supposed": day.ask("post", "/what-ifs", json={**body, "rain": True})["held_kg"]["after"],
    }


def planned_again(day, job):
    """Let the digester have no room, then room again; turn its load away, and bring another."""
    path = f"/digesters/{day.ids['digesters']}"
    site = f"/compost-sites/{day.ids['compost-sites']}"
    day.ask("delete", site, 204, headers=ANY_VERSION)
    day.amend(path, daily_capacity_kg=0)
    held = day.ways(job)
    (entry,) = day.ask("get", "/hold-entries?state=expected")["items"]
    day.amend(path, daily_capacity_kg=9000)
    back = day.ways(job)
    (load,) = day.ask("get", "/loads?destination_kind=digester&state=planned")["items"]
    day.amend(f"/loads/{load['id']}", state="refused", refusal_reason="too wet for the tank")
    after = day.ways(job)
    verdict = day.said_by_digester(job)
    (held_load,) = day.ask("get", "/loads?destination_kind=hold_bay&state=planned")["items"]
    day.amend(f"/loads/{held_load['id']}", state="delivered")
    cut_at = day.world.clock.now().isoformat()
    other = day.ask(
        "post", "/jobs", 201, json=day.yard.job(cut_at=cut_at, lawn_id=day.yard.another_lawn())
    )["id"]
    return other, {
        "held": held,
        "held_because": entry["reason_code"],
        "back": back,
        "after_the_no": after,
        "no": [verdict["code"], verdict["rule_class"]],
        "other": day.ways(other),
    }


def delivered(day, job):
    """Deliver a load there, find litter in its lot afterwards, and try to forget the digester."""
    loads = day.ask("get", "/loads?destination_kind=digester&state=planned")["items"]
    (load,) = (one for one in loads if job in [part["job_id"] for part in one["parts"]])
    note = day.ask("post", f"/loads/{load['id']}/delivery-notes", 409)
    for state in ("under_way", "delivered"):
        day.amend(f"/loads/{load['id']}", state=state)
    room_kg = day.said_by_digester(job)["facts"]["room_kg"]
    day.amend(f"/jobs/{job}", litter_seen=True)
    listed = day.ask("get", f"/days/{DAY}/decisions?depot_id={day.ids['depots']}")
    recalls = [one for one in listed["decisions"] if one["code"] == "recall"]
    kept = day.ask("delete", f"/digesters/{day.ids['digesters']}", 409, headers=ANY_VERSION)
    return {
        "note": note["detail"],
        "room_kg": room_kg,
        "ways": day.ways(job),
        "recalled_from": [one["destination_kind"] for one in recalls],
        "kept": kept["detail"],
    }


def main(url):
    """Live the day; tell it as JSON."""
    day = Day(url)
    job, planned = planned_and_explained(day)
    other, again = planned_again(day, job)
    told = {"planned": planned, "again": again, "done": delivered(day, other)}
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
