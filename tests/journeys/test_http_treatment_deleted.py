"""Nobody makes grass clean by deleting what its lawn got."""

import pytest

from tests.crews import NOW

WHY = NOW | {"Change-Reason": "It was the neighbour's lawn."}


@pytest.fixture
def mown(crew):
    """Return a treatment's path, its lawn, and the path of a job that is treated by it."""
    lawn = crew.lawn("Front")
    path = f"/treatments/{crew.treated(lawn)['id']}"
    job = f"/jobs/{crew.mow(lawn)}"
    assert crew.client.get(job).json["status"] == "treated"
    return path, lawn, job


def by_program(crew):
    key = crew.post("/keys", {"role": "integrator", "name": "Export"})
    return {"Authorization": f"Bearer {key['secret']}"}


def test_a_treatment_with_jobs_since_is_deleted_only_with_a_reason(crew, mown):
    path, _, job = mown
    refused = crew.client.delete(path, headers=NOW)
    assert refused.status_code == 409
    assert refused.json["code"] == "treatment_needed"
    assert "Change-Reason" in refused.json["detail"]
    assert crew.client.get(job).json["status"] == "treated"
    assert crew.client.delete(path, headers=WHY).status_code == 204


def test_a_program_deletes_no_treatment_with_jobs_since_whatever_it_says(crew, mown):
    path, _, _ = mown
    refused = crew.client.delete(path, headers=WHY | by_program(crew))
    assert refused.status_code == 403
    assert "owner or dispatcher" in refused.json["detail"]


def test_who_deleted_a_treatment_when_and_why_is_read_when_it_is_gone(crew, mown):
    path, lawn, job = mown
    assert crew.client.delete(path, headers=WHY).status_code == 204
    assert crew.client.get(path).status_code == 404
    (gone,) = crew.client.get(f"{path}/history").json["items"]
    assert gone["reason"] == WHY["Change-Reason"]
    assert gone["key_id"]
    assert gone["at"]
    assert gone["changes"]["lawn_id"] == {"was": lawn, "became": None}
    assert gone["changes"]["active_ingredients"]["was"] == ["aminopyralid"]
    told = crew.client.get(f"{job}/history").json["items"][-1]
    assert told["version"] == crew.client.get(job).json["version"]
    assert told["changes"]["status"] == {"was": "treated", "became": "clean"}
    assert told["key_id"] == gone["key_id"]
    assert WHY["Change-Reason"] in told["reason"]


@pytest.mark.parametrize("of", ["lawn", "lot"])
def test_no_reason_deletes_a_treatment_an_open_recall_rests_on(crew, mown, of):
    path, lawn, job = mown
    lot = crew.client.get(job).json["lot_code"]
    wanted = {"lawn_id": lawn} if of == "lawn" else {"lot_code": lot}
    recall = crew.post("/recalls", {**wanted, "reason": "It was found in a bed."})
    refused = crew.client.delete(path, headers=WHY)
    assert refused.status_code == 409
    assert "open recall" in refused.json["detail"]
    ended = crew.client.post(f"/recalls/{recall['id']}/end", headers=NOW)
    assert ended.status_code == 200, ended.text
    assert crew.client.delete(path, headers=WHY).status_code == 204


def test_a_treatment_of_which_nothing_was_cut_goes_as_other_records_do(crew):
    path = f"/treatments/{crew.treated(crew.lawn('Front'))['id']}"
    assert crew.client.delete(path, headers=NOW | by_program(crew)).status_code == 204
    assert len(crew.client.get(f"{path}/history").json["items"]) == 1


def test_a_treatment_is_not_moved_away_from_jobs_since_without_a_reason(crew, mown):
    path, _, job = mown
    ingredients = crew.client.get(path).json["active_ingredients"]
    more = {"active_ingredients": [*ingredients, "dicamba"]}
    assert crew.client.patch(path, json=more, headers=NOW).status_code == 200
    for change in (
        {"lawn_id": crew.lawn("Back")},
        {"applied_on": "2024-05-01"},
        {"active_ingredients": []},
    ):
        refused = crew.client.patch(path, json=change, headers=NOW)
        assert (refused.status_code, refused.json["code"]) == (409, "treatment_needed"), change
        program = crew.client.patch(path, json=change, headers={**NOW, **by_program(crew)})
        assert program.status_code == 403
    assert crew.client.get(job).json["status"] == "treated"
    said = {**NOW, "Change-Reason": "It was the lawn behind"}
    assert (
        crew.client.patch(path, json={"applied_on": "2024-05-01"}, headers=said).status_code == 200
    )


PASSED = {"clippings_cut_on": "2026-05-24", "passed": True, "stated_by": "The laboratory"}
SHORT = {"days": 1}


@pytest.mark.parametrize(
    ("said", "milder", "status"),
    [
        ({"active_ingredients": ["2,4-D"]}, {"label_wait": SHORT}, "clean"),
        ({"active_ingredients": ["iron sulfate"]}, {"label_wait": SHORT}, "clean"),
        ({"active_ingredients": ["aminopyralid"]}, {"bioassay": PASSED}, "clean"),
        ({"active_ingredients": []}, {"active_ingredients": ["iron sulfate"]}, "treated"),
    ],
)
def test_what_makes_grass_cleaner_is_amended_by_the_office_with_a_reason(
    crew, said, milder, status
):
    lawn = crew.lawn("Front")
    long = {"label_wait": {"days": 60}} if "label_wait" in milder else {}
    body = {
        "lawn_id": lawn,
        "product": "P",
        "applied_on": "2026-05-10",
        "statement_source": "applicator_record",
        "stated_by": "T. Green, spray technician",
    }
    path = f"/treatments/{crew.post('/treatments', {**body, **long, **said})['id']}"
    job = f"/jobs/{crew.mow(lawn)}"
    before = crew.client.get(job).json["status"]
    assert crew.client.patch(path, json=milder, headers=NOW).json["code"] == "treatment_needed"
    program = crew.client.patch(path, json=milder, headers={**WHY, **by_program(crew)})
    assert program.status_code == 403
    assert crew.client.get(job).json["status"] == before
    assert crew.client.patch(path, json=milder, headers=WHY).status_code == 200
    assert crew.client.get(job).json["status"] == status
    assert before != status


def test_what_says_more_of_a_treatment_and_makes_nothing_cleaner_needs_no_reason(crew, mown):
    path, _, job = mown
    more = {"product": "Pasture weed control 2", "bioassay": {**PASSED, "passed": False}}
    assert crew.client.patch(path, json=more, headers=NOW | by_program(crew)).status_code == 200
    assert crew.client.get(job).json["status"] == "treated"
