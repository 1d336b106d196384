"""The dispatcher asks whether another order of the lawns saves something, and takes it."""

import re

import pytest

from tests.journeys.test_http_ordering import DAY, lawns, post, routing
from tests.screens import OURS
from tests.worlds import furnish

PLACE = "/screens/day/orders"


@pytest.fixture
def yard(world):
    """Return a day on which a weedy lawn stands between two clean ones."""
    yard = furnish(world)
    depot = f"/depots/{yard.ids['depots']}"
    yard.client.patch(depot, json={"crew_minute_cents": 60}, headers={"If-Match": "*"})
    clean = {"treatment_history": "none_recorded"}
    for number, lawn in enumerate(lawns(yard, 3)):
        at = f"{DAY}T{9 + number:02}:00:00+01:00"
        post(yard, lawn, planned_at=at, weeds_in_seed=number == 1, **clean)
    routing(yard)
    return yard


def asked(yard, **more):
    return {"depot": yard.ids["depots"], "day": DAY, **more}


def rows_of(page):
    return re.findall(r'name="(vehicle|job-[^"]+)" value="([^"]+)"', page)


def test_a_better_order_is_shown_with_what_it_saves_and_taken_whole(yard, office):
    page = office.get(f"{PLACE}?depot={yard.ids['depots']}&day={DAY}").text
    assert "better mown last" in page
    told = office.post(PLACE, data=asked(yard), headers=OURS).text
    assert re.search(r"The day would cost [\d.]+ GBP less", told)
    assert "no longer lie in one body with something worse" in told
    assert told.index("<em>(weedy)</em>") > told.index("House 2")
    before = routing(yard)["cost_cents"]
    form = asked(yard)
    for name, value in rows_of(told):
        form.setdefault(name, []).append(value)
    taken = office.post(f"{PLACE}/taken", data=form, headers=OURS)
    assert taken.status_code == 303
    after = routing(yard)
    assert after["cost_cents"] < before
    (vehicle,) = after["routing"]["vehicles"]
    driven = [stop["property"] for stop in vehicle["stops"] if stop["kind"] == "job"]
    assert driven[-1] == "House 1"
    again = office.post(PLACE, data=asked(yard), headers=OURS).text
    assert "No other order is worth it" in again


def test_an_order_that_was_overtaken_changes_no_job(yard, office):
    told = office.post(PLACE, data=asked(yard), headers=OURS).text
    form = asked(yard)
    for name, value in rows_of(told):
        form.setdefault(name, []).append(value)
    rows = next(value for name, value in form.items() if name.startswith("job-"))
    overtaken = rows[-1].split()[0]
    change = {"minutes_on_site": 45}
    yard.client.patch(f"/jobs/{overtaken}", json=change, headers={"If-Match": "*"})
    before = [yard.client.get(f"/jobs/{row.split()[0]}").json for row in rows]
    assert office.post(f"{PLACE}/taken", data=form, headers=OURS).status_code == 412
    assert [yard.client.get(f"/jobs/{row.split()[0]}").json for row in rows] == before


@pytest.mark.parametrize("row", ["", "x", "x y z", "0 1 2026-05-25T09:00:00"])
def test_what_was_never_proposed_is_refused(yard, office, row):
    form = asked(yard, vehicle="v", **{"job-v": row})
    assert office.post(f"{PLACE}/taken", data=form, headers=OURS).status_code == 422
