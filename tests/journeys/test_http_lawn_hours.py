"""The hours recorded of a lawn: kept by the plan, told before mowing and of what came else."""

import pytest

from tests.holds import DAY, Yard

OTHERS = ("es", "fr", "pl", "pt", "ro")
SUNDAY = 6


def span(opens, closes, weekday=SUNDAY):
    return {"weekday": weekday, "opens": opens, "closes": closes, "last_load": closes}


@pytest.fixture
def yard():
    """Return a yard at one in the afternoon of a Sunday."""
    return Yard()


def planned(yard, *hours, at="13:30"):
    """Plan to mow a lawn of these hours; return the lawn and the job."""
    lawn = yard.lawn("Quiet")
    yard.patch(f"/lawns/{lawn}", {"mowing_hours": list(hours)})
    return lawn, yard.plan_to_mow(lawn, at=at)


def stop_of(yard, job):
    stops = [stop for one in yard.routing()["routing"]["vehicles"] for stop in one["stops"]]
    return next(stop for stop in stops if stop["kind"] == "job" and stop["job_id"] == job)


def warned(yard):
    told = yard.routing()["routing"]["warnings"]
    return [one for one in told if one["code"].startswith("outside_mowing_hours")]


def asked(yard, lawn, **headers):
    question = {"depot_id": yard.ids["depots"], "treatment_history": "none_recorded"}
    answer = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=question, headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json


def test_a_plan_does_not_begin_a_lawn_before_its_hours_and_says_them(yard):
    lawn, job = planned(yard, span("08:00", "09:30"), span("15:00", "16:00"))
    stop = stop_of(yard, job)
    assert stop["at"] == f"{DAY}T15:00:00+01:00"
    assert stop["mowing_between"] == "08:00-09:30, 15:00-16:00"
    assert warned(yard) == []
    assert asked(yard, lawn)["mowing_hours"] is None


def test_where_no_crew_comes_within_the_hours_the_day_is_planned_and_says_so(yard):
    lawn, job = planned(yard, span("08:00", "09:30"))
    (warning,) = warned(yard)
    assert (warning["job_id"], warning["code"]) == (job, "outside_mowing_hours")
    assert warning["between"] == "08:00-09:30"
    assert "mowing begins between 08:00-09:30" in warning["why"]
    told = asked(yard, lawn)
    assert told["mowing_hours"]["code"] == warning["code"]
    assert told["mowing_hours"]["between"] == warning["between"]
    for language in OTHERS:
        other = asked(yard, lawn, **{"Accept-Language": language})["mowing_hours"]["sentence"]
        assert other != told["mowing_hours"]["sentence"]
        assert "08:00-09:30" in other


def test_on_a_day_without_hours_the_lawn_is_planned_and_told(yard):
    lawn, job = planned(yard, span("08:00", "18:00", weekday=0))
    (warning,) = warned(yard)
    assert (warning["job_id"], warning["code"]) == (job, "outside_mowing_hours_that_day")
    assert asked(yard, lawn)["mowing_hours"]["sentence"] == warning["why"]


def test_what_was_mown_outside_the_hours_is_kept_and_told(yard):
    lawn = yard.lawn("Quiet")
    job = yard.mow(lawn, at="12:30")
    assert warned(yard) == []
    yard.patch(f"/lawns/{lawn}", {"mowing_hours": [span("15:00", "16:00")]})
    (warning,) = warned(yard)
    assert warning["job_id"] == job
    assert warning["why"].endswith("this is for 12:30.")


def test_hours_out_of_order_are_refused_by_their_name(yard):
    lawn = yard.lawn("Quiet")
    wrong = {**span("09:00", "12:00"), "last_load": "13:00"}
    headers = {"If-Match": "*"}
    body = {"mowing_hours": [wrong]}
    problem = yard.client.patch(f"/lawns/{lawn}", json=body, headers=headers)
    assert problem.status_code == 422
    assert [one["pointer"] for one in problem.json["errors"]] == ["/mowing_hours/0"]


MONDAY = "2026-05-25"


@pytest.mark.parametrize(
    ("minutes_before", "first", "last"),
    [(120, "08:00", "12:00"), (400, "15:00", "15:00"), (500, "15:01", "16:00")],
)
def test_between_two_spans_of_a_day_a_crew_waits_and_the_second_counts(
    yard, minutes_before, first, last
):
    def plan(lawn, hour, **fields):
        planned = {"state": "planned", "planned_at": f"{MONDAY}T{hour:02}:00:00+01:00"}
        small = {"area_mowed": {"value": 60, "unit": "m2"}, "cut_at": None}
        return yard.post("/jobs", yard.yard.job(lawn_id=lawn, **planned, **small, **fields))["id"]

    plan(yard.lawn("Before"), 7, minutes_on_site=minutes_before)
    quiet = yard.lawn("Quiet")
    hours = [span("08:00", "12:00", weekday=0), span("15:00", "16:00", weekday=0)]
    yard.patch(f"/lawns/{quiet}", {"mowing_hours": hours})
    job = plan(quiet, 8)
    routing = yard.routing(MONDAY)["routing"]
    (stop,) = [s for v in routing["vehicles"] for s in v["stops"] if s.get("job_id") == job]
    assert first <= stop["at"][11:16] <= last
    assert routing["cost_cents"]["late"] == 0
    assert [one for one in routing["warnings"] if "mowing_hours" in one["code"]] == []
