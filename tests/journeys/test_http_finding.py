"""The day's papers are found over HTTP: by day, lot, vehicle, place and answer, bad words named."""

from tests.worlds import work


def found(client, path):
    answer = client.get(path)
    assert answer.status_code == 200, answer.text
    return {item["id"] for item in answer.json["items"]}


def test_a_dispatcher_finds_the_days_papers_in_one_request_each(yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    lot = client.get(f"/jobs/{ids['jobs']}").json["lot_code"]
    today = found(client, f"/jobs?day=today&depot_id={ids['depots']}")
    assert ids["jobs"] in today
    assert len(today) == 2
    assert found(client, "/jobs?day=2026-05-24") == today
    assert found(client, "/jobs?day=2026-05-23") == set()
    assert found(client, f"/jobs?lot_code={lot}") == {ids["jobs"]}
    bed = client.get(f"/loads/{ids['loads']}").json["destination_id"]
    assert found(client, f"/jobs?day=today&destination_id={bed}") == {ids["jobs"]}
    assert ids["loads"] in found(client, f"/loads?day=today&lot_code={lot}")
    assert found(client, "/loads?answer=awaited") == {ids["loads"]}
    assert found(client, "/loads?answer=refused") == set()
    assert found(client, f"/delivery-notes?day=today&answer=awaited&destination_id={bed}") == {
        ids["delivery-notes"]
    }
    entry = client.get(f"/hold-entries/{ids['hold-entries']}").json
    held = f"/hold-entries?day=today&lot_code={entry['lot_codes'][0]}"
    assert ids["hold-entries"] in found(client, held)
    assert ids["hold-entries"] not in found(client, f"/hold-entries?lot_code={lot}")


def test_every_bad_filter_is_named_at_once(yard):
    answer = yard.client.get("/loads?day=yesterday&state=lost&vehicle_id=7&answer=yes&colour=green")
    assert answer.status_code == 422
    assert {fault["parameter"].partition(".")[0] for fault in answer.json["errors"]} == {
        *("day", "state", "vehicle_id", "answer", "colour")
    }


def test_a_record_that_has_a_day_of_its_own_is_found_by_it(yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    outage = client.get(f"/vehicle-outages/{ids['vehicle-outages']}").json
    assert found(client, f"/vehicle-outages?day={outage['day']}") == {outage["id"]}
    assert ids["day-plans"] in found(client, "/day-plans?day=2026-05-24")
    assert ids["mass-movements"] in found(client, "/mass-movements?day=2026-05-24")
