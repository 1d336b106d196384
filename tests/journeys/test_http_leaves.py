"""Leaves that came up with the grass: a crew can say it, and what is not known is not guessed."""

import pytest

from service.rules.lookup import Rulebook
from tests.crews import DAY
from tests.devices import CLEAN, Device

LEAVES = Rulebook.load().materials["tree_leaves"]


@pytest.fixture
def device():
    return Device()


def mown(device, lawn, **fields):
    (row,) = device.kept(device.what("mown", "12:10", lawn_id=lawn, **CLEAN, **fields))
    return device.client.get(f"/jobs/{row['job_id']}").json


def asked(device):
    listed = device.client.get(f"/days/{DAY}/decisions?depot_id={device.ids['depots']}").json
    return [one for one in listed["decisions"] if one["code"] == "leaves_not_estimated"]


def test_a_crew_says_so_and_only_what_is_known_of_leaves_changes(device):
    bare = mown(device, device.lawn("Open"))
    job = mown(device, device.lawn("Under oaks"), leaves_mixed=True)
    assert (bare["leaves_mixed"], job["leaves_mixed"]) == (False, True)
    assert job["status"] == "clean"
    for name in ("mass_kg", "volume_m3", "nitrogen_kg"):
        assert job["estimate"][name] == bare["estimate"][name]
    ratio, grass = (one["estimate"]["carbon_to_nitrogen"] for one in (job, bare))
    assert ratio["high"] == LEAVES.carbon_to_nitrogen.high == 80
    assert (ratio["low"], ratio["likely"]) == (grass["low"], grass["likely"])
    assert "how many is not known" in ratio["basis"]
    assert set(ratio["sources"]) >= {"bertrand-mst"}


def test_the_office_reads_that_it_is_not_known_until_something_is_measured(device):
    job = mown(device, device.lawn("Under oaks"), leaves_mixed=True)
    (one,) = asked(device)
    assert job["lot_code"] in one["sentence"]
    assert "of the grass alone" in one["sentence"]
    assert [(way["method"], way["href"]) for way in one["ways"]] == [
        ("PATCH", f"/jobs/{job['id']}")
    ]
    device.patch(f"/jobs/{job['id']}", {"measured_volume": {"value": 3, "unit": "m3"}})
    assert asked(device) == []
    listed = device.client.get(f"/days/{DAY}/decisions?depot_id={device.ids['depots']}").json
    assert "measured_far_off" not in {one["code"] for one in listed["decisions"]}


@pytest.mark.parametrize("leaves", [False, True])
def test_the_weight_of_leaves_teaches_nothing_of_grass(device, leaves):
    lawn = device.lawn("Under oaks")
    job = mown(device, lawn, leaves_mixed=leaves)
    (row,) = device.kept(device.what("tipped", "12:20", **device.site()))
    likely = job["estimate"]["mass_kg"]["likely"]
    weighed = {"weighed_net": {"value": 1.5 * likely, "unit": "kg"}, "weigh_ticket": "W-1"}
    device.patch(f"/loads/{row['load_id']}", {**weighed, "ticket_review": "accepted"})
    device.later(minutes=90)
    planned = device.client.get(f"/jobs/{device.plan_to_mow(lawn, at='18:00')}").json
    assert planned["estimate"]["tickets"] == (0 if leaves else 1)


@pytest.mark.parametrize("leaves", [False, True])
def test_the_note_tells_whoever_lays_it_that_leaves_are_in_it(device, leaves):
    mown(device, device.lawn("Under oaks"), leaves_mixed=leaves)
    bed = {"destination_kind": "bed", "destination_id": device.ids["beds"]}
    (row,) = device.kept(device.what("tipped", "12:20", **bed))
    note = device.post(f"/loads/{row['load_id']}/delivery-notes", {})
    assert note["note"]["facts"]["guidance"]["has_leaves"] is leaves
    assert ("spread.leaves_in_it" in str(note["note"]["sections"])) is leaves
