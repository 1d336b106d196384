"""Who took a job or a load over reports it by the key of its own crew."""

from service.core.callers.access import Role
from tests.depots import DAY
from tests.outages import (
    at_ten,
    lots,
    mow,
    report,
    stops,
)


def phone(depot, crew):
    """Return a client with the key of one crew."""
    with depot.world.open_unit_of_work() as unit:
        firm_id = unit.firms.all()[0].id
    return depot.world.client(firm_id, Role.CREW, crew_id=crew)


def reported(client, kind, at, **fields):
    own = f"01900000-0000-7000-9000-0000000000{len(fields)}{at[-2:-1]}"
    row = {"id": own, "kind": kind, "at": f"{DAY}T{at}:00+01:00", **fields}
    body = {"device": "phone", "sent_at": f"{DAY}T10:00:00+01:00", "reports": [row]}
    answer = client.post("/reports", json=body)
    assert answer.status_code == 200, answer.text
    return answer.json["reports"][0]


def test_a_crew_reports_by_its_key_the_job_it_was_given_and_no_other(depot):
    broken = depot.vehicles[0][0]
    report(depot, broken, out_since=f"{DAY}T06:30:00+01:00")
    given = {stop["job_id"]: vehicle for vehicle, stop in stops(depot.read(), "job")}
    job = depot.jobs[0]
    crews = dict(depot.vehicles)
    taker = given[job]
    other = next(v for v, _ in depot.vehicles if v not in {broken, taker})
    at_ten(depot)
    depot.read()
    row = reported(phone(depot, crews[other]), "mown", "09:30", job_id=job)
    assert row["status"] >= 400
    assert "lawn_id" in str(row["problem"])
    row = reported(phone(depot, crews[taker]), "mown", "09:40", job_id=job)
    assert row["status"] == 200, row
    kept = depot.client.get(f"/jobs/{job}").json
    assert (kept["state"], kept["crew_id"], kept["vehicle_id"]) == ("mown", crews[taker], taker)


def test_who_forked_a_load_over_says_so_by_its_own_key(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    broken = depot.vehicles[0][0]
    depot.plan()
    report(depot, broken)
    ((taker, _),) = stops(depot.read(), "pick_up")
    crew = dict(depot.vehicles)[taker]
    said = {"to_vehicle_id": taker, "parts": [{"job_id": depot.jobs[0]}]}
    row = reported(phone(depot, crew), "given", "10:00", **said)
    assert row["status"] == 200, row
    kept = depot.client.get(f"/jobs/{depot.jobs[0]}").json
    assert (kept["crew_id"], kept["vehicle_id"]) == (depot.vehicles[0][1], taker)


def test_what_was_forked_over_is_brought_and_reported_by_the_crew_that_has_it(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    broken = depot.vehicles[0][0]
    depot.plan()
    report(depot, broken)
    ((taker, _),) = stops(depot.read(), "pick_up")
    crew = dict(depot.vehicles)[taker]
    said = {"to_vehicle_id": taker, "parts": [{"job_id": depot.jobs[0]}]}
    assert reported(phone(depot, crew), "given", "10:00", **said)["status"] == 200
    for job, lot in lots(depot.read()).items():
        if lot["vehicle_id"] == taker and lot["state"] == "planned":
            mow(depot, job)
    plan = depot.read()
    code = lots(plan)[depot.jobs[0]]["lot_code"]
    (drop, *_) = [one for _, one in stops(plan, "drop") if code in one["lot_codes"]]
    assert depot.client.get(f"/loads/{drop['load_id']}").json["crew_id"] == crew
    place = {name: drop[name] for name in ("destination_kind", "destination_id")}
    row = reported(phone(depot, crew), "tipped", "10:00", **place, vehicle_id=taker)
    assert (row["status"], row["load_id"]) == (200, drop["load_id"]), row
