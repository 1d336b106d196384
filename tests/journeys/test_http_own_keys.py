"""A key of one crew, site or client opens what is theirs; what is others' is not there for it."""

from datetime import timedelta
from uuid import UUID

import pytest

from service.api.books import clients, crews
from service.core.callers.access import Role
from tests.worlds import furnish, make_world, work

ANY = {"If-Match": "*"}
SECRETS_OF_OTHERS = ("+44 1632 960700", "Featherstonehaugh", "side gate", "someone@example.org")


@pytest.fixture(scope="module")
def world():
    return make_world()


@pytest.fixture(scope="module")
def firm_id(world):
    return world.firm()


@pytest.fixture(scope="module")
def yard(world, firm_id):
    return work(furnish(world, firm_id))


@pytest.fixture(scope="module")
def others(yard):
    """Return another crew with its own vehicle, client, job and load."""
    ids, post = yard.ids, yard.client.post
    told = {
        **clients.CLIENTS.example,
        "name": "Mx Featherstonehaugh",
        "phone": SECRETS_OF_OTHERS[0],
    }
    client = post("/clients", json={**told, "email": SECRETS_OF_OTHERS[3]}).json["id"]
    home = {**clients.PROPERTIES.example, "client_id": client, "access_notes": "side gate 1234"}
    home = post("/properties", json={**home, "name": "Featherstonehaugh"}).json["id"]
    lawn = post("/lawns", json={**clients.LAWNS.example, "property_id": home}).json["id"]
    vehicle = {**crews.VEHICLES.example, "depot_id": ids["depots"], "registration": "ZZ99 ZZZ"}
    vehicle = post("/vehicles", json=vehicle).json["id"]
    crew = {**crews.CREWS.example, "depot_id": ids["depots"], "vehicle_id": vehicle}
    crew = post("/crews", json=crew).json["id"]
    body = yard.job(lawn_id=lawn, crew_id=crew, vehicle_id=vehicle, area_mowed=SMALL)
    job = post("/jobs", json=body).json["id"]
    wanted = {"depot_id": ids["depots"], "day": "2026-05-24"}
    assert post("/day-plans", json=wanted).status_code == 201
    (load, *_) = yard.client.get(f"/loads?crew_id={crew}&state=planned").json["items"]
    named = {"clients": client, "lawns": lawn, "crews": crew, "vehicles": vehicle, "jobs": job}
    return {**named, "properties": home, "loads": load["id"]}


SMALL = {"value": 60, "unit": "m2"}


@pytest.fixture(scope="module")
def crew(world, firm_id, yard, others):
    assert others
    return world.client(firm_id, Role.CREW, crew_id=yard.ids["crews"])


def test_a_crew_reads_its_own_stops_and_what_it_needs_there(crew, yard, others):
    told = crew.get("/days/today/stops").json
    assert told["crew_id"] == yard.ids["crews"]
    assert told["office_phone"]
    jobs = {stop["job_id"] for stop in told["stops"] if stop["kind"] == "job"}
    assert yard.ids["jobs"] in jobs
    assert others["jobs"] not in jobs
    ahead = [stop for stop in told["stops"] if stop["kind"] == "drop" and not stop["done"]]
    assert ahead
    assert all(stop["place"]["address"] for stop in ahead if stop["destination_kind"] == "bed")
    assert all("explanation" not in stop and "fee_cents" not in stop for stop in ahead)


def test_a_crews_key_shows_nothing_of_another_crews_clients(crew, yard, others):
    seen = []
    for path in ("/clients", "/properties", "/lawns", "/beds", "/crews", "/vehicles", "/jobs"):
        answer = crew.get(path)
        assert answer.status_code == 403, path
        seen.append(answer.text)
    open_to_all = ("/days/today/routing", "/day-plans", "/hold-queue", "/delivery-notes")
    seen += [crew.get(path).text for path in (*open_to_all, "/days/today/stops")]
    where = f"?depot_id={yard.ids['depots']}"
    for path in (f"/jobs/{others['jobs']}", f"/loads/{others['loads']}"):
        assert crew.get(path).status_code == 404
    assert crew.get(f"/lawns/{others['lawns']}/pre-mow-check{where}").status_code == 404
    loads = crew.get("/loads").text
    assert others["loads"] not in loads
    for text in (*seen, loads):
        assert not any(secret in text for secret in SECRETS_OF_OTHERS)


def test_a_key_that_may_not_is_told_whose_may_and_what_to_do(crew, yard, world, firm_id):
    told = crew.get("/clients").json["detail"]
    assert "read what is the whole firm's" in told
    assert "one with the role owner, dispatcher or integrator may" in told
    assert "Ask the owner for such a key" in told
    (client_id,) = [one["id"] for one in yard.client.get("/clients").json["items"]][:1]
    client = world.client(firm_id, Role.CLIENT, client_id=client_id)
    told = client.get("/days/today/stops").json["detail"]
    assert "one of the whole firm, a crew or a vehicle may" in told


