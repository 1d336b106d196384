"""What is learned late is found wherever it went, and whoever has it is on the list."""

import pytest

from service.api.books import clients
from tests.crews import DAY, Crew, drops
from tests.journeys.test_http_unplanned import told as tip_body


@pytest.fixture
def crew(world):
    return Crew(bay=True, world=world)


def recall(crew, **query):
    answer = crew.client.get("/recall", query_string=query)
    assert answer.status_code == 200, answer.text
    return answer.json


def tip_all(crew):
    """Let everything be tipped as planned, and issue the notes of beds."""
    told = []
    for drop in drops(crew.read()):
        crew.world.clock.move(minutes=5)
        crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
        if drop["destination_kind"] == "bed":
            note = crew.post(f"/loads/{drop['load_id']}/delivery-notes", {})
            told.append((drop, note))
    return told


def code_of(crew, job):
    return crew.client.get(f"/jobs/{job}").json["lot_code"]


def test_a_treatment_learned_after_the_tip_finds_bed_note_client_and_what_it_was_mixed_with(crew):
    front, back = crew.lawn("Front"), crew.lawn("Back")
    first, second = crew.mow(front, at="09:00"), crew.mow(back, at="09:30")
    ((drop, note),) = tip_all(crew)
    crew.treated(front)
    found = recall(crew, lawn_id=front, since="2026-05-11")
    assert [lot["job_id"] for lot in found["lots"]] == [first]
    assert found["lots"][0]["status"] == "treated"
    assert [lot["job_id"] for lot in found["mixed_with"]] == [second]
    (place,) = found["places"]
    assert (place["kind"], place["place_id"]) == ("bed", drop["destination_id"])
    assert place["mixed"]
    assert place["lot_codes"] == [code_of(crew, first)]
    assert place["mass_kg"]["low"] < place["mass_kg"]["likely"] < place["mass_kg"]["high"]
    assert [one["number"] for one in place["notes"]] == [note["number"]]
    (person,) = found["people"]
    assert person["role"] == "client"
    assert person["place_ids"] == [place["place_id"]]
    assert code_of(crew, first) in person["say"][0]
    assert "label" in person["say"][-1]


def test_a_treatment_said_weeks_after_the_tip_is_in_job_load_note_and_recall(crew):
    lawn = crew.lawn("Front")
    crew.mow(crew.lawn("Back"), at="08:30")
    job = crew.mow(lawn, at="09:00")
    ((drop, note),) = tip_all(crew)
    crew.world.clock.move(days=20)
    treatment = crew.treated(lawn)
    load = f"/loads/{drop['load_id']}"
    assert crew.client.get(f"/jobs/{job}").json["status"] == "treated"
    assert crew.client.get(load).json["status"] == "treated"
    notes = crew.client.get(f"/delivery-notes?load_id={drop['load_id']}").json["items"]
    assert [one["note_version"] for one in notes] == [1, 2]
    assert notes[0]["id"] == note["id"]
    (lot,) = recall(crew, product="Pasture weed control")["lots"]
    assert (lot["job_id"], lot["status"]) == (job, "treated")
    crew.patch(f"/treatments/{treatment['id']}", {"applied_on": "2026-06-01"}, reason="Misread")
    assert crew.client.get(f"/jobs/{job}").json["status"] == "clean"
    assert crew.client.get(load).json["status"] == "clean"


def test_a_treatment_that_was_said_of_the_wrong_lawn_leaves_the_right_one_treated_only(crew):
    front, back = crew.lawn("Front"), crew.lawn("Back")
    jobs = [crew.mow(front, at="09:00"), crew.mow(back, at="10:00")]
    treatment = crew.treated(front)
    crew.patch(f"/treatments/{treatment['id']}", {"lawn_id": back}, reason="The lawn behind")
    told = [crew.client.get(f"/jobs/{job}").json["status"] for job in jobs]
    assert told == ["clean", "treated"]


def test_what_is_learned_late_does_not_ask_the_fee_of_today_for_what_was_tipped_then(crew):
    lawn = crew.lawn("Front")
    crew.mow(lawn, at="09:00")
    hours = [{"weekday": 6, "opens": "06:00", "closes": "20:00", "last_load": "20:00"}]
    site = f"/compost-sites/{crew.ids['compost-sites']}"
    fee = crew.patch(site, {"hours": hours})["fee"]
    crew.patch(f"/beds/{crew.ids['beds']}", {"consent": {"state": "refused"}})
    (drop,) = drops(crew.read())
    crew.world.clock.move(minutes=5)
    paid = crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})["fee_cents"]
    crew.patch(site, {"fee": {**fee, "minimum_cents": 2 * fee["minimum_cents"]}})
    crew.treated(lawn)
    load = crew.client.get(f"/loads/{drop['load_id']}").json
    assert (load["status"], load["fee_cents"]) == ("treated", paid)


def test_what_is_still_aboard_and_what_was_cut_before_are_told_apart(crew):
    lawn = crew.lawn("Front")
    crew.mow(lawn, at="08:00", day="2026-05-09", treatment_history="unknown")
    aboard = crew.mow(lawn, at="10:00")
    crew.treated(lawn)  # on the tenth
    found = recall(crew, product="Pasture weed control")
    assert [lot["job_id"] for lot in found["lots"]] == [aboard]
    (place,) = found["places"]
    assert place["kind"] == "vehicle"
    assert found["people"] == []
    everything = recall(crew, lawn_id=lawn, since="2026-05-01")
    assert len(everything["lots"]) == 2


