"""One tip that gate and crew both tell is one, whoever tells it first and in whatever words."""

import pytest

from service.core.callers.access import Role
from tests.crews import NOW, aboard_kg, drops
from tests.devices import CLEAN

WEIGHED = {"weighed_net": {"value": 12, "unit": "kg"}, "weigh_ticket": "HG1"}


@pytest.fixture
def planned(device):
    """Mow a lawn, and return the planned load for the site that it becomes."""
    for books in ("beds", "hold-bays"):
        answer = device.client.delete(f"/{books}/{device.ids[books]}", headers=NOW)
        assert answer.status_code == 204, answer.text
    sundays = {"weekday": 6, "opens": "08:00", "closes": "17:00", "last_load": "16:30"}
    device.patch(f"/compost-sites/{device.ids['compost-sites']}", {"hours": [sundays]})
    (cut,) = device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    (drop,) = drops(device.read())
    device.later(hours=1)
    load = device.load(drop["load_id"])
    assert load["destination_kind"] == "compost_site"
    return {"cut": cut["job_id"], "id": load["id"]}


def gate_took(device, load, *, at="12:40", **said):
    """Let the gate say what came: all of it, if nothing is said."""
    body = {"state": "delivered", "done_at": device.clock(at), **said}
    answer = device.client.patch(f"/loads/{load['id']}", json=body, headers=NOW)
    assert answer.status_code == 200, answer.text


def ways(device, load):
    """Return how a crew may name what it tipped."""
    return {
        "place": device.site(),
        "load": {"load_id": load["id"]},
        "lots": {**device.site(), "parts": [{"job_id": load["cut"]}]},
    }


@pytest.mark.parametrize("way", ["place", "load", "lots"])
@pytest.mark.parametrize("minute", ["12:30", "12:40", "12:52"])
def test_a_crew_that_tells_what_its_gate_told_is_on_record_with_its_ticket(
    device, planned, way, minute
):
    gate_took(device, planned)
    tip = device.what("tipped", minute, **ways(device, planned)[way], **WEIGHED)
    (row,) = device.kept(tip)
    assert row["load_id"] == planned["id"]
    kept = device.load(planned["id"])
    assert (kept["state"], kept["weigh_ticket"]) == ("delivered", "HG1")
    (again,) = device.kept(device.what("tipped", minute, **ways(device, planned)[way]))
    assert "on record already" in again["sentence"]
    states = [one["state"] for one in device.client.get("/loads").json["items"]]
    assert states.count("delivered") == 1


@pytest.mark.parametrize("way", ["place", "lots"])
def test_a_gate_that_tells_what_the_crew_told_of_its_place_is_on_record(device, planned, way):
    (first,) = device.kept(device.what("tipped", "12:38", **ways(device, planned)[way]))
    told = device.what("tipped", "12:45", load_id=planned["id"], **WEIGHED)
    (row,) = device.kept(told)
    assert row["load_id"] == first["load_id"]
    assert device.load(first["load_id"])["weigh_ticket"] == "HG1"


def test_another_weight_is_no_repeat(device, planned):
    gate_took(device, planned, **WEIGHED)
    other = {"weighed_net": {"value": 11, "unit": "kg"}, "weigh_ticket": "HG2"}
    assert device.refused(device.what("tipped", "12:45", **device.site(), **other))
    assert device.load(planned["id"])["weigh_ticket"] == "HG1"


@pytest.mark.parametrize("named", [True, False])
def test_other_lots_that_were_aboard_by_then_are_a_second_tip(device, planned, named):
    gate_took(device, planned)
    (cut,) = device.kept(device.what("mown", "12:44", lawn_id=device.lawn("Back"), **CLEAN))
    lots = {"parts": [{"job_id": cut["job_id"]}]} if named else {}
    (row,) = device.kept(device.what("tipped", "12:50", **device.site(), **lots))
    assert row["load_id"] != planned["id"]
    assert [part["job_id"] for part in device.load(row["load_id"])["parts"]] == [cut["job_id"]]


def test_a_tip_an_hour_later_is_no_repeat(device, planned):
    device.later(hours=1)
    gate_took(device, planned)
    assert device.refused(device.what("tipped", "13:40", **device.site()))["code"] == (
        "nothing_aboard"
    )


@pytest.mark.parametrize("way", ["place", "load"])
def test_a_crew_that_says_all_was_tipped_where_its_gate_took_a_part_books_no_rest_there(
    device, planned, way
):
    gate_took(device, planned, state="partly_refused", refused_share=0.5, refusal_reason="Full")
    told = ways(device, planned)[way]
    assert device.refused(device.what("tipped", "12:44", **told))["code"] == "ended_otherwise"
    half_kg = aboard_kg(device.read())
    assert half_kg > 0
    assert device.load(planned["id"])["refused_share"] == 0.5
    # Who says why is heard; so is who brought the rest there later, or with a ticket of its own.
    device.kept(device.what("tipped", "12:44", **told, reason="They took the rest after all."))
    assert aboard_kg(device.read()) == 0
    assert device.load(planned["id"])["state"] == "delivered"


def test_the_rest_that_was_weighed_by_itself_is_a_second_tip(device, planned):
    gate_took(
        device, planned, state="partly_refused", refused_share=0.5, refusal_reason="Full", **WEIGHED
    )
    rest = {"weighed_net": {"value": 7, "unit": "kg"}, "weigh_ticket": "HG2"}
    (row,) = device.kept(device.what("tipped", "12:50", **device.site(), **rest))
    assert row["load_id"] != planned["id"]
    assert aboard_kg(device.read()) == 0


@pytest.mark.usefixtures("planned")
def test_a_crew_that_tells_of_two_tips_itself_forgot_a_cut(device):
    office = device.client
    with device.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
    device.client = device.world.client(firm.id, Role.CREW, crew_id=device.ids["crews"])
    (first,) = device.kept(device.what("tipped", "12:40", **device.site()))
    assert device.refused(device.what("tipped", "12:50", **device.site()))["code"] == (
        "nothing_aboard"
    )
    assert office.get(f"/loads/{first['load_id']}").json["state"] == "delivered"
