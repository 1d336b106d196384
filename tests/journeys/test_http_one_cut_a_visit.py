"""One job a lawn and visit: a cut completes what was planned, and a second like it waits."""

import pytest

from tests.crews import NOW, another_crew
from tests.outages import lots

WHOLE = {"value": 450, "unit": "m2"}


def said(crew, lawn, *, at="13:00", key=None, status=201, **fields):
    body = crew.yard.job(lawn_id=lawn, cut_at=f"2026-05-24T{at}:00+01:00", **fields)
    body.setdefault("area_mowed", WHOLE)
    headers = {} if key is None else {"Idempotency-Key": key}
    answer = crew.client.post("/jobs", json=body, headers=headers)
    assert answer.status_code == status, answer.text
    return answer.json


def jobs_of(crew, lawn):
    return crew.client.get(f"/jobs?lawn_id={lawn}").json["items"]


def decide(crew, job, decision, status=200):
    answer = crew.client.post(f"/jobs/{job['id']}/decisions", json={"decision": decision})
    assert answer.status_code == status, answer.text
    return answer.json


def test_a_cut_of_a_lawn_that_is_planned_today_completes_the_planned_job(crew):
    lawn = crew.lawn("Front")
    planned = crew.plan_to_mow(lawn, treatment_history="none_recorded", minutes_on_site=45)
    crew.read()
    cut = said(crew, lawn)
    assert (cut["id"], cut["state"]) == (planned, "mown")
    assert cut["reported_as_id"] not in (None, planned)
    assert cut["planned_at"] is not None
    assert cut["minutes_on_site"] == 45  # what the report leaves out stays as it was planned
    assert [job["id"] for job in jobs_of(crew, lawn)] == [planned]
    assert list(lots(crew.read())) == [planned]
    (amendment,) = crew.client.get(f"/jobs/{planned}/history").json["items"]
    assert amendment["changes"]["state"] == {"was": "planned", "became": "mown"}


def test_the_lot_of_a_completed_job_is_found_by_the_id_of_its_report(crew):
    lawn, own = crew.lawn("Front"), "01900000-0000-7000-8000-00000000abcd"
    planned = crew.plan_to_mow(lawn)
    assert said(crew, lawn, id=own)["id"] == planned
    assert said(crew, lawn, id=own)["id"] == planned  # sent again, it is the same
    assert crew.client.get(f"/jobs/{own}").json["id"] == planned
    tip = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": crew.ids["compost-sites"],
        "done_at": "2026-05-24T12:00:00Z",
        "parts": [{"job_id": own}],
    }
    crew.world.clock.move(minutes=10)
    assert crew.post("/loads", tip)["parts"][0]["job_id"] == planned


def test_another_crew_completes_what_nobody_else_mows_there(crew):
    lawn = crew.lawn("Front")
    planned = crew.plan_to_mow(lawn)
    cut = said(crew, lawn, **another_crew(crew))
    assert cut["id"] == planned
    assert cut["crew_id"] != crew.ids["crews"]


def test_two_crews_that_each_mow_a_half_are_two_jobs(crew):
    lawn = crew.lawn("Front")
    mine, other = crew.plan_to_mow(lawn), another_crew(crew)
    theirs = crew.plan_to_mow(lawn, **other)
    half = {"area_mowed": {"value": 220, "unit": "m2"}}
    assert said(crew, lawn, **other, **half)["id"] == theirs
    assert said(crew, lawn, **half)["id"] == mine
    assert {job["state"] for job in jobs_of(crew, lawn)} == {"mown"}


def test_one_crew_that_mows_a_lawn_in_two_rounds_is_believed(crew):
    lawn, half = crew.lawn("Front"), {"value": 220, "unit": "m2"}
    said(crew, lawn, at="10:00", area_mowed=half)
    assert said(crew, lawn, at="11:30", area_mowed=half)["state"] == "mown"


@pytest.mark.parametrize(
    "again",
    [
        {},
        {"at": "13:10"},
        {"at": "16:00"},
        {"at": "13:05", "area_mowed": {"value": 9, "unit": "m2"}},
    ],
    ids=["same", "minutes later", "all of it later", "while they were there"],
)
def test_a_second_cut_like_the_first_counts_for_nothing_until_somebody_decides(crew, again):
    lawn = crew.lawn("Front")
    first = said(crew, lawn, key="one")
    before = crew.read()
    balances = crew.client.get("/mass-balances").json
    crew.world.clock.move(hours=4)
    second = said(crew, lawn, key="two", **again)
    assert (second["state"], second["duplicate_of_id"]) == ("possible_duplicate", first["id"])
    after = crew.read()
    assert list(lots(after)) == [first["id"]]
    assert before["routing"]["lots"][0]["mass_kg"] == after["routing"]["lots"][0]["mass_kg"]
    assert crew.client.get("/mass-balances").json == balances
    waiting = crew.client.get("/jobs?state=possible_duplicate").json["items"]
    assert [job["id"] for job in waiting] == [second["id"]]


