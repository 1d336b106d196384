"""A release by hand says where it went: the place is asked and charged, or nothing is."""

import pytest

from service.core.callers.access import Role
from tests.holds import DAY, SMALL, Yard
from tests.outages import warnings

WHY = {"Change-Reason": "The client saw it and wants it."}


@pytest.fixture
def yard():
    """Return a yard in whose bay clean clippings wait, because no client wanted them then."""
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held()
    yard.patch(yard.bed, {"consent": {"state": "given"}})
    yard.world.clock.move(minutes=10)
    return yard


def entry(yard):
    (one,) = yard.client.get("/hold-entries").json["items"]
    return one


def path(yard):
    return f"/hold-entries/{entry(yard)['id']}"


def to_bed(yard, **more):
    return {
        "state": "released",
        "released_to_kind": "bed",
        "released_to_id": yard.ids["beds"],
        "released_with_id": yard.ids["vehicles"],
        **more,
    }


def to_site(yard):
    site = yard.ids["compost-sites"]
    return to_bed(yard) | {"released_to_kind": "compost_site", "released_to_id": site}


def said(yard, kind):
    """Return what a place of a kind says to a lot that was just cut."""
    lot = yard.mow(yard.lawn("Asked"), at="12:10", area_mowed=SMALL)
    rows = yard.client.get(f"/jobs/{lot}/verdicts").json["verdicts"]
    yard.patch(f"/jobs/{lot}", {"state": "cancelled"})
    (own,) = [one for one in rows if one["destination_kind"] == kind]
    return own


def release(yard, body, *, status=200, headers=None, role=None):
    client = yard.client if role is None else yard.world.client(yard.firm_id, role)
    sent = {"If-Match": "*", **(headers or {})}
    answer = client.patch(path(yard), json=body, headers=sent)
    assert answer.status_code == status, answer.text
    return answer.json


def test_a_bed_that_got_it_is_charged_with_its_kilograms_and_nitrogen(yard):
    before = said(yard, "bed")
    kept = release(yard, to_bed(yard))
    assert (kept["state"], kept["released_as"]) == ("released", "place")
    assert kept["released_to"] == yard.client.get(yard.bed).json["name"]
    load = yard.client.get(f"/loads/{kept['released_load_id']}").json
    assert (load["state"], load["destination_id"]) == ("delivered", yard.ids["beds"])
    assert load["mass_kg"]["likely"] == pytest.approx(kept["mass_kg"]["likely"])
    assert load["nitrogen_kg"]["likely"] > 0
    assert said(yard, "bed")["accepted_kg"] < before["accepted_kg"]
    assert yard.queue() == []


def test_a_release_that_is_undone_lies_in_the_bay_and_the_bed_is_charged_with_nothing(yard):
    before = said(yard, "bed")["accepted_kg"]
    load = release(yard, to_bed(yard))["released_load_id"]
    again = release(yard, {"state": "in_bay"})
    assert (again["released_to"], again["released_load_id"]) == (None, None)
    assert yard.client.get(f"/loads/{load}").json["state"] == "superseded"
    assert said(yard, "bed")["accepted_kg"] == before
    assert len(yard.queue()) == 1


def test_a_release_that_is_corrected_charges_the_right_place_only(yard):
    before = said(yard, "bed")["accepted_kg"]
    release(yard, to_bed(yard))
    kept = release(yard, {"released_as": "elsewhere", "released_to": "Hill Farm"})
    assert (kept["released_to"], kept["released_to_id"]) == ("Hill Farm", None)
    assert said(yard, "bed")["accepted_kg"] == before
    kept = release(yard, to_bed(yard))
    assert kept["released_to_id"] == yard.ids["beds"]


def test_what_law_forbids_is_refused_whatever_reason_is_given(yard):
    yard.patch(yard.bed, {"legal_basis": {"kind": "not_established"}})
    problem = release(yard, to_bed(yard), status=409, headers=WHY)
    assert problem["code"] == "release_refused"
    assert "legal basis" in problem["detail"]
    assert entry(yard)["state"] == "in_bay"
    assert yard.client.get("/loads?state=delivered&destination_kind=bed").json["items"] == []


def test_law_behind_advice_is_refused_too(yard):
    yard.patch(yard.bed, {"drainage": "poor", "water_distance_m": 1})
    problem = release(yard, to_bed(yard), status=409, headers=WHY)
    assert "watercourse" in problem["detail"]


def test_advice_is_set_aside_with_a_reason_by_a_dispatcher_only(yard):
    yard.patch(yard.bed, {"drainage": "poor"})
    problem = release(yard, to_bed(yard), status=409)
    assert "Change-Reason" in problem["detail"]
    release(yard, to_bed(yard), status=409, headers=WHY, role=Role.INTEGRATOR)
    kept = release(yard, to_bed(yard), headers=WHY, role=Role.DISPATCHER)
    load = yard.client.get(f"/loads/{kept['released_load_id']}").json
    assert "drainage" in load["explanation"]["set_aside"]


def test_a_site_that_is_closed_is_not_released_to(yard):
    problem = release(yard, to_site(yard), status=409, headers=WHY)
    assert "takes no loads" in problem["detail"]


def test_a_site_that_got_it_has_less_room_on_the_day(yard):
    yard.world.clock.move(hours=20)
    release(yard, to_site(yard))
    lot = yard.mow(yard.lawn("Monday"), at="08:00", day="2026-05-25")
    rows = yard.client.get(f"/jobs/{lot}/verdicts").json["verdicts"]
    (site,) = [one for one in rows if one["destination_kind"] == "compost_site"]
    full = yard.client.get(yard.site).json["daily_capacity_kg"]
    assert site["accepted_kg"] < full


