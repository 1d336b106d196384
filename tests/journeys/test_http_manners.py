"""The manners of HTTP, over both databases: retries, versions, pages, batches."""

import json
from concurrent.futures import ThreadPoolExecutor

import pytest

from service.usecases.base.idempotency import UNFINISHED_LEASE
from service.usecases.base.ports.kept_answers import KeptAnswer


def once(key):
    return {"Idempotency-Key": key}


def test_a_replay_returns_the_first_answer_byte_for_byte(yard):
    first = yard.client.post("/jobs", json=yard.job(), headers=once("k1"))
    again = yard.client.post("/jobs", json=yard.job(), headers=once("k1"))
    assert first.status_code == again.status_code == 201
    assert again.data == first.data
    for header in ("Location", "ETag", "Content-Type"):
        assert again.headers[header] == first.headers[header]
    assert "Idempotency-Replayed" not in first.headers
    assert again.headers["Idempotency-Replayed"] == "true"
    assert len(yard.client.get("/jobs").json["items"]) == 1


def test_a_refusal_is_replayed_too(yard):
    faulty = yard.job(area_mowed={"value": -1, "unit": "m2"})
    first = yard.client.post("/jobs", json=faulty, headers=once("k2"))
    again = yard.client.post("/jobs", json=faulty, headers=once("k2"))
    assert first.status_code == again.status_code == 422
    assert again.data == first.data


@pytest.mark.parametrize("other", ["body", "path"])
def test_the_same_key_with_another_request_is_refused(yard, other):
    yard.client.post("/jobs", json=yard.job(), headers=once("k3"))
    requests = {
        "body": ("/jobs", yard.job(wetness="lush")),
        "path": ("/jobs/batches", yard.job()),
    }
    path, body = requests[other]
    answer = yard.client.post(path, json=body, headers=once("k3"))
    assert answer.status_code == 422
    assert answer.json["code"] == "idempotency_key_reused"


def test_the_same_request_written_otherwise_is_the_same_request(yard):
    body = yard.job(area_mowed={"value": 450, "unit": "m2"})
    first = yard.client.post("/jobs", json=body, headers=once("k3"))
    assert first.status_code == 201
    written = json.dumps(dict(reversed(body.items())), indent=3).replace("450", "450.0")
    kind = "application/json; charset=utf-8"
    again = yard.client.post("/jobs", data=written, content_type=kind, headers=once("k3"))
    assert (again.status_code, again.data) == (201, first.data)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert len(yard.client.get("/jobs").json["items"]) == 1


def test_what_cannot_be_read_is_the_same_only_byte_for_byte(yard):
    for written, code in (("{", "body_not_json"), ("{ ", "idempotency_key_reused")):
        answer = yard.client.post(
            "/jobs", data=written, content_type="application/json", headers=once("k3")
        )
        assert answer.json["code"] == code


@pytest.mark.parametrize("depth", [300, 600, 900, 5000])
def test_what_is_nested_too_deeply_is_refused_with_a_key_as_without(yard, depth):
    deep = "[" * depth + "]" * depth
    for headers in ({}, once("k3")):
        answer = yard.client.post(
            "/jobs", data=deep, content_type="application/json", headers=headers
        )
        assert answer.status_code in {400, 422}


def test_the_same_key_with_another_query_is_refused(yard):
    for depot_id, code in (
        (yard.ids["depots"], None),
        (yard.ids["beds"], "idempotency_key_reused"),
    ):
        closing = f"/days/2026-05-23/closing?depot_id={depot_id}"
        answer = yard.client.post(closing, json={}, headers=once("k3"))
        assert answer.json.get("code") == code


@pytest.mark.parametrize("key", ["", "a b", "ü", "x" * 256, "a\tb"])
def test_a_key_is_visible_ascii_of_at_most_255_characters(yard, key):
    answer = yard.client.post("/jobs", json=yard.job(), headers=once(key))
    assert answer.status_code == 422
    assert answer.json["errors"][0]["header"] == "Idempotency-Key"


