"""A dispatcher's telephone rings: what moved, and what if."""

from tests.worlds import furnish, make_world

DAY = "2026-05-24"


def test_a_supposed_closure_and_a_real_change_are_told_lot_by_lot():
    world = make_world()
    yard = furnish(world)
    client, ids = yard.client, yard.ids
    assert client.post("/jobs", json=yard.job()).status_code == 201
    first = client.post("/day-plans", json={"depot_id": ids["depots"], "day": DAY})
    assert first.status_code == 201, first.text
    supposed = client.post(
        "/what-ifs",
        json={
            "depot_id": ids["depots"],
            "day": DAY,
            "closed_site_ids": [ids["compost-sites"]],
            "rain": True,
        },
    )
    assert supposed.status_code == 200, supposed.text
    assert supposed.json["cost_cents"]["before"] == first.json["cost_cents"]
    assert client.post("/jobs", json=yard.job()).status_code == 201
    again = client.get(f"/days/{DAY}/routing?depot_id={ids['depots']}").json
    changes = client.get(f"/day-plans/{again['id']}/changes").json
    assert changes["since_id"] == first.json["id"]
    assert "lot_new" in {moved["code"] for moved in changes["moved"]}


def test_supposing_a_stranger_names_it():
    world = make_world()
    yard = furnish(world)
    answer = yard.client.post(
        "/what-ifs",
        json={
            "depot_id": yard.ids["depots"],
            "day": DAY,
            "closed_site_ids": [yard.ids["depots"]],
        },
    )
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["/closed_site_ids/0"]
