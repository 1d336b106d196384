"""A recall freezes beds and lots, is worked off call by call, and leaves a file to hold."""

import hashlib
import json

import pytest

from tests.crews import Crew
from tests.holds import Yard, drops
from tests.journeys.test_http_refused_for_cause import decisions
from tests.worlds import work

DAY = "2026-05-24"
WHY = {"Change-Reason": "It was there before anybody rang."}
REASON = "Aminopyralid was found."


def lot_of(yard, job):
    return yard.client.get(f"/jobs/{job}").json["lot_code"]


def recall(yard, job):
    """Begin the recall of a job's lot and return its path."""
    body = {"lot_code": lot_of(yard, job), "reason": REASON}
    return f"/recalls/{yard.post('/recalls', body)['id']}"


@pytest.fixture
def frozen_bed():
    """Return a yard whose bed got a lot that is recalled."""
    yard = Yard()
    job = yard.mow(yard.lawn("Front"), at="10:00")
    (drop,) = drops(yard.routing())
    assert drop["destination_kind"] == "bed"
    yard.world.clock.move(minutes=5)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    recall(yard, job)
    yard.world.clock.move(minutes=5)
    return yard


@pytest.mark.parametrize(
    "said",
    [
        {"released_as": "elsewhere", "released_to": "Hill Farm"},
        {"released_as": "liquid_feed"},
        {"released_as": "place"},
    ],
    ids=str,
)
def test_what_is_recalled_leaves_its_bay_only_when_the_recall_is_ended(said):
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    path = recall(yard, yard.held())
    yard.patch(yard.bed, {"consent": {"state": "given"}})
    yard.world.clock.move(minutes=10)
    if said["released_as"] == "place":
        named = {"to_id": yard.ids["beds"], "to_kind": "bed", "with_id": yard.ids["vehicles"]}
        said = said | {f"released_{name}": value for name, value in named.items()}
    entry = f"/hold-entries/{yard.entry()['hold_entry_id']}"
    headers = {"If-Match": "*", **WHY}
    release = {"state": "released", **said}
    answer = yard.client.patch(entry, json=release, headers=headers)
    assert (answer.status_code, answer.json["code"]) == (409, "release_refused")
    assert REASON in answer.json["detail"]
    assert "End the recall" in answer.json["detail"]
    yard.client.post(f"{path}/end")
    assert yard.client.patch(entry, json=release, headers=headers).status_code == 200


def test_of_a_recalled_heap_that_turns_no_way_is_offered_that_is_refused_next():
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    path = recall(yard, yard.held(at="10:00"))
    yard.world.clock.move(hours=6)

    def ways():
        told = f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}"
        found = yard.client.get(told).json["decisions"]
        (heap,) = [one for one in found if one["code"] in {"held_amber", "held_red"}]
        return {(way["method"], way["href"]) for way in heap["ways"]}

    entry = ("PATCH", f"/hold-entries/{yard.entry()['hold_entry_id']}")
    assert entry not in ways()
    assert ("GET", "/recalls") in ways()
    yard.client.post(f"{path}/end")
    assert entry in ways()


def test_what_is_held_is_not_released_to_a_frozen_bed(frozen_bed):
    yard = frozen_bed
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held(at="12:30")
    yard.patch(yard.bed, {"consent": {"state": "given"}})
    release = {
        "state": "released",
        "released_to_kind": "bed",
        "released_to_id": yard.ids["beds"],
        "released_with_id": yard.ids["vehicles"],
    }
    entry = f"/hold-entries/{yard.entry()['hold_entry_id']}"
    problem = yard.client.patch(entry, json=release, headers={"If-Match": "*", **WHY})
    assert problem.status_code == 409
    assert REASON in problem.json["detail"]


def test_a_tip_at_a_frozen_bed_is_refused_and_kept_with_a_reason_and_told(frozen_bed):
    yard = frozen_bed
    job = yard.mow(yard.lawn("Back"), at="13:07")
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": job}],
    }
    assert decisions(yard, "recall") == []
    refused = yard.client.post("/loads", json=tip)
    assert (refused.status_code, refused.json["code"]) == (409, "not_for_this_place")
    assert REASON in refused.json["detail"]
    load = yard.client.post("/loads", json=tip, headers=WHY)
    assert load.status_code == 201
    (told,) = decisions(yard, "recall")
    assert told["load_id"] == load.json["id"]
    assert REASON in told["sentence"]


def test_no_place_is_chosen_on_a_frozen_bed_and_the_recall_is_named(frozen_bed):
    yard = frozen_bed
    job = yard.mow(yard.lawn("Back"), at="12:30")
    choice = {"job_id": job, "destination_id": yard.ids["beds"]}
    refused = yard.client.post("/place-choices", json=choice, headers=WHY)
    assert (refused.status_code, refused.json["code"]) == (409, "place_refused")
    assert REASON in refused.json["detail"]
    assert "End the recall" in refused.json["detail"]