def test_every_fault_of_a_release_is_named_at_once(yard):
    body = {"state": "released", "released_as": "place", "released_to_kind": "hold_bay"}
    problem = release(yard, body, status=422)
    pointers = {fault["pointer"] for fault in problem["errors"]}
    assert pointers == {"/released_to_kind", "/released_to_id", "/released_with_id"}
    problem = release(yard, to_bed(yard, released_to_id=yard.ids["vehicles"]), status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/released_to_id"]
    problem = release(yard, {"state": "released"}, status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/released_to"]
    early = to_bed(yard, released_at="2026-05-24T08:00:00+01:00")
    problem = release(yard, early, status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/released_at"]


def test_clean_clippings_become_liquid_feed_with_the_quantities(yard):
    kept = release(yard, {"state": "released", "released_as": "liquid_feed"})
    mass_kg = kept["mass_kg"]["likely"]
    # Common practice, no source: 2 kg in 10 L.
    assert f"about {mass_kg:.0f} kg in {mass_kg * 5:.0f} L" in kept["released_to"]
    assert kept["released_load_id"] is None
    assert yard.queue() == []


def test_what_is_not_clean_becomes_no_feed(yard):
    (job,) = yard.client.get("/jobs").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"treatment_history": "unknown"})
    feed = {"state": "released", "released_as": "liquid_feed"}
    problem = release(yard, feed, status=409, headers=WHY)
    assert "clean" in problem["detail"]


def test_what_a_vehicle_brought_on_is_corrected_at_its_load(yard):
    yard.plan_to_mow(yard.lawn("Afternoon"), clippings="left")
    (held,) = yard.routing()["routing"]["held"]
    (load,) = held["load_ids"]
    yard.world.clock.move(minutes=30)
    yard.patch(f"/loads/{load}", {"state": "delivered"})
    problem = release(yard, {"state": "in_bay"}, status=409)
    assert load in problem["detail"]


def test_a_bed_that_turns_a_release_away_lets_it_lie_in_the_bay_again(yard):
    load = release(yard, to_bed(yard))["released_load_id"]
    yard.patch(f"/loads/{load}", {"state": "refused", "refusal_reason": "It smells."})
    assert yard.entry()["why"]["code"] == "turned_away_today"
    assert yard.queue() != []
    # It lies in the bay again, so nobody is asked to fetch it.
    assert warnings(yard.routing(DAY), "turned_away") == []


def test_every_kilogram_of_a_release_is_somewhere_in_the_mass_book(yard):
    def book():
        with yard.world.open_unit_of_work() as unit:
            sums = unit.mass_balances.totals(yard.firm_id)
        return {kind: round(at.share, 6) for kind, _, at in sums if abs(at.share) > 1e-6}

    assert book() == {"lawn": -1.0, "hold_bay": 1.0}
    release(yard, to_bed(yard))
    assert book() == {"lawn": -1.0, "bed": 1.0}
    release(yard, {"released_as": "elsewhere", "released_to": "Hill Farm"})
    assert book() == {"lawn": -1.0, "elsewhere": 1.0}
    release(yard, {"state": "in_bay"})
    assert book() == {"lawn": -1.0, "hold_bay": 1.0}


def test_what_people_read_of_times_is_the_depots_clock(yard):
    """Eleven in summer is ten in UTC: whoever reads a refusal looks at the clock on the wall."""
    early = to_bed(yard, released_at="2026-05-24T08:00:00+01:00")
    said = [release(yard, early, status=422)]
    reading = {"hold_entry_id": entry(yard)["id"], "at": "2026-05-24T08:00:00+01:00"}
    reading |= {"temperature_c": 40, "depth_mm": 400, "measured_by": "A. Green"}
    said.append(yard.client.post("/heap-temperatures", json=reading).json)
    lot = yard.mow(yard.lawn("Late"), at="12:45", area_mowed=SMALL)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": "2026-05-24T12:30:00+01:00",
        "parts": [{"job_id": lot}],
    }
    said.append(yard.client.post("/loads", json=tip).json)
    first = yard.client.get(f"/loads/{entry(yard)['load_id']}").json
    done = {"done_at": "2026-05-23T08:00:00+01:00"}
    said.append(yard.patch(f"/loads/{first['id']}", done, status=422))
    details = [problem["errors"][0]["detail"] for problem in said]
    clocks = ["(13:05)", "(13:05)", "12:45", "(11:00)"]
    assert all(clock in detail for clock, detail in zip(clocks, details, strict=True)), details
    assert not any("2026-" in detail for detail in details)


def test_a_client_is_brought_no_less_by_hand_than_a_visit_is_worth(yard):
    least_kg = 2.0 * entry(yard)["mass_kg"]["likely"]
    consent = {"state": "given", "mass_per_visit_min_kg": least_kg}
    yard.patch(yard.bed, {"consent": consent})
    (row,) = yard.queue()
    assert (row["takers"], row["releasable"]) == ([], False)
    assert "no visit for less" in row["why"]["sentence"]
    problem = release(yard, to_bed(yard), status=409, headers=WHY)
    assert "no visit for less" in problem["detail"]
    yard.patch(yard.bed, {"consent": consent | {"mass_per_visit_min_kg": least_kg / 3.0}})
    assert [one["destination_kind"] for one in yard.queue()[0]["takers"]] == ["bed"]
    release(yard, to_bed(yard))
