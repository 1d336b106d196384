"""A recall freezes beds and lots, is worked off call by call, and leaves a file to hold."""

import hashlib
import json

from tests.worlds import work

DAY = "2026-05-24"


def test_a_recall_freezes_is_worked_off_and_leaves_a_file(yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    at = client.get(f"/loads/{ids['loads']}").headers["ETag"]
    tipped = {"state": "delivered"}
    load = client.patch(f"/loads/{ids['loads']}", json=tipped, headers={"If-Match": at}).json
    lot = client.get(f"/jobs/{ids['jobs']}").json["lot_code"]
    begun = client.post("/recalls", json={"lot_code": lot, "reason": "Aminopyralid was found."})
    assert begun.status_code == 201, begun.text
    recall = begun.json
    assert recall["frozen"]["bed_ids"] == [load["destination_id"]]
    assert recall["still_to_call"] == [0]
    path = f"/recalls/{recall['id']}"

    more = yard.job(area_mowed={"value": 55, "unit": "m2"})
    assert client.post("/jobs", json=more).status_code == 201
    routing = client.get(f"/days/{DAY}/routing?depot_id={ids['depots']}").json["routing"]
    going = [
        stop["destination_id"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and not stop["done"]
    ]
    assert load["destination_id"] not in going

    ticked = client.post(f"{path}/calls", json={"said": "=Will wait"})
    assert ticked.json["still_to_call"] == []
    assert client.post(f"{path}/calls", json={"number": 7}).status_code == 404
    file = client.get(f"{path}/evidence").json
    said = file.pop("sha256")
    plain = json.dumps(file, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert hashlib.sha256(plain.encode()).hexdigest() == said
    assert {entry["lot_code"] for entry in file["movements"]} == {lot}
    assert [call["said"] for call in file["calls"]] == ["=Will wait"]
    assert client.get("/recalls?is_open=true").json["items"][0]["id"] == recall["id"]
    assert client.post(f"{path}/end").json["is_open"] is False
    assert client.get("/recalls?is_open=true").json["items"] == []
    neither = client.post("/recalls", json={"reason": "?"})
    assert neither.status_code == 422
