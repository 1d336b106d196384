"""A lawn that is smaller on record than it was makes no fault of what its jobs said before."""

import pytest

from tests.devices import CLEAN

WIDE = {"value": 900, "unit": "m2"}
SAID = {name: said for name, said in CLEAN.items() if name != "area_mowed"}


@pytest.fixture
def shrunk(device):
    """Return a planned job of 900 m2, and its lawn, which has 10 m2 on record since."""
    lawn = device.lawn("Front")
    device.patch(f"/lawns/{lawn}", {"area": WIDE})
    planned = device.plan_to_mow(lawn, area_mowed=WIDE)
    device.patch(f"/lawns/{lawn}", {"area": {"value": 10, "unit": "m2"}})
    return lawn, planned


@pytest.mark.parametrize("said", ["weeds_in_seed", "litter_seen"])
def test_what_an_amendment_leaves_as_it_is_is_no_fault_of_it(device, shrunk, said):
    _, planned = shrunk
    assert device.patch(f"/jobs/{planned}", {said: True})[said] is True
    device.patch(f"/jobs/{planned}", {"area_mowed": WIDE})


def test_an_amended_area_is_held_against_the_lawn(device, shrunk):
    _, planned = shrunk
    wider = {"area_mowed": {"value": 800, "unit": "m2"}, "litter_seen": True}
    (fault,) = device.patch(f"/jobs/{planned}", wider, status=422)["errors"]
    assert (fault["pointer"], fault["code"]) == ("/area_mowed", "more_than_the_lawn")


def test_a_job_that_changes_its_lawn_is_held_against_the_new_one(device, shrunk):
    lawn, _ = shrunk
    other = device.lawn("Back")
    device.patch(f"/lawns/{other}", {"area": WIDE})
    moved = device.plan_to_mow(other, area_mowed=WIDE)
    (fault,) = device.patch(f"/jobs/{moved}", {"lawn_id": lawn}, status=422)["errors"]
    assert fault["pointer"] == "/area_mowed"


@pytest.mark.parametrize("area", [{}, {"area_mowed": WIDE}], ids=["no area", "that area"])
@pytest.mark.parametrize("name", ["job_id", "lawn_id"])
def test_a_crew_that_reports_what_was_planned_as_mown_is_not_asked_for_its_area(
    device, shrunk, name, area
):
    named = dict(zip(("lawn_id", "job_id"), shrunk, strict=True))
    report = device.what("mown", "12:10", **{name: named[name]}, **SAID, **area)
    (mown,) = device.kept(report)
    job = device.client.get(f"/jobs/{mown['job_id']}").json
    assert (job["id"], job["state"], job["area_mowed"]["value"]) == (shrunk[1], "mown", 900)


def test_a_report_that_says_more_than_the_lawn_is_refused(device, shrunk):
    report = device.what("mown", "12:10", lawn_id=shrunk[0], area_mowed=WIDE | {"value": 800})
    assert device.refused(report | SAID)["errors"][0]["pointer"].endswith("/area_mowed")