def codes(yard, job):
    """Return what each kind of place says to a job's lot, but for the bays."""
    verdicts = yard.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
    told = {said["destination_kind"]: said["code"] for said in verdicts}
    return {kind: code for kind, code in told.items() if kind != "hold_bay"}


@pytest.mark.parametrize("asked", ["lawn_id", "product"])
def test_what_is_cut_later_on_a_recalled_lawn_is_frozen_until_the_recall_is_ended(asked):
    yard = Yard()
    lawn = yard.lawn("Front")
    yard.treated(lawn, "mineral fertiliser", applied_on="2026-05-10")
    yard.mow(lawn, day="2026-05-15", clippings="left")
    wanted = {"lawn_id": lawn, "product": "Lawn treatment"}[asked]
    recall = yard.post("/recalls", {asked: wanted, "since": "2026-05-20", "reason": REASON})
    assert recall["trace"]["lots"] == []
    assert recall["frozen"]["lawns"] == [{"lawn_id": lawn, "since": "2026-05-20"}]
    # Whoever names no lawn may have mown that one.
    jobs = [
        yard.mow(lawn, at="10:00", treatment_history="known"),
        yard.mow(None, at="10:30", property_id=yard.ids["properties"], treatment_history="known"),
    ]
    assert {drop["destination_kind"] for drop in drops(yard.routing())} == {"hold_bay"}
    assert [codes(yard, job) for job in jobs] == [
        {"bed": "recalled", "compost_site": "recalled"}
    ] * 2
    asking = {
        "depot_id": yard.ids["depots"],
        "treatment_history": "known",
        "collect_wanted": "true",
    }
    told = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=asking)
    assert told.json["willing"] == []
    yard.client.post(f"/recalls/{recall['id']}/end")
    assert {drop["destination_kind"] for drop in drops(yard.routing())} == {"bed"}
    assert "recalled" not in {*codes(yard, jobs[0]).values()}


def test_what_is_to_be_cut_on_a_recalled_lawn_stays_there_and_mixes_with_nothing():
    yard = Yard()
    lawn = yard.lawn("Front")
    yard.mow(lawn, day="2026-05-15", clippings="left")
    yard.post("/recalls", {"lawn_id": lawn, "since": "2026-05-14", "reason": REASON})
    job, clean = yard.plan_to_mow(lawn, at="14:00"), yard.plan_to_mow(yard.lawn("Back"))
    day = yard.routing()
    told = {lot["job_id"]: lot for lot in day["routing"]["lots"]}
    asked = yard.client.get(f"/lawns/{lawn}/pre-mow-check?depot_id={yard.ids['depots']}").json
    card = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today").json
    (stop,) = [one for one in card["stops"] if one.get("job_id") == job]
    assert (told[job]["outcome"], told[job]["goes_to"]) == ("leave_on_lawn", [])
    assert asked["answer"] == "leave_on_lawn"
    assert {told[job]["advice"]["code"], asked["code"]} == {"recalled_lawn"}
    assert REASON.rstrip(".") in asked["sentence"]
    assert REASON.rstrip(".") in stop["leave_on_lawn"]
    (drop,) = drops(day)
    assert (drop["destination_kind"], drop["lot_codes"]) == ("bed", [lot_of(yard, clean)])


@pytest.mark.parametrize("is_on_its_way", [False, True])
def test_a_crew_with_recalled_grass_aboard_is_told_to_bag_nothing_on_top(is_on_its_way):
    yard = Yard()
    yard.patch(f"/crews/{yard.ids['crews']}", {"language": "en"})
    job = yard.mow(yard.lawn("Front"), at="10:00")
    if is_on_its_way:
        (drop,) = drops(yard.routing())
        yard.patch(f"/loads/{drop['load_id']}", {"state": "under_way"})
    recall(yard, job)
    card = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today").json
    (said,) = card["cautions"]
    assert lot_of(yard, job) in said
    assert "Bag nothing on top" in said


def test_the_plan_tips_what_is_recalled_before_anything_is_bagged_on_top_of_it():
    yard = Yard()
    job = yard.mow(yard.lawn("Front"), at="10:00")
    lawn = yard.lawn("Back")
    clean = yard.plan_to_mow(lawn, at="14:00")
    recall(yard, job)
    day = yard.routing()
    (vehicle,) = day["routing"]["vehicles"]
    ahead = [stop for stop in vehicle["stops"] if not stop["done"]]
    assert [(s["kind"], s.get("destination_kind")) for s in ahead[:2]] == [
        ("drop", "hold_bay"),
        ("job", None),
    ]
    assert ahead[0]["lot_codes"] == [lot_of(yard, job)]
    went = {lot["job_id"]: lot["goes_to"] for lot in day["routing"]["lots"]}
    assert {way["destination_kind"] for way in went[clean]} == {"bed"}
    told = yard.client.get(f"/lawns/{lawn}/pre-mow-check?depot_id={yard.ids['depots']}").json
    assert told["plan"]["aboard"][0]["tipped_before"] is True
    assert told["plan"]["mixing"] is None


