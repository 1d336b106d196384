"""A tip that a crew reports and that cannot be kept is told to the office, until it is settled."""

import pytest

from tests.crews import DAY
from tests.devices import CLEAN


def asked(device, day=DAY):
    """Return what the office is told of tips that were not kept."""
    path = f"/days/{day}/decisions?depot_id={device.ids['depots']}"
    items = device.client.get(path).json["decisions"]
    return [one for one in items if one["code"] == "tip_not_kept"]


def too_heavy(device, at="12:40"):
    heavy = {"weighed_net": {"value": 5000, "unit": "kg"}, "weigh_ticket": "HG7"}
    return device.what("tipped", at, **device.site(), **heavy)


@pytest.fixture
def aboard(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.later(hours=1)
    return device


def test_the_office_reads_which_tip_was_refused_why_and_what_to_do(aboard):
    tip = too_heavy(aboard)
    problem = aboard.refused(tip)
    (item,) = asked(aboard)
    registration = aboard.client.get(f"/vehicles/{aboard.ids['vehicles']}").json["registration"]
    site = aboard.client.get(f"/compost-sites/{aboard.ids['compost-sites']}").json["name"]
    told = (registration, site, "12:40", "HG7", "5,000 kg", problem["errors"][0]["detail"][:40])
    assert [word for word in told if word not in item["sentence"]] == []
    assert (item["urgency"], item["vehicle_id"]) == ("now", aboard.ids["vehicles"])
    assert [way["href"] for way in item["ways"]] == ["/loads", "/reports"]
    # Sent again as it was, it is one matter still.
    aboard.refused(tip)
    assert len(asked(aboard)) == 1
    # And on the days after.
    aboard.later(days=1)
    assert len(asked(aboard, "2026-05-25")) == 1


def mended(device, tip):
    right = {"weighed_net": {"value": 9, "unit": "kg"}}
    device.kept({**tip, **right})


def told_anew(device, tip):
    device.kept(device.what("tipped", "12:42", **device.site()))
    assert tip["id"]


def taken_back(device, tip):
    device.kept(device.what("undo", "12:50", undoes=tip["id"]))


def recorded_by_the_office(device, tip):
    jobs = device.client.get("/jobs").json["items"]
    (cut,) = [one["id"] for one in jobs if one["state"] == "mown"]
    load = {**device.site(), "vehicle_id": device.ids["vehicles"], "done_at": tip["at"]}
    device.post("/loads", {**load, "parts": [{"job_id": cut}]})


@pytest.mark.parametrize("settle", [mended, told_anew, taken_back, recorded_by_the_office])
def test_it_leaves_when_it_is_told_again_or_taken_back(aboard, settle):
    tip = too_heavy(aboard)
    aboard.refused(tip)
    assert len(asked(aboard)) == 1
    aboard.later(minutes=1)
    settle(aboard, tip)
    assert asked(aboard) == []


def test_what_was_kept_before_it_does_not_settle_it(aboard):
    aboard.kept(aboard.what("tipped", "12:38", **aboard.site()))
    aboard.later(minutes=1)
    aboard.refused(too_heavy(aboard))
    assert len(asked(aboard)) == 1


def test_one_that_could_not_even_be_read_is_told_as_far_as_it_can(aboard):
    aboard.refused({**aboard.what("tipped", "12:41", **aboard.site()), "remarks": 7})
    (item,) = asked(aboard)
    assert "12:41" in item["sentence"]
