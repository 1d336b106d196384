"""What is reported late, twice, by another than it is about, or taken back, overwrites nothing."""

import pytest

from tests.journeys.test_http_reports import CLEAN, Device
from tests.journeys.test_http_taint import NOW, drops


@pytest.fixture
def device():
    return Device()


def job_of(device, job_id):
    return device.client.get(f"/jobs/{job_id}").json


def test_what_the_gate_turned_away_is_not_the_load_that_it_took_before(device):
    device.kept(device.what("mown", "12:05", lawn_id=device.lawn("Front"), **CLEAN))
    (taken,) = device.kept(device.what("tipped", "12:15", **device.site()))
    device.kept(device.what("mown", "12:30", lawn_id=device.lawn("Back"), **CLEAN))
    (sent,) = device.kept(device.what("refused", "12:40", **device.site(), reason="Too wet."))
    assert sent["load_id"] != taken["load_id"]
    assert device.load(taken["load_id"])["state"] == "delivered"
    assert device.load(sent["load_id"])["state"] == "refused"


def test_an_older_refusal_that_comes_late_does_not_overrule_what_was_said_since(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    (drop,) = drops(device.read())
    load = f"/loads/{drop['load_id']}"
    device.later(hours=1)
    said = {"state": "delivered", "done_at": "2026-05-24T12:30:00Z"}
    assert device.client.patch(load, json=said, headers=NOW).status_code == 200
    late = device.what("refused", "12:35", load_id=drop["load_id"], reason="Too wet.")
    problem = device.refused(late)
    assert problem["code"] == "ended_otherwise"
    assert "take back" in problem["detail"]
    assert device.client.get(load).json["state"] == "delivered"
    # Who knows better says so of a later hour, or after what was wrong was taken back.
    assert device.client.patch(load, json={"state": "planned"}, headers=NOW).status_code == 200
    device.kept(late)
    assert device.client.get(load).json["state"] == "refused"