def test_another_cut_counts_from_then_on_and_the_same_is_cancelled(crew):
    lawn = crew.lawn("Front")
    said(crew, lawn, key="one")
    second, third = said(crew, lawn, key="two"), said(crew, lawn, key="three", litter_seen=True)
    assert decide(crew, second, "another_cut")["state"] == "mown"
    assert second["id"] in lots(crew.read())
    cancelled = decide(crew, third, "the_same")
    assert cancelled["state"] == "cancelled"
    assert third["id"] not in lots(crew.read())
    # Whoever said the same cut twice and saw litter once has seen it.
    (first,) = [job for job in jobs_of(crew, lawn) if job["duplicate_of_id"] is None]
    assert first["litter_seen"] is True
    # Decided once more, it is as it was; decided otherwise, it is no question any more.
    assert decide(crew, third, "the_same") == cancelled
    assert decide(crew, third, "another_cut", status=409)["code"] == "nothing_to_decide"
    assert decide(crew, first, "the_same", status=409)["code"] == "nothing_to_decide"


def test_a_batch_answers_each_row_and_sent_again_adds_nothing(crew):
    lawn, other = crew.lawn("Front"), crew.lawn("Back")
    planned = crew.plan_to_mow(lawn)
    ids = [f"01900000-0000-7000-8000-00000000a{n:03}" for n in range(4)]
    rows = [
        {**crew.yard.job(lawn_id=one), "id": own}
        for one, own in zip((lawn, lawn, other, lawn), ids, strict=True)
    ]
    rows[3]["crew_id"] = ids[0]
    answers = [crew.client.post("/jobs/batches", json={"jobs": rows}).json for _ in "ab"]
    answers = [[(r["status"], r["job"]) for r in answer["rows"]] for answer in answers]
    assert answers[0] == answers[1]
    (mown, again, back, faulty) = answers[0]
    assert [status for status, _ in answers[0]] == [201, 201, 201, 422]
    assert mown[1]["id"] == planned
    assert again[1]["state"] == "possible_duplicate"
    assert back[1]["id"] == ids[2]
    assert faulty[1] is None
    assert len(crew.client.get("/jobs").json["items"]) == 3


def test_nobody_says_of_a_job_that_it_may_be_a_duplicate_but_the_service(crew):
    body = crew.yard.job(state="possible_duplicate")
    problem = crew.client.post("/jobs", json=body)
    assert problem.status_code == 422
    assert [fault["pointer"] for fault in problem.json["errors"]] == ["/state"]
    job = said(crew, crew.lawn("Front"))
    answer = crew.client.patch(
        f"/jobs/{job['id']}", json={"state": "possible_duplicate"}, headers=NOW
    )
    assert answer.status_code == 422


def waiting(crew, day="2026-05-24"):
    answer = crew.client.get(f"/days/{day}/decisions?depot_id={crew.ids['depots']}")
    return [one for one in answer.json["decisions"] if one["code"] == "possible_duplicate"]


def test_a_possible_duplicate_waits_among_the_decisions_with_its_two_ways(crew):
    lawn = crew.lawn("Front")
    first = said(crew, lawn, key="one")
    second = said(crew, lawn, key="two")
    crew.read()
    (one,) = waiting(crew)
    assert one["job_id"] == second["id"]
    assert one["lot_codes"] == [second["lot_code"], first["lot_code"]]
    assert all(code in one["sentence"] for code in one["lot_codes"])
    assert {(way["method"], way["href"]) for way in one["ways"]} == {
        ("POST", f"/jobs/{second['id']}/decisions")
    }
    assert len(one["ways"]) == 2
    decide(crew, second, "the_same")
    assert waiting(crew) == []


@pytest.mark.parametrize(("days", "day"), [(1, "2026-05-25"), (30, "2026-06-23")])
def test_one_of_whatever_day_waits_until_it_is_decided(crew, days, day):
    lawn = crew.lawn("Front")
    said(crew, lawn, key="one")
    second = said(crew, lawn, key="two")
    crew.world.clock.move(hours=24 * days)
    crew.client.get(f"/days/{day}/decisions?depot_id={crew.ids['depots']}")
    assert [one["job_id"] for one in waiting(crew, day)] == [second["id"]]
    assert waiting(crew, "2026-05-23") == []
