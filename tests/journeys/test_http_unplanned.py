"""What was not planned happened all the same: tips elsewhere, days of the past, earlier layers."""

from dataclasses import replace

import pytest

from service.usecases.base.idempotency import UNFINISHED_LEASE
from tests.crews import Crew, aboard_kg, drops
from tests.journeys.test_http_overnight import MONDAY, routing
from tests.journeys.test_http_refused_for_cause import decisions
from tests.outages import lots, warnings

NOON = "2026-05-24T12:00:00Z"
PATHS = {"compost_site": "compost-sites", "bed": "beds", "hold_bay": "hold-bays"}


@pytest.fixture
def crew():
    return Crew(bay=True)


def told(crew, *jobs, kind="compost_site", at=NOON, **fields):
    """Return the body of a tip of these jobs: all of each, or what is said beside it."""
    return {
        "vehicle_id": crew.ids["vehicles"],
        "crew_id": crew.ids["crews"],
        "destination_kind": kind,
        "destination_id": crew.ids[PATHS[kind]],
        "done_at": at,
        "parts": [one if isinstance(one, dict) else {"job_id": one} for one in jobs],
        **fields,
    }


def tip(crew, *jobs, status=201, headers=None, **fields):
    answer = crew.client.post("/loads", json=told(crew, *jobs, **fields), headers=headers)
    assert answer.status_code == status, answer.text
    return answer.json


def pointers(problem):
    return sorted(fault["pointer"] for fault in problem["errors"])


def test_a_tip_at_another_place_than_planned_is_kept_and_the_planned_one_falls_away(crew):
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    (planned,) = drops(crew.read())
    assert planned["destination_kind"] == "bed"
    load = tip(crew, job)
    assert (load["plan_id"], load["state"]) == (None, "delivered")
    plan = crew.read()
    assert drops(plan) == []
    assert aboard_kg(plan) == 0
    (went,) = lots(plan)[job]["goes_to"]
    assert went["load_id"] == load["id"]
    assert crew.client.get(f"/loads/{planned['load_id']}").json["state"] == "superseded"


@pytest.mark.parametrize("amount", ["share", "mass"])
def test_a_part_that_is_named_is_tipped_and_what_is_left_is_planned(crew, amount):
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    whole = crew.client.get(f"/jobs/{job}").json["estimate"]["mass_kg"]
    mass = {"value": whole["likely"] / 2, "unit": "kg"}
    half = {"share": 0.5} if amount == "share" else {"mass": mass}
    load = tip(crew, {"job_id": job, **half})
    assert load["mass_kg"]["high"] == pytest.approx(whole["high"] / 2, rel=1e-3)
    (left,) = drops(crew.read())
    assert left["mass_kg"]["high"] == pytest.approx(whole["high"] / 2, abs=1)


def test_more_than_is_aboard_is_not_tipped(crew):
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    tip(crew, {"job_id": job, "share": 0.75})
    assert pointers(tip(crew, {"job_id": job, "share": 0.5}, status=422)) == ["/parts/0/share"]
    assert tip(crew, job)["parts"][0]["share"] == pytest.approx(0.25)
    assert pointers(tip(crew, job, status=422)) == ["/parts/0/share"]


def test_every_fault_of_a_tip_is_named_at_once(crew):
    nobody = "01900000-0000-7000-8000-0000000fffff"
    problem = tip(
        crew,
        crew.plan_to_mow(crew.lawn("Ahead")),
        nobody,
        at="2026-05-25T12:00:00Z",
        vehicle_id=nobody,
        destination_id=nobody,
        status=422,
    )
    parts = ["/parts/0/job_id", "/parts/1/job_id"]
    assert pointers(problem) == ["/destination_id", "/done_at", *parts, "/vehicle_id"]
    assert crew.client.get("/loads").json["items"] == []


def test_a_tip_against_a_rule_is_kept_with_a_reason_and_called_back(crew):
    job = crew.mow_tainted("litter", at="10:00")
    assert tip(crew, job, kind="bed", status=409)["code"] == "not_for_this_place"
    load = tip(crew, job, kind="bed", headers={"Change-Reason": "He did not know."})
    assert load["status"] == "littered"
    (recall,) = decisions(crew, "recall")
    assert recall["destination_id"] == load["destination_id"]


def test_a_tip_into_the_bay_lies_in_its_queue(crew):
    load = tip(crew, crew.mow_tainted("litter", at="10:00"), kind="hold_bay")
    (entry,) = crew.client.get("/hold-entries?state=in_bay").json["items"]
    assert entry["load_id"] == load["id"]
    assert entry["held_since"] is not None


def test_a_tip_that_was_a_mistake_is_taken_back(crew):
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    load = tip(crew, job)
    crew.patch(f"/loads/{load['id']}", {"state": "planned"})
    plan = crew.read()
    assert aboard_kg(plan) > 0
    (drop,) = drops(plan)
    assert drop["destination_kind"] == "bed"
    tip(crew, job)


