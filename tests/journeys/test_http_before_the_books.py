"""Mowings of the season before the books began: given as any cut, with nothing left aboard."""

import pytest

from tests.crews import DAY, Crew

LAST_AUTUMN = "2025-09-20"


@pytest.fixture
def crew():
    return Crew(bay=True)


def aboard(crew):
    return crew.client.get(f"/vehicles/{crew.ids['vehicles']}/today").json["cautions"]


def test_what_was_weighed_last_year_teaches_the_first_estimate(crew):
    lawn = crew.lawn("Old customer")
    job = crew.mow(lawn, day=LAST_AUTUMN)
    likely = crew.client.get(f"/jobs/{job}").json["estimate"]["mass_kg"]["likely"]
    tip = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": crew.ids["compost-sites"],
        "done_at": f"{LAST_AUTUMN}T11:00:00+01:00",
        "parts": [{"job_id": job}],
        "weighed_net": {"value": 1.5 * likely, "unit": "kg"},
        "weigh_ticket": "O-1",
    }
    load = crew.post("/loads", tip)
    crew.patch(f"/loads/{load['id']}", {"ticket_review": "accepted"})
    now = crew.client.get(f"/jobs/{crew.mow(lawn, day=DAY)}").json["estimate"]
    assert now["tickets"] == 1
    assert now["mass_kg"]["likely"] > now["mass_before_tickets_kg"]["likely"]


def test_what_stayed_on_the_lawn_is_a_mowing_and_nothing_is_aboard(crew):
    lawn = crew.lawn("Old customer")
    crew.treated(lawn, "2,4-D")
    before = crew.mow(lawn, day="2026-05-12", clippings="left")
    assert crew.client.get(f"/jobs/{before}").json["state"] == "mown"
    assert aboard(crew) == []


def test_what_is_older_is_refused_with_the_way(crew):
    sent = crew.yard.job(cut_at="2025-05-10T10:00:00+01:00")
    answer = crew.client.post("/jobs", json=sent)
    assert answer.status_code == 422
    (fault,) = answer.json["errors"]
    assert fault["pointer"] == "/cut_at"
    assert "clippings left" in fault["detail"]
    assert "POST /loads" in fault["detail"]