def test_before_the_plan_knows_of_a_recall_a_crew_is_told_to_tip_first():
    yard = Yard()
    job = yard.mow(yard.lawn("Front"), at="10:00")
    lawn = yard.lawn("Back")
    yard.plan_to_mow(lawn, at="14:00")
    # As long as it tips both together.
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.routing()
    recall(yard, job)
    told = yard.client.get(f"/lawns/{lawn}/pre-mow-check?depot_id={yard.ids['depots']}").json
    assert (told["answer"], told["code"]) == ("leave_on_lawn", "recalled_is_aboard")
    assert lot_of(yard, job) in told["sentence"]
    assert told["plan"]["mixing"]["code"] == "recalled_is_aboard"


def test_where_nobody_takes_what_is_recalled_what_still_stands_is_left():
    crew = Crew()
    job = crew.mow(crew.lawn("Front"), at="10:00")
    lawn = crew.lawn("Back")
    clean = crew.plan_to_mow(lawn)
    recall(crew, job)
    day = crew.read()
    told = {lot["job_id"]: lot["outcome"] for lot in day["routing"]["lots"]}
    assert told == {job: "unplaced", clean: "leave_on_lawn"}
    path = f"/lawns/{lawn}/pre-mow-check?depot_id={crew.ids['depots']}"
    assert crew.client.get(path).json["answer"] == "leave_on_lawn"


@pytest.mark.parametrize(
    "more",
    [
        {"until": "2026-05-20"},  # of days that are over
        {"since": "2026-05-25"},  # of days that are to come
    ],
)
def test_what_is_cut_on_other_days_than_those_recalled_is_not_frozen(more):
    yard = Yard()
    lawn = yard.lawn("Front")
    yard.mow(lawn, day="2026-05-19", clippings="left")
    yard.post("/recalls", {"lawn_id": lawn, "reason": REASON, **more})
    yard.mow(lawn, at="10:00")
    assert {drop["destination_kind"] for drop in drops(yard.routing())} == {"bed"}


def test_today_is_not_over_where_utc_has_the_next_day_already():
    yard = Yard()
    lawn = yard.lawn("Front")
    yard.world.clock.move(hours=24 - yard.world.clock.now().hour)
    recall = yard.post("/recalls", {"lawn_id": lawn, "reason": REASON, "until": DAY})
    assert [one["lawn_id"] for one in recall["frozen"]["lawns"]] == [lawn]


def test_a_recall_that_would_freeze_nothing_is_not_begun():
    yard = Yard()
    planned = yard.plan_to_mow(yard.lawn("Front"))
    for wanted in (
        {"lot_code": lot_of(yard, planned)},
        {"destination_id": yard.ids["compost-sites"]},
    ):
        refused = yard.client.post("/recalls", json={**wanted, "reason": REASON})
        assert (refused.status_code, refused.json["code"]) == (409, "nothing_to_recall")
    assert yard.client.get("/recalls").json["items"] == []


def test_products_without_named_ingredients_are_listed_as_not_known_and_never_as_clean():
    yard = Yard()
    front, back = yard.lawn("Front"), yard.lawn("Back")
    yard.treated(front, active_ingredients=[], product="Green stuff")
    yard.treated(back, active_ingredients=[], product="Fertiliser")  # known by its name
    query = {"product": "aminopyralid"}
    (one,) = yard.client.get("/recall", query_string=query).json["not_known"]
    assert (one["lawn_id"], one["product"]) == (front, "Green stuff")
    refused = yard.client.post("/recalls", json={**query, "reason": REASON})
    assert (refused.status_code, refused.json["code"]) == (409, "nothing_to_recall")
    assert "Front" in refused.json["detail"]
    yard.treated(back)
    recall = yard.post("/recalls", {**query, "reason": REASON})
    assert [lawn["lawn_id"] for lawn in recall["frozen"]["lawns"]] == [back]
    assert [one["lawn_id"] for one in recall["trace"]["not_known"]] == [front]
    # Whoever asks for a product by its name asks for no other.
    assert yard.client.get("/recall?product=Green stuff").json["not_known"] == []


def test_a_choice_that_is_only_asked_makes_no_load():
    yard = Yard()
    yard.mow(yard.lawn("Front"), at="10:00")
    (drop,) = drops(yard.routing())
    choice = {"load_id": drop["load_id"], "destination_id": drop["destination_id"]}
    asked = yard.client.post("/place-choices", json={**choice, "only_ask": True})
    assert (asked.status_code, asked.json["load_id"], asked.json["kept"]) == (200, None, False)
    kept = yard.client.post("/place-choices", json=choice)
    assert (kept.status_code, kept.json["kept"]) == (201, True)
    (lock,) = yard.client.get("/loads?locked=true").json["items"]
    assert lock["id"] == kept.json["load_id"]


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

    assert client.post(f"{path}/calls", json={"said": "Who?"}).status_code == 422
    ticked = client.post(f"{path}/calls", json={"number": 0, "said": "=Will wait"})
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
