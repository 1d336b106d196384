"""What makes clippings weedy, diseased, treated or littered is not taken back by a click."""

import pytest

from tests.crews import NOW
from tests.devices import CLEAN, Device
from tests.journeys.test_http_treatment_deleted import by_program

WHY = {"Change-Reason": "It lay on the next lawn."}
SEEN = {"weeds_in_seed": "weedy", "disease_seen": "diseased", "litter_seen": "littered"}


def with_role(crew, role):
    whose = {"crew_id": crew.ids["crews"]} if role == "crew" else {}
    key = crew.post("/keys", {"role": role, "name": f"A key for {role}", **whose})
    return {"Authorization": f"Bearer {key['secret']}"}


def said(crew, job, changes, **headers):
    return crew.client.patch(f"/jobs/{job}", json=changes, headers={**NOW, **headers})


@pytest.mark.parametrize(("field", "status"), SEEN.items())
def test_what_was_seen_is_taken_back_by_the_office_with_a_reason(crew, field, status):
    job = crew.mow(crew.lawn("Front"), **{field: True})
    for role in ("integrator", "crew"):
        refused = said(crew, job, {field: False}, **WHY, **with_role(crew, role))
        assert refused.status_code == 403, refused.text
        assert "owner or dispatcher" in refused.json["detail"]
    refused = said(crew, job, {field: False}, **with_role(crew, "dispatcher"))
    assert (refused.status_code, refused.json["code"]) == (409, "taint_on_record")
    assert status in refused.json["detail"]
    assert crew.client.get(f"/jobs/{job}").json["status"] == status
    kept = said(crew, job, {field: False}, **WHY, **with_role(crew, "dispatcher"))
    assert (kept.status_code, kept.json["status"]) == (200, "clean")
    last = crew.client.get(f"/jobs/{job}/history").json["items"][-1]
    assert last["reason"] == WHY["Change-Reason"]


def test_one_taint_does_not_hide_that_another_is_taken_back(crew):
    job = crew.mow(crew.lawn("Front"), litter_seen=True, weeds_in_seed=True)
    assert said(crew, job, {"weeds_in_seed": False}).json["code"] == "taint_on_record"
    said_worse = said(crew, job, {"disease_seen": True}, **by_program(crew))
    assert said_worse.status_code == 200
    # Nor does a cancellation in between.
    assert said(crew, job, {"state": "cancelled"}, **by_program(crew)).status_code == 200
    refused = said(crew, job, {"state": "mown", "litter_seen": False}, **by_program(crew))
    assert refused.status_code == 403


def test_a_treated_lawn_is_not_left_by_naming_another(crew):
    treated, other = crew.lawn("Treated"), crew.lawn("Other")
    crew.treated(treated)
    job = crew.mow(treated)
    for changes in ({"lawn_id": other}, {"cut_at": "2026-05-09T09:00:00+01:00"}):
        assert said(crew, job, changes).json["code"] == "taint_on_record", changes
        assert said(crew, job, changes, **WHY, **by_program(crew)).status_code == 403
    assert said(crew, job, {"lawn_id": other}, **WHY).json["status"] == "clean"


def test_what_nobody_knew_is_learned_by_anybody_without_a_word(crew):
    job = crew.mow(crew.lawn("Front"), treatment_history="unknown")
    learned = said(crew, job, {"treatment_history": "none_recorded"}, **with_role(crew, "crew"))
    assert (learned.status_code, learned.json["status"]) == (200, "clean")


def test_that_somebody_knows_of_a_treatment_is_not_forgotten_by_anybody(crew):
    job = crew.mow(crew.lawn("Front"), treatment_history="known")
    for word in ("unknown", "none_recorded"):
        changes = {"treatment_history": word}
        refused = said(crew, job, changes)
        assert refused.json["code"] == "taint_on_record"
        assert "treated with something unknown" in refused.json["detail"]
        assert said(crew, job, changes, **WHY, **by_program(crew)).status_code == 403
    assert said(crew, job, {"treatment_history": "none_recorded"}, **WHY).status_code == 200


@pytest.mark.parametrize("on_the_way", [(), ({"state": "cancelled"},)])
def test_a_taint_is_not_lost_by_planning_again_what_was_cut(crew, on_the_way):
    job = crew.mow(crew.lawn("Front"), litter_seen=True)
    for changes in on_the_way:
        assert said(crew, job, changes, **by_program(crew)).status_code == 200
    planned = {"state": "planned", "planned_at": "2026-05-24T15:00:00+01:00", "cut_at": None}
    for changes in (planned, {**planned, "litter_seen": False}):
        assert said(crew, job, changes, **WHY, **by_program(crew)).status_code == 403
        refused = said(crew, job, changes)
        assert (refused.status_code, refused.json["code"]) == (409, "taint_on_record")
        assert "littered" in refused.json["detail"]
    assert said(crew, job, planned, **WHY).json["state"] == "planned"


def test_what_was_never_cut_is_planned_again_by_anybody(crew):
    job = crew.plan_to_mow(crew.lawn("Front"), litter_seen=True)
    for state in ("cancelled", "planned"):
        assert said(crew, job, {"state": state}, **by_program(crew)).status_code == 200


def test_a_cut_that_was_reported_by_mistake_is_taken_back_with_what_was_seen_in_it():
    device = Device()
    job = device.plan_to_mow(device.lawn("Front"), at="12:30")
    cut = device.what("mown", "12:40", job_id=job, litter_seen=True, **CLEAN)
    device.kept(cut)
    device.kept(device.what("undo", "12:50", undoes=cut["id"]))
    assert device.client.get(f"/jobs/{job}").json["state"] == "planned"


def test_who_mows_sees_otherwise_than_was_expected(crew):
    job = crew.plan_to_mow(crew.lawn("Front"), at="12:30", litter_seen=True)
    assert said(crew, job, {"litter_seen": False}, **by_program(crew)).status_code == 200
    assert said(crew, job, {"litter_seen": True}).status_code == 200
    crew.world.clock.move(hours=1)
    mown = {"state": "mown", "cut_at": "2026-05-24T12:30:00+01:00", "litter_seen": False}
    assert said(crew, job, mown, **with_role(crew, "crew")).json["status"] == "clean"