def test_from_a_bed_that_suffers_one_finds_the_lawns_and_where_else_their_grass_went(crew):
    first = crew.mow(crew.lawn("Front"), at="09:00")
    ((drop, _),) = tip_all(crew)
    found = recall(crew, destination_id=drop["destination_id"], since=DAY)
    assert [lot["job_id"] for lot in found["lots"]] == [first]
    assert recall(crew, lot_code=code_of(crew, first))["places"] == found["places"]
    assert recall(crew, destination_id=drop["destination_id"], until="2026-05-01")["lots"] == []


def test_a_job_that_names_no_lawn_may_have_cut_any_lawn_of_its_property(crew):
    lawn = crew.lawn("Front")
    unnamed = crew.mow(None, at="09:00", property_id=crew.ids["properties"])
    assert unnamed in [lot["job_id"] for lot in recall(crew, lawn_id=lawn, since=DAY)["lots"]]


def test_two_clients_of_one_name_are_both_on_the_list_each_with_a_telephone(crew):
    mine = crew.client.get(f"/clients/{crew.ids['clients']}").json
    fields = {name: mine[name] for name in ("name", "language")}
    other = crew.post("/clients", {**fields, "phone": "+44 20 7946 0000"})
    home = {**clients.PROPERTIES.example, "client_id": other["id"], "name": "Other house"}
    place = crew.post("/properties", home)["id"]
    bed = crew.client.get(f"/beds/{crew.ids['beds']}").json
    theirs = {**clients.BEDS.example, "property_id": place, "legal_basis": bed["legal_basis"]}
    theirs = crew.post("/beds", theirs)["id"]
    lawn = crew.lawn("Front")
    job = crew.mow(lawn, at="09:00")
    for one in (crew.ids["beds"], theirs):
        half = {"job_id": job, "share": 0.5}
        body = tip_body(crew, half, kind="bed") | {"destination_id": one}
        answer = crew.client.post("/loads", json=body, headers={"Change-Reason": "It happened."})
        assert answer.status_code == 201, answer.text
    people = recall(crew, lot_code=code_of(crew, job))["people"]
    assert [one["name"] for one in people] == [mine["name"]] * 2
    assert {one["phone"] for one in people} == {mine["phone"], "+44 20 7946 0000"}


def test_a_product_is_found_however_its_name_was_typed(crew):
    lawn = crew.lawn("Front")
    job = crew.mow(lawn, at="10:00")
    crew.treated(lawn)
    found = recall(crew, product=" pasture  Weed CONTROL")
    assert [lot["job_id"] for lot in found["lots"]] == [job]


@pytest.mark.parametrize("asked", ["2,4-D", "2,4-d  dimethylamine", "94-75-7"])
def test_a_treatment_is_found_by_its_active_ingredient_under_any_of_its_names(crew, asked):
    lawn = crew.lawn("Front")
    job = crew.mow(lawn, at="10:00")
    crew.treated(lawn, active="2,4-D")
    assert [lot["job_id"] for lot in recall(crew, product=asked)["lots"]] == [job]
    begun = crew.post("/recalls", {"product": asked, "reason": "Found."})
    assert begun["frozen"]["job_ids"] == [job]


@pytest.mark.parametrize(
    "asked",
    [
        {"lot_code": "L-XXXXXXX"},
        {"product": "clopyralid"},
        {"destination_id": "00000000-0000-4000-8000-000000000000"},
    ],
    ids=str,
)
def test_a_name_that_nothing_on_record_bears_is_not_answered_with_nothing_to_recall(crew, asked):
    lawn = crew.lawn("Front")
    crew.mow(lawn, at="10:00")
    crew.treated(lawn)
    for answer in (
        crew.client.get("/recall", query_string=asked),
        crew.client.post("/recalls", json=asked | {"reason": "Found."}),
    ):
        assert (answer.status_code, answer.json["code"]) == (404, "not_on_record"), answer.text
    assert crew.client.get("/recalls").json["items"] == []


def test_a_slip_of_the_pen_is_told_what_is_on_record_near_it(crew):
    lawn = crew.lawn("Front")
    code = code_of(crew, crew.mow(lawn, at="10:00"))
    crew.treated(lawn)
    slip = code[:-1] + ("A" if code[-1] != "A" else "C")
    for asked, near in (
        ({"lot_code": slip}, code),
        ({"product": "Pasture weed contol"}, "Pasture weed control"),
        ({"product": "aminopyralide"}, "aminopyralid"),
    ):
        problem = crew.client.get("/recall", query_string=asked)
        assert problem.status_code == 404
        assert near in problem.json["detail"]
    assert recall(crew, lot_code=code.lower())["lots"][0]["lot_code"] == code


def test_one_thing_is_asked_at_a_time_and_days_come_in_order(crew):
    for query in ({}, {"lot_code": "L-1", "product": "X"}):
        answer = crew.client.get("/recall", query_string=query)
        assert answer.status_code == 422
        (fault,) = answer.json["errors"]
        assert (fault["parameter"], fault["code"]) == ("lawn_id", "one_of_these")
    answer = crew.client.get("/recall?lot_code=L-1&since=2026-05-02&until=2026-05-01")
    assert answer.json["errors"][0]["parameter"] == "until"
    assert crew.client.get(f"/recall?lawn_id={crew.ids['beds']}").status_code == 404


def test_what_lies_in_one_body_is_mixed_before_any_of_it_is_tipped(crew):
    front = crew.lawn("Front")
    first, second = crew.mow(front, at="09:00"), crew.mow(crew.lawn("Back"), at="09:30")
    found = recall(crew, lawn_id=front)
    (place,) = found["places"]
    assert (place["kind"], place["mixed"]) == ("vehicle", True)
    assert place["lot_codes"] == [code_of(crew, first)]
    assert [lot["job_id"] for lot in found["mixed_with"]] == [second]
