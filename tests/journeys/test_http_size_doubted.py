"""A cut of a size that is seldom true is doubted, until whoever knows says that it is so."""

import pytest

from tests.crews import DAY
from tests.holds import Yard

HECTARES = {"value": 40_000, "unit": "m2"}
LAWN = {"value": 400, "unit": "m2"}
OFFICE_AT = "2026-05-24T12:00:00+01:00"


@pytest.fixture
def yard():
    yard = Yard()
    yard.park = yard.lawn("Park")
    yard.patch(f"/lawns/{yard.park}", {"area": HECTARES})
    return yard


def huge(yard):
    job = yard.mow(yard.park, at="10:00", area_mowed=HECTARES)
    yard.patch(f"/jobs/{job}", {"height_removed": {"value": 90, "unit": "mm"}})
    return job


def decided(yard, code):
    yard.routing()
    listed = yard.client.get(f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}")
    assert listed.status_code == 200, listed.text
    return [one for one in listed.json["decisions"] if one["code"] == code]


def is_so(yard, job, status=200):
    answer = yard.client.post(f"/jobs/{job}/decisions", json={"decision": "size_is_so"})
    assert answer.status_code == status, answer.text
    return answer.json


def test_what_is_said_to_be_so_is_doubted_no_more_and_is_planned(yard):
    job = huge(yard)
    (told,) = decided(yard, "lot_too_large")
    assert ("POST", f"/jobs/{job}/decisions") in {
        (way["method"], way["href"]) for way in told["ways"]
    }
    said = is_so(yard, job)["size_confirmed"]
    assert said["said_by"] == "owner"
    assert said["at"]
    assert not decided(yard, "lot_too_large")
    assert not decided(yard, "lot_too_large")
    (lot,) = [one for one in yard.routing()["routing"]["lots"] if one["job_id"] == job]
    assert lot["goes_to"] or lot["needs_attention"]


def test_another_area_or_weight_brings_the_doubt_back_and_a_remark_does_not(yard):
    job = huge(yard)
    is_so(yard, job)
    yard.patch(f"/jobs/{job}", {"remarks": "Two crews."})
    assert not decided(yard, "lot_too_large")
    changed = yard.patch(f"/jobs/{job}", {"height_removed": {"value": 91, "unit": "mm"}})
    assert changed["size_confirmed"] is None
    assert decided(yard, "lot_too_large")
    again = yard.patch(f"/jobs/{job}", {"height_removed": {"value": 90, "unit": "mm"}})
    assert again["size_confirmed"]["said_by"] == "owner"


def test_said_twice_it_keeps_who_said_it_first_and_one_version(yard):
    job = huge(yard)
    first = is_so(yard, job)
    yard.world.clock.move(minutes=5)
    again = is_so(yard, job)
    assert (again["version"], again["size_confirmed"]) == (
        first["version"],
        first["size_confirmed"],
    )


def test_six_tonnes_of_a_small_lawn_are_doubted_until_it_is_so(yard):
    front = yard.lawn("Front")
    job = yard.mow(front, at="10:00", area_mowed=LAWN)
    assert not decided(yard, "measured_far_off")
    yard.patch(f"/jobs/{job}", {"measured_mass": {"value": 6_000, "unit": "kg"}})
    (told,) = decided(yard, "measured_far_off")
    assert "6,000 kg" in told["sentence"]
    assert "400 m2" in told["sentence"]
    assert told["job_id"] == job
    ways = {(way["method"], way["href"]) for way in told["ways"]}
    assert ways == {("PATCH", f"/jobs/{job}"), ("POST", f"/jobs/{job}/decisions")}
    kept = yard.client.get(f"/jobs/{job}").json
    assert kept["estimate"]["mass_kg"]["high"] < 1_000
    is_so(yard, job)
    assert not decided(yard, "measured_far_off")
    yard.patch(f"/jobs/{job}", {"measured_mass": {"value": 6, "unit": "kg"}})
    (told,) = decided(yard, "measured_far_off")
    assert "6 kg" in told["sentence"]


def test_inches_for_millimetres_of_a_small_lawn_are_doubted_until_it_is_so(yard):
    job = yard.mow(yard.lawn("Front"), at="10:00", area_mowed={"value": 60, "unit": "m2"})
    assert not decided(yard, "measured_far_off")
    tall = {"height_removed": {"value": 38, "unit": "[in_i]"}}
    told = yard.patch(f"/jobs/{job}", tall | {"height_before": None, "height_after": None})
    computed = {"area_m2": 60, "height_removed_mm": 965.2, "grass_kind": told["grass_kind"]}
    asked = yard.client.post("/computations/estimate", json=computed).json["result"]
    assert asked["plausibility"] == "far_above_published"
    (one,) = decided(yard, "measured_far_off")
    assert "965.2 mm off 60 m2" in one["sentence"]
    assert "are published" in one["sentence"]
    is_so(yard, job)
    assert not decided(yard, "measured_far_off")


def test_a_weight_beside_a_reason_that_is_too_long_is_no_fault_of_the_weight(yard):
    job = yard.mow(yard.lawn("Front"), at="10:00")
    heavy = {"measured_mass": {"value": 60, "unit": "kg"}}
    problem = yard.patch(f"/jobs/{job}", heavy, reason="long " * 500, status=422)
    assert problem["code"] == "request_not_usable"
    assert not [one for one in problem["errors"] if "pointer" in one]  # no field is at fault


def test_a_volume_far_off_is_doubted_beside_the_weight_that_was_measured_too(yard):
    job = yard.mow(yard.lawn("Front"), at="10:00", area_mowed=LAWN)
    yard.patch(f"/jobs/{job}", {"measured_volume": {"value": 15, "unit": "m3"}})
    (told,) = decided(yard, "measured_far_off")
    assert "15 m3" in told["sentence"]


def test_what_weighs_more_than_water_in_the_space_it_was_cut_from_is_refused(yard):
    body = {"lawn_id": yard.lawn("Front"), "area_mowed": LAWN}
    body |= {"height_before": None, "height_after": None}
    body |= {"height_removed": {"value": 10, "unit": "mm"}}
    most_kg = 400 * 0.010 * 1000
    for mass_kg, status in ((most_kg, 201), (most_kg + 1, 422)):
        sent = yard.yard.job(**body, measured_mass={"value": mass_kg, "unit": "kg"})
        answer = yard.client.post("/jobs", json=sent)
        assert answer.status_code == status, answer.text
    (fault,) = answer.json["errors"]
    assert fault["pointer"] == "/measured_mass"
    assert "4,000 kg" in fault["detail"]
    body["measured_mass"] = {"value": 900, "unit": "kg"}
    sent = yard.yard.job(**body, measured_volume={"value": 0.8, "unit": "m3"})
    answer = yard.client.post("/jobs", json=sent)
    assert [one["pointer"] for one in answer.json["errors"]] == ["/measured_volume"]


@pytest.mark.parametrize("unreadable", ["area_mowed", "measured_volume", "height_removed"])
def test_what_cannot_be_read_hides_no_other_fault_and_breaks_nothing(yard, unreadable):
    sent = {"measured_mass": {"value": 900, "unit": "kg"}, "wetness": "soaked"}
    answer = yard.client.post("/jobs", json=yard.yard.job(**{**sent, unreadable: {"value": "x"}}))
    assert answer.status_code == 422, answer.text
    pointers = {one["pointer"] for one in answer.json["errors"]}
    assert "/wetness" in pointers
    assert any(pointer.startswith(f"/{unreadable}") for pointer in pointers)
