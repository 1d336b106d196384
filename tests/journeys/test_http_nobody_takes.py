"""A dispatcher's day of which nobody takes anything is told like any other, over HTTP."""

import jsonschema
import pytest

from service.api.work.days.routing_shape import ROUTING
from tests.worlds import furnish, make_world

SUNDAY = "2026-05-24"
ANY_VERSION = {"If-Match": "*"}


@pytest.fixture
def yard():
    """Return a firm whose only place is a compost site that is closed on the day."""
    yard = furnish(make_world())
    for path in ("beds", "hold-bays"):
        answer = yard.client.delete(f"/{path}/{yard.ids[path]}", headers=ANY_VERSION)
        assert answer.status_code == 204, answer.text
    return yard


def routing(yard):
    answer = yard.client.get(f"/days/{SUNDAY}/routing?depot_id={yard.ids['depots']}")
    assert answer.status_code == 200, answer.text
    jsonschema.Draft202012Validator(ROUTING).validate(answer.json["routing"])
    return answer.json["routing"]


def posted(yard, **fields):
    answer = yard.client.post("/jobs", json=yard.job(**fields))
    assert answer.status_code == 201, answer.text
    return answer.json["id"]


def test_what_is_cut_on_a_sunday_when_all_is_closed_is_unplaced_and_the_reason_told(yard):
    job = posted(yard)
    told = routing(yard)
    assert [lot["outcome"] for lot in told["lots"]] == ["unplaced"]
    assert [item["reasons"] for item in told["unplaced"]] == [["site_closed_day: 1 destination"]]
    why = yard.client.get(f"/jobs/{job}/why")
    assert why.status_code == 200, why.text


def test_a_firm_without_any_place_on_record_is_told_so(yard):
    answer = yard.client.delete(f"/compost-sites/{yard.ids['compost-sites']}", headers=ANY_VERSION)
    assert answer.status_code == 204, answer.text
    posted(yard)
    (item,) = routing(yard)["unplaced"]
    assert item["reasons"] == [
        "no_destination: the firm has no bed, no compost site and no hold bay on record"
    ]


def test_such_a_day_can_be_searched_supposed_and_ordered_and_ends_when_a_bay_comes(yard):
    posted(yard)
    posted(yard, state="planned", cut_at=None, planned_at=f"{SUNDAY}T14:00:00+01:00")
    day = {"depot_id": yard.ids["depots"], "day": SUNDAY}
    for path, status in (("/day-plans", 201), ("/what-ifs", 200), ("/order-proposals", 200)):
        answer = yard.client.post(path, json=day)
        assert answer.status_code == status, answer.text
    assert routing(yard)["unplaced"]
    bay = {"depot_id": yard.ids["depots"], "name": "Bay", "volume_m3": 8.0}
    assert yard.client.post("/hold-bays", json=bay).status_code == 201
    told = routing(yard)
    assert told["unplaced"] == []
    assert {lot["outcome"] for lot in told["lots"]} <= {"hold", "leave_on_lawn"}
