"""While the planner is compiled, records are taken and nothing is planned."""

import pytest

from service.planning.arrays import compiled
from tests.worlds import furnish, make_world

DAY = "2026-05-24"


@pytest.fixture
def yard(monkeypatch):
    made = furnish(make_world())
    monkeypatch.setattr(compiled.STATE, "plain", True)
    monkeypatch.setattr(compiled.STATE, "awaited", True)
    return made


def awaited(answer):
    assert answer.status_code == 503, answer.text
    assert answer.mimetype == "application/problem+json"
    assert answer.json["code"] == "planner_awaited"
    assert int(answer.headers["Retry-After"]) > 0


def test_the_process_lives_but_is_not_ready(yard):
    assert yard.client.get("/health").status_code == 200
    awaited(yard.client.get("/ready"))


def test_a_job_is_kept_and_its_day_is_planned_once_the_planner_is_there(yard, monkeypatch):
    assert yard.client.post("/jobs", json=yard.job()).status_code == 201
    routing = f"/days/{DAY}/routing?depot_id={yard.ids['depots']}"
    awaited(yard.client.get(routing))
    monkeypatch.undo()
    answer = yard.client.get(routing)
    assert answer.status_code == 200
    assert len(answer.json["routing"]["lots"]) == 1
    assert yard.client.get("/ready").status_code == 200