def test_a_crew_neither_locks_a_load_nor_reports_anothers(crew, yard, others):
    own = yard.client.get(f"/loads?crew_id={yard.ids['crews']}&state=planned").json["items"][0]
    locked = crew.patch(f"/loads/{own['id']}", json={"locked": True}, headers=ANY)
    assert (locked.status_code, locked.json["code"]) == (403, "not_allowed")
    assert "one of the whole firm may" in locked.json["detail"]
    under_way = {"state": "under_way"}
    assert crew.patch(f"/loads/{others['loads']}", json=under_way, headers=ANY).status_code == 404
    assert crew.post(f"/loads/{others['loads']}/delivery-notes").status_code == 404
    answer = crew.patch(f"/loads/{own['id']}", json=under_way, headers=ANY)
    assert answer.status_code == 200, answer.text
    assert answer.json["explanation"] == {}
    back = crew.patch(f"/loads/{own['id']}", json={"state": "planned"}, headers=ANY)
    assert back.status_code == 200


def test_a_crew_reports_its_own_work_and_no_other(crew, yard, others):
    kept = crew.post("/jobs", json=yard.job(area_mowed=SMALL))
    assert kept.status_code == 201, kept.text
    theirs = yard.job(crew_id=others["crews"], vehicle_id=others["vehicles"])
    refused = crew.post("/jobs", json=theirs)
    assert refused.status_code == 422
    (fault, *_) = refused.json["errors"]
    assert fault["code"] == "not_own"
    assert "the other crew or the office" in fault["detail"]
    rows = crew.post("/jobs/batches", json={"jobs": [theirs, yard.job(area_mowed=SMALL)]}).json
    assert [row["status"] for row in rows["rows"]] == [422, 201]
    moved = {"crew_id": others["crews"]}
    answer = crew.patch(f"/jobs/{kept.json['id']}", json=moved, headers=ANY)
    assert answer.status_code == 422
    changed = crew.patch(f"/jobs/{others['jobs']}", json={"remarks": "x"}, headers=ANY)
    assert changed.status_code == 404
    tip = {
        "vehicle_id": others["vehicles"],
        "crew_id": others["crews"],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": "2026-05-24T11:00:00Z",
        "parts": [{"job_id": others["jobs"]}],
    }
    faults = {fault["pointer"] for fault in crew.post("/loads", json=tip).json["errors"]}
    assert faults == {"/crew_id", "/parts/0/job_id"}


def test_a_vehicles_key_is_held_to_the_vehicle(world, firm_id, yard, others):
    driver = world.client(firm_id, Role.CREW, vehicle_id=others["vehicles"])
    told = driver.get("/days/today/stops").json
    assert told["registration"] == "ZZ99 ZZZ"
    assert driver.get(f"/loads/{others['loads']}").status_code == 200
    assert driver.get(f"/jobs/{yard.ids['jobs']}").status_code == 404


def test_a_site_sees_what_comes_to_it_and_says_what_became_of_it(world, firm_id, yard, others):
    site_id = yard.ids["compost-sites"]
    gate = world.client(firm_id, Role.SITE, compost_site_id=site_id)
    assert gate.get(f"/compost-sites/{site_id}").status_code == 200
    coming = gate.get("/loads").json["items"]
    assert all(load["destination_id"] == site_id for load in coming)
    bed = yard.client.get("/loads?destination_kind=bed").json["items"][0]["id"]
    assert gate.get(f"/loads/{bed}").status_code == 404
    assert gate.get(f"/loads?destination_id={yard.ids['beds']}").json["items"] == []
    assert gate.get("/days/today/stops").status_code == 403
    assert gate.get(f"/jobs/{others['jobs']}").status_code == 403


def test_a_client_reads_its_own_notes_and_changes_nothing(world, firm_id, yard, others):
    mine = world.client(firm_id, Role.CLIENT, client_id=yard.ids["clients"])
    theirs = world.client(firm_id, Role.CLIENT, client_id=others["clients"])
    note = yard.ids["delivery-notes"]
    assert [one["id"] for one in mine.get("/delivery-notes").json["items"]] == [note]
    assert mine.get(f"/delivery-notes/{note}").status_code == 200
    assert theirs.get("/delivery-notes").json["items"] == []
    assert theirs.get(f"/delivery-notes/{note}").status_code == 404
    assert theirs.get(f"/delivery-notes/{note}.pdf").status_code == 404
    assert mine.get("/loads").status_code == 403
    assert mine.post("/jobs", json=yard.job()).status_code == 403