def test_while_the_first_try_is_unfinished_the_second_is_asked_to_wait(world, yard):
    kept = yard.client.post("/jobs", json=yard.job(), headers=once("k4"))
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        finished = unit.answers.get(firm.id, "k4")
    unfinished = KeptAnswer(
        firm_id=firm.id,
        key="k5",
        request_sha256=finished.request_sha256,
        seed_id=finished.seed_id,
        started_at=world.clock.now(),
    )
    with world.open_unit_of_work() as unit:
        unit.answers.begin(unfinished)
        unit.commit()
    waiting = yard.client.post("/jobs", json=yard.job(), headers=once("k5"))
    assert waiting.status_code == 409
    assert waiting.headers["Retry-After"] == "1"
    world.clock.at += UNFINISHED_LEASE
    # The first try died after it kept its job: the second finds that very job.
    finds = yard.client.post("/jobs", json=yard.job(), headers=once("k5"))
    assert finds.status_code == 201
    assert finds.json["id"] == kept.json["id"]
    assert len(yard.client.get("/jobs").json["items"]) == 1


def test_of_many_at_once_with_one_key_one_keeps_a_record(world, yard):
    bearer = yard.client.environ_base["HTTP_AUTHORIZATION"]

    def post(_):
        client = world.app.test_client()
        headers = {**once("k6"), "Authorization": bearer}
        return client.post("/clients", json={"name": "R. Alvarez"}, headers=headers)

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(post, range(8)))
    assert {answer.status_code for answer in answers} <= {201, 409}
    assert len({answer.json["id"] for answer in answers if answer.status_code == 201}) == 1
    assert len(yard.client.get("/clients?name=R. Alvarez").json["items"]) == 2


def test_an_amendment_says_which_version_it_is_meant_for(yard):
    place = f"/crews/{yard.ids['crews']}"
    etag = yard.client.get(place).headers["ETag"]
    assert etag == '"1"'
    without = yard.client.patch(place, json={"name": "Crew 4"})
    assert without.status_code == 428
    fresh = yard.client.patch(place, json={"name": "Crew 4"}, headers={"If-Match": etag})
    assert fresh.status_code == 200
    assert fresh.headers["ETag"] == '"2"'
    for stale in (etag, 'W/"2"', '"x"', ""):
        overtaken = yard.client.patch(place, json={"name": "5"}, headers={"If-Match": stale})
        assert overtaken.status_code == 412
        assert overtaken.json["code"] == "version_overtaken"
    for good in ('"1", "2"', "*"):
        answer = yard.client.patch(place, json={"lead": good}, headers={"If-Match": good})
        assert answer.status_code == 200 or good != "*"
    assert yard.client.get(place).json["name"] == "Crew 4"


def test_a_version_that_is_known_is_not_sent_again(yard):
    place = f"/crews/{yard.ids['crews']}"
    etag = yard.client.get(place).headers["ETag"]
    known = yard.client.get(place, headers={"If-None-Match": etag})
    assert known.status_code == 304
    assert known.data == b""
    assert known.headers["ETag"] == etag
    assert yard.client.get(place, headers={"If-None-Match": '"0"'}).status_code == 200


def test_a_patch_changes_what_it_names_and_nothing_else(yard):
    place = f"/beds/{yard.ids['beds']}"
    before = yard.client.get(place).json
    patch = {
        "area": {"value": 3},
        "consent": {"state": "withdrawn", "given_on": None},
        "drainage": None,
        "sensitive_plants": "tomatoes",
    }
    answer = yard.client.patch(
        place,
        json=patch,
        headers={"If-Match": "*", "Change-Reason": "Kunde wünscht es".encode().decode("latin-1")},
    )
    assert answer.status_code == 200, answer.text
    after = answer.json
    assert after["area"] == {"value": 3, "unit": "m2"}
    assert after["area_m2"] == 3
    assert after["consent"]["state"] == "withdrawn"
    assert after["consent"]["given_on"] is None
    assert after["consent"]["expires_on"] == before["consent"]["expires_on"]
    assert after["drainage"] == "unknown"
    changed = {"area", "area_m2", "consent", "drainage", "sensitive_plants", "version"}
    same = before.keys() - changed - {"updated_at"}
    assert {name: after[name] for name in same} == {name: before[name] for name in same}
    (entry,) = yard.client.get(f"{place}/history").json["items"]
    assert entry["reason"] == "Kunde wünscht es"
    assert set(entry["changes"]) == {"area", "consent", "drainage", "sensitive_plants"}
    assert entry["changes"]["area"] == {
        "was": {"value": 30, "unit": "m2"},
        "became": {"value": 3, "unit": "m2"},
    }


