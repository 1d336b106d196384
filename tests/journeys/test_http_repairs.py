"""A vehicle that waits for its repair, or is back from it."""

from tests.depots import DAY
from tests.outages import (
    at_ten,
    changes,
    lots,
    mow,
    report,
    stops,
    told,
    warnings,
)


def test_repaired_it_has_its_jobs_and_its_load_again(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    depot.plan()
    broken = depot.vehicles[0][0]
    outage = report(depot, broken)
    assert outage["day"] == DAY
    gone = depot.read()
    assert stops(gone, "pick_up")
    back_at = f"{DAY}T13:00:00+01:00"
    depot.amend(f"/vehicle-outages/{outage['id']}", {"back_at": back_at})
    after = depot.read()
    assert stops(after, "pick_up") == []
    (first, *_) = [stop for v, stop in stops(after, "job") if v == broken]
    assert first["job_id"] == depot.jobs[1]
    assert first["at"] > back_at
    assert told(after, broken)["out"]["back_at"] == back_at
    moved = changes(depot, after)
    assert moved[depot.jobs[1]]["code"] == "vehicle_back"
    assert lots(after)[depot.jobs[0]]["taken_over_from_id"] is None


def test_a_load_that_waits_for_a_long_repair_is_warned_of_as_one_that_stands(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    outage = report(depot, depot.vehicles[0][0], back_at=f"{DAY}T14:00:00+01:00")
    assert warnings(depot.read(), "load_stands") == []
    depot.amend(f"/vehicle-outages/{outage['id']}", {"back_at": f"{DAY}T17:00:00+01:00"})
    plan = depot.read()
    (stands,) = warnings(plan, "load_stands")
    assert "have them out by 15:00" in stands["why"]
    assert stands["mass_high_kg"] == told(plan, depot.vehicles[0][0])["aboard_now"]["mass_high_kg"]
    assert stops(plan, "pick_up") == []


def test_what_is_planned_for_it_after_it_is_out_is_told(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    broken = depot.vehicles[0][0]
    outage = report(depot, broken, out_since=f"{DAY}T14:00:00+01:00")
    (in_time,) = warnings(depot.read(), "vehicle_out")
    assert "last stop" not in in_time["why"]
    depot.world.clock.move(minutes=50)
    depot.amend(f"/vehicle-outages/{outage['id']}", {"out_since": f"{DAY}T11:10:00+01:00"})
    plan = depot.read()
    last = told(plan, broken)["stops"][-1]
    assert last["at"] > told(plan, broken)["out"]["out_since"]
    (late,) = warnings(plan, "vehicle_out")
    assert f"But its last stop is planned for {last['at'][11:16]}" in late["why"]