def test_a_crews_key_from_before_keys_were_of_somebody_opens_nothing(world, firm_id):
    old = world.client(firm_id, Role.CREW, crew_id=None)
    answer = old.get("/rules")
    assert (answer.status_code, answer.json["code"]) == (403, "key_of_nobody")


def test_an_owner_makes_rotates_and_revokes_keys_and_a_dispatcher_does_not(world, firm_id, yard):
    dispatcher = world.client(firm_id, Role.DISPATCHER)
    wanted = {"role": "crew", "name": "App", "crew_id": yard.ids["crews"]}
    assert dispatcher.post("/keys", json=wanted).status_code == 403
    assert dispatcher.get("/keys").status_code == 403
    made = yard.client.post("/keys", json=wanted)
    assert made.status_code == 201, made.text
    assert made.headers["Cache-Control"] == "no-store"
    app = world.app.test_client()
    app.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {made.json['secret']}"
    assert app.get("/days/today/stops").json["crew_id"] == yard.ids["crews"]
    listed = {key["id"]: key for key in yard.client.get("/keys").json["items"]}
    assert listed[made.json["id"]]["last_used_at"] is not None
    assert made.json["secret"] not in yard.client.get("/keys").text
    place = f"/keys/{made.json['id']}"
    follower = yard.client.post(f"{place}/rotate", json={"overlap_hours": 1})
    assert follower.status_code == 201, follower.text
    assert follower.json["replaces_id"] == made.json["id"]
    newer = world.app.test_client()
    newer.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {follower.json['secret']}"
    assert {one.get("/days/today/stops").status_code for one in (app, newer)} == {200}
    world.clock.move(hours=2)
    assert [one.get("/rules").status_code for one in (app, newer)] == [401, 200]
    assert yard.client.post(f"{place}/rotate", json={}).json["code"] == "key_ended"
    ended = yard.client.post(f"/keys/{follower.json['id']}/revoke", json={})
    assert ended.json["revoked_at"] is not None
    assert newer.get("/rules").status_code == 401
    world.clock.move(hours=-2)


def test_a_key_that_ends_opens_nothing_afterwards(world, yard):
    until = (world.clock.now() + timedelta(hours=1)).isoformat()
    wanted = {"role": "integrator", "name": "Export", "expires_at": until}
    made = yard.client.post("/keys", json=wanted).json
    program = world.app.test_client()
    program.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {made['secret']}"
    assert program.get("/crews").status_code == 200
    world.clock.move(hours=1)
    assert program.get("/crews").status_code == 401
    world.clock.move(hours=-1)


@pytest.mark.parametrize("days", [None, 90])
def test_a_key_that_is_rotated_twice_in_its_overlap_lives_as_long_as_it_was_meant_to(
    world, yard, days
):
    meant = {}
    if days is not None:
        meant = {"expires_at": (world.clock.now() + timedelta(days=days)).isoformat()}
    made = yard.client.post("/keys", json={"role": "integrator", "name": "Export", **meant}).json
    place = f"/keys/{made['id']}/rotate"
    first = yard.client.post(place, json={"overlap_hours": 1}).json
    second = yard.client.post(place, json={"overlap_hours": 1}).json
    assert second["expires_at"] == first["expires_at"] == made["expires_at"]


def test_whose_a_key_is_must_fit_its_role_and_be_there(yard):
    def faults(**wanted):
        answer = yard.client.post("/keys", json={"name": "X", **wanted})
        assert answer.status_code == 422
        return {fault["pointer"] for fault in answer.json["errors"]}

    nobody = str(UUID(int=7))
    assert faults(role="crew") == {"/crew_id"}
    assert faults(role="crew", crew_id=nobody) == {"/crew_id"}
    both = {"crew_id": yard.ids["crews"], "vehicle_id": yard.ids["vehicles"]}
    assert faults(role="crew", **both) == {"/crew_id"}
    late = {"expires_at": "2020-01-01T00:00:00Z"}
    assert faults(role="owner", client_id=nobody, **late) == {"/client_id", "/expires_at"}


def test_a_key_that_is_used_all_day_costs_a_write_an_hour(world, firm_id):
    client = world.client(firm_id, Role.INTEGRATOR)
    client.get("/rules")
    with world.open_unit_of_work() as unit:
        first = max(key.last_used_at for key in unit.api_keys.all(firm_id) if key.last_used_at)
    world.clock.move(minutes=30)
    client.get("/rules")
    with world.open_unit_of_work() as unit:
        again = max(key.last_used_at for key in unit.api_keys.all(firm_id) if key.last_used_at)
    world.clock.move(minutes=-30)
    assert again == first


def test_a_secret_is_kept_for_no_retry(yard):
    wanted = {"role": "integrator", "name": "Export"}
    answer = yard.client.post("/keys", json=wanted, headers={"Idempotency-Key": "one"})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["header"] == "Idempotency-Key"
