"""A day is closed on its screen: with a balance that adds up, what is open, and what comes late."""

import re

from tests.crews import DAY
from tests.screens import OURS, joined


def form(yard, **more):
    return {"depot": yard.ids["depots"], "day": DAY, **more}


def delivered(yard, **more):
    load = f"/loads/{yard.ids['loads']}"
    change = {"state": "delivered", **more}
    answer = yard.client.patch(load, json=change, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text
    return answer.json


def test_a_day_is_closed_as_it_is_read_and_a_weight_that_comes_later_is_listed(yard, office):
    at = f"/screens/close?depot={yard.ids['depots']}&day={DAY}"
    delivered(yard)
    before = office.get(at).text
    assert "It adds up" in before
    closed = office.post("/screens/close", data=form(yard, remarks="Two too wet."), headers=OURS)
    assert closed.status_code == 303, closed.text
    by_api = yard.client.get(f"/days/{DAY}/closing?depot_id={yard.ids['depots']}").json
    assert by_api["remarks"] == "Two too wet."
    page = office.get(closed.location).text
    for item in by_api["content"]["still_open"]:
        assert item["sentence"][:30] in before
    assert "Nothing was entered of it since" in page
    delivered(yard, weighed_net={"value": 20, "unit": "kg"}, weigh_ticket="W-9")
    late = yard.client.get(f"/days/{DAY}/closing?depot_id={yard.ids['depots']}").json["late"]
    page = office.get(at).text
    assert late != []
    assert f"{len(late)} entr" in page
    assert "Two too wet." in page


def test_the_balance_of_a_day_is_that_of_the_book_and_adds_up_to_nothing(yard, office):
    delivered(yard)
    told = yard.client.get(f"/days/{DAY}/mass-balance?depot_id={yard.ids['depots']}")
    rows = told.json["balances"]
    assert abs(sum(row["counted_kg"] for row in rows)) < 0.1
    page = office.get(f"/screens/close?day={DAY}").text
    cells = re.findall(r'<td class="number">([^<]+)</td>', page)
    cut = sum(row["counted_kg"] for row in rows if row["place_kind"] == "lawn")
    assert cells[0] == f"less {-cut:.0f} kg"


def test_a_day_that_has_not_begun_is_not_closed_and_a_crew_closes_none(world, yard, office):
    ahead = office.post(
        "/screens/close",
        data={"depot": yard.ids["depots"], "day": "2026-05-30"},
        headers={**OURS, "Accept": "text/html"},
    )
    assert ahead.status_code == 422
    assert "has not begun" in ahead.text
    crew = joined(world, yard, "crew", crew_id=yard.ids["crews"])
    assert crew.post("/screens/close", data=form(yard), headers=OURS).status_code == 403