@pytest.mark.parametrize(
    ("patch", "where"),
    [
        ({"colour": "red"}, "/colour"),
        ({"colour": None}, "/colour"),
        ({"name": None}, "/name"),
        ({"id": "5"}, "/id"),
        ({"version": 7}, "/version"),
        ({"firm_id": None}, "/firm_id"),
        ({"area": {"unit": "kg"}}, "/area/unit"),
        ({"area": None}, "/area"),
        ({"consent": {"state": "maybe"}}, "/consent/state"),
    ],
)
def test_a_patch_is_refused_as_a_new_record_would_be(yard, patch, where):
    place = f"/beds/{yard.ids['beds']}"
    answer = yard.client.patch(place, json=patch, headers={"If-Match": "*"})
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == [where]


def test_an_empty_patch_is_an_amendment_that_changes_nothing(yard):
    place = f"/crews/{yard.ids['crews']}"
    before = yard.client.get(place).json
    answer = yard.client.patch(place, json={}, headers={"If-Match": "*"})
    assert answer.status_code == 200
    assert answer.json["name"] == before["name"]


def test_a_list_is_read_to_its_end_a_page_at_a_time(yard):
    for number in range(7):
        body = {"depot_id": yard.ids["depots"], "name": f"Crew {number}"}
        assert yard.client.post("/crews", json=body).status_code == 201
    address, seen, pages = f"/crews?limit=3&depot_id={yard.ids['depots']}", [], 0
    while address is not None:
        page = yard.client.get(address).json
        assert len(page["items"]) <= 3
        seen += [crew["id"] for crew in page["items"]]
        address, pages = page["next"], pages + 1
    assert pages == 3
    assert len(set(seen)) == len(seen) == 8
    assert seen == sorted(seen)


def test_a_filter_may_be_repeated(yard):
    for state in ("mown", "cancelled"):
        yard.client.post("/jobs", json=yard.job(state=state))
    found = yard.client.get("/jobs?state=mown&state=cancelled").json["items"]
    assert {job["state"] for job in found} == {"mown", "cancelled"}
    assert [j["state"] for j in yard.client.get("/jobs?state=mown").json["items"]] == ["mown"]
    assert yard.client.get("/jobs?state=planned").json["items"] == []


def test_in_a_batch_good_rows_are_kept_and_bad_rows_say_why(yard):
    own_id = "0192f0c1-2b3c-7def-8123-456789abcdef"
    rows = [
        yard.job(id=own_id),
        yard.job(area_mowed={"value": 1e9, "unit": "m2"}, colour="green"),
        "no object",
        yard.job(crew_id=own_id),
        yard.job(id=own_id, wetness="lush"),
        yard.job(id=own_id),
        yard.job(),
    ]
    answer = yard.client.post("/jobs/batches", json={"jobs": rows}, headers=once("b1"))
    assert answer.status_code == 200
    told = answer.json["rows"]
    assert [row["index"] for row in told] == list(range(7))
    assert [row["status"] for row in told] == [201, 422, 422, 422, 409, 201, 201]
    assert told[0]["job"]["id"] == told[5]["job"]["id"] == own_id
    faults = {fault["pointer"] for fault in told[1]["problem"]["errors"]}
    assert faults == {"/area_mowed/value", "/colour"}
    assert told[3]["problem"]["errors"][0]["pointer"] == "/crew_id"
    assert told[4]["problem"]["code"] == "record_exists"
    assert len(yard.client.get("/jobs").json["items"]) == 2
    again = yard.client.post("/jobs/batches", json={"jobs": rows}, headers=once("b1"))
    assert again.data == answer.data


@pytest.mark.parametrize("rows", [[], [{}] * 501, None, {}, "x"])
def test_a_batch_holds_1_to_500_rows(yard, rows):
    answer = yard.client.post("/jobs/batches", json={"jobs": rows})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/jobs"


def test_a_record_that_is_named_is_not_deleted_and_one_that_is_not_is(yard):
    any_version = {"If-Match": "*"}
    place = f"/depots/{yard.ids['depots']}"
    kept = yard.client.delete(place, headers=any_version)
    assert kept.status_code == 409
    assert kept.json["code"] == "record_in_use"
    assert yard.client.get(place).json["version"] == 1
    place = f"/compost-sites/{yard.ids['compost-sites']}"
    assert yard.client.delete(place).status_code == 428
    gone = yard.client.delete(place, headers=any_version)
    assert gone.status_code == 204
    assert gone.data == b""
    assert yard.client.get(place).status_code == 404
    assert yard.client.delete(place, headers=any_version).status_code == 404


