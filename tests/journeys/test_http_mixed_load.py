"""What lay mixed in the body of a vehicle that broke down stays mixed, at its worst status."""

from tests.outages import at_ten, lots, mow, report, stops, warnings


def given(depot, giver, taker, job):
    """Report that a lot was forked over into another vehicle."""
    depot.world.clock.move(minutes=1)
    at = depot.world.clock.now().isoformat()
    forked = {
        "id": "01900000-0000-7000-8000-0000000f0001",
        "kind": "given",
        "at": at,
        "to_vehicle_id": taker,
        "parts": [{"job_id": job}],
    }
    said = {"device": "office", "sent_at": at, "vehicle_id": giver, "reports": [forked]}
    (row,) = depot.client.post("/reports", json=said).json["reports"]
    assert row["status"] < 300, row


def test_a_mixed_load_stays_mixed(depot):
    """Clean grass that lay in one body with weedy grass goes where the weedy grass may."""
    at_ten(depot)
    depot.amend(f"/jobs/{depot.jobs[0]}", {"weeds_in_seed": True})
    for job in depot.jobs[:2]:
        mow(depot, job)
    report(depot, depot.vehicles[0][0])
    after = depot.read()
    codes = {lots(after)[job]["lot_code"] for job in depot.jobs[:2]}
    assert [set(stop["lot_codes"]) for _, stop in stops(after, "pick_up")] == [codes]
    for _, drop in stops(after, "drop"):
        if codes & set(drop["lot_codes"]):
            assert codes <= set(drop["lot_codes"])
            assert drop["status"] == "weedy"
            assert drop["destination_kind"] != "bed"


def test_what_lay_with_diseased_grass_stays_so_when_that_is_in_another_body(depot):
    at_ten(depot)
    depot.amend(f"/jobs/{depot.jobs[0]}", {"disease_seen": True})
    for job in depot.jobs[:2]:
        mow(depot, job)
    broken = depot.vehicles[0][0]
    report(depot, broken)
    before = depot.read()
    ((taker, pick_up),) = stops(before, "pick_up")
    given(depot, broken, taker, depot.jobs[0])
    diseased, clean = (lots(before)[job]["lot_code"] for job in depot.jobs[:2])

    def is_mixed_still(plan):
        ((_, rest),) = stops(plan, "pick_up")
        assert sorted(rest["lot_codes"]) == sorted([diseased, clean])
        assert 0 < rest["mass_high_kg"] < pick_up["mass_high_kg"]
        (brought,) = [drop for _, drop in stops(plan, "drop") if clean in drop["lot_codes"]]
        assert brought["status"] == "diseased"
        assert brought["destination_kind"] != "bed"
        own = lots(plan)[depot.jobs[0]]
        assert (own["vehicle_id"], own["taken_over_from_id"]) == (taker, None)
        (stands,) = warnings(plan, "load_stands")
        assert f"lay mixed with {diseased}" in stands["why"]
        return plan

    after = is_mixed_still(depot.read())
    for drop in [drop for _, drop in stops(after, "drop") if diseased in drop["lot_codes"]][:1]:
        if clean not in drop["lot_codes"]:
            depot.amend(f"/loads/{drop['load_id']}", {"state": "delivered"})
    is_mixed_still(depot.plan())