def test_a_lawn_is_no_place_to_tip_on_and_every_fault_is_named(crew):
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    body = told(crew, job, at="2199-01-01T12:00:00Z") | {"destination_kind": "lawn"}
    answer = crew.client.post("/loads", json=body)
    assert answer.status_code == 422, answer.text
    assert pointers(answer.json) == ["/destination_kind", "/done_at"]


def test_a_retried_tip_is_one_tip(crew):
    body = told(crew, {"job_id": crew.mow(crew.lawn("Clean"), at="10:00"), "share": 0.5})
    answers = [
        crew.client.post("/loads", json=body, headers={"Idempotency-Key": "tip-1"}) for _ in "ab"
    ]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json == answers[1].json


def test_a_tip_that_was_kept_when_its_try_was_cut_off_is_found_by_the_next(crew):
    body = told(crew, crew.mow(crew.lawn("Clean"), at="10:00"))
    first = crew.client.post("/loads", json=body, headers={"Idempotency-Key": "tip-1"})
    cut_off(crew.world, "tip-1", now="tip-2")
    again = crew.client.post("/loads", json=body, headers={"Idempotency-Key": "tip-2"})
    assert (again.status_code, again.json["id"]) == (201, first.json["id"])
    invited = {"seat": "dispatcher", "name": "Office"}
    first = crew.client.post("/sessions", json=invited, headers={"Idempotency-Key": "in-1"})
    cut_off(crew.world, "in-1", now="in-2")
    again = crew.client.post("/sessions", json=invited, headers={"Idempotency-Key": "in-2"})
    assert (again.status_code, again.json) == (201, first.json)


def cut_off(world, key, *, now):
    """Let a key be as if its first try, which was made with another, had died unanswered."""
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        kept = unit.answers.get(firm.id, key)
        began = world.clock.now() - UNFINISHED_LEASE
        died = replace(kept, key=now, started_at=began, status=None, headers=None, body=None)
        unit.answers.begin(died)
        unit.commit()


def test_a_job_and_its_tip_of_last_year_are_told_late_and_weighed_later(crew):
    crew.world.clock.move(days=224)  # 3 January
    job = crew.mow(crew.lawn("Late"), day="2026-12-31", at="10:00")
    load = tip(crew, job, at="2026-12-31T15:00:00Z", kind="bed")
    assert load["working_day"] == "2026-12-31"
    kg = load["mass_kg"]["likely"]
    ticket = {"weighed_net": {"value": round(kg, 1), "unit": "kg"}, "weigh_ticket": "W-9"}
    assert crew.patch(f"/loads/{load['id']}", ticket)["weight_counts"] is True
    note = crew.post(f"/loads/{load['id']}/delivery-notes", {})
    assert note["number"].startswith("2026-")
    routing(crew, "2027-01-03", status=404)  # nothing is aboard


def test_a_planned_load_of_a_past_day_is_told_late(crew):
    crew.world.clock.move(days=-6)
    crew.mow(crew.lawn("Monday"), day=MONDAY, at="10:00")
    (drop,) = drops(routing(crew, MONDAY))
    crew.world.clock.move(days=6)
    assert warnings(crew.read(), "aboard_overnight")
    late = {"state": "delivered", "done_at": f"{MONDAY}T15:00:00Z"}
    crew.patch(f"/loads/{drop['load_id']}", late)
    assert warnings(crew.read(), "aboard_overnight") == []


class TestOpeningBalance:
    """What lay on a bed before the service knew of it."""

    @pytest.fixture
    def job(self, crew):
        return crew.mow(crew.lawn("Clean"), at="10:00", area_mowed={"value": 800, "unit": "m2"})

    def say(self, crew, laid_on, status=200):
        amounts = {"mass_kg": 900, "nitrogen_kg": 0.6}
        balance = {**amounts, "laid_on": laid_on, "stated_by": "R. Alvarez"}
        changes = {"opening_balance": balance if laid_on else None}
        return crew.patch(f"/beds/{crew.ids['beds']}", changes, status=status)

    def accepted(self, crew, job):
        said = crew.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
        (bed,) = [one for one in said if one["destination_kind"] == "bed"]
        return bed

    def test_it_takes_of_the_year_of_the_bed(self, crew, job):
        before = self.accepted(crew, job)["accepted_kg"]
        self.say(crew, "2026-03-20")
        assert self.accepted(crew, job)["accepted_kg"] < before
        self.say(crew, None)
        assert self.accepted(crew, job)["accepted_kg"] == before

    def test_a_bed_rests_after_it(self, crew, job):
        self.say(crew, "2026-05-22")
        assert self.accepted(crew, job)["code"] == "bed_resting"

    def test_it_is_of_the_past(self, crew):
        problem = self.say(crew, "2027-01-01", status=422)
        assert pointers(problem) == ["/opening_balance/laid_on"]