def test_head_answers_like_get_without_a_body(yard):
    place = f"/crews/{yard.ids['crews']}"
    got, head = yard.client.get(place), yard.client.head(place)
    assert head.status_code == 200
    assert head.data == b""
    for header in ("ETag", "Content-Type", "Content-Length"):
        assert head.headers[header] == got.headers[header]


def test_a_job_changes_the_days_routing_and_the_client_answers_its_note(world, yard):
    client, depot = yard.client, yard.ids["depots"]
    address = f"/days/today/routing?depot_id={depot}"
    assert client.get(address).status_code == 404
    small = {"value": 60, "unit": "m2"}
    job = client.post("/jobs", json=yard.job(area_mowed=small)).json
    routing = client.get(address)
    (lot,) = routing.json["routing"]["lots"]
    assert lot["job_id"] == job["id"]
    assert lot["outcome"] == "routed"
    known = client.get(address, headers={"If-None-Match": routing.headers["ETag"]})
    assert known.status_code == 304
    map_ = client.get(address, headers={"Accept": "application/geo+json"})
    assert map_.mimetype == "application/geo+json"
    assert {feature["properties"]["feature"] for feature in map_.json["features"]} == {
        "stop",
        "way",
        "destination",
    }
    assert client.get(address.replace("routing?", "routing.geojson?")).data == map_.data
    client.post("/jobs", json=yard.job(area_mowed=small, lawn_id=yard.another_lawn()))
    assert len(client.get(address).json["routing"]["lots"]) == 2
    (load, *_) = client.get("/loads?destination_kind=bed&state=planned").json["items"]
    issued = client.post(f"/loads/{load['id']}/delivery-notes", headers=once("n1"))
    assert issued.status_code == 201
    note = issued.json
    page = note["links"]["page"].removeprefix("http://127.0.0.1:8080")
    anybody = world.app.test_client()
    shown = anybody.get(page)
    assert shown.status_code == 200
    assert note["number"] in shown.text
    assert shown.headers["Cache-Control"] == "no-store"
    decorated = anybody.get(
        f"{page}?language=pl&fbclid=x", headers={"Accept": "text/html,*/*;q=0.1"}
    )
    assert decorated.status_code == 200
    assert '<html lang="pl">' in decorated.text
    cut_short = anybody.get(f"{page[:-1]}-", headers={"Accept": "text/html,*/*;q=0.1"})
    assert (cut_short.status_code, cut_short.mimetype) == (404, "text/html")
    nameless = anybody.post(f"{page}/acknowledgement", data={"answer": "refused"})
    assert (nameless.status_code, nameless.mimetype) == (422, "text/html")
    form = {"answer": "received_and_checked", "signed_by": "R. Alvarez", "reason": "", "version": 1}
    answered = anybody.post(f"{page}/acknowledgement", data=form)
    assert answered.status_code == 303
    assert answered.headers["Location"] == f"{page}#acknowledge"
    read = client.get(f"/delivery-notes/{note['id']}").json
    assert read["acknowledgement"]["name"] == "R. Alvarez"
    paper = client.get(f"/delivery-notes/{note['id']}.pdf?paper=us-letter")
    assert paper.data.startswith(b"%PDF-")
    delivered = client.patch(
        f"/loads/{load['id']}",
        json={
            "state": "delivered",
            "weighed_net": {"value": 40, "unit": "[lb_av]"},
            "weigh_ticket": "W-1",
        },
        headers={"If-Match": "*"},
    )
    assert delivered.status_code == 200, delivered.text
    assert delivered.json["weighed_net_kg"] == pytest.approx(18.14369, abs=5e-6)
    back = client.patch(
        f"/loads/{load['id']}", json={"state": "planned"}, headers={"If-Match": "*"}
    )
    assert back.status_code == 409
    assert back.json["code"] == "answered_by_client"


def test_an_amendment_that_changes_nothing_makes_no_version_and_no_history(yard):
    path = f"/lawns/{yard.ids['lawns']}"
    kept = yard.client.get(path)
    same = {"name": kept.json["name"]}
    again = yard.client.patch(path, json=same, headers={"If-Match": kept.headers["ETag"]})
    assert (again.status_code, again.headers["ETag"]) == (200, kept.headers["ETag"])
    assert yard.client.get(f"{path}/history").json["items"] == []
    stale = yard.client.patch(path, json=same, headers={"If-Match": '"9"'})
    assert stale.status_code == 412
