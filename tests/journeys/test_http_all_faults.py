"""What is wrong with a request is told at once: also what only the records can tell."""

from urllib.parse import urlparse

import pytest

from tests.crews import NOW, drops
from tests.holds import Yard

NOBODY = "00000000-0000-0000-0000-000000000007"
TOO_MUCH = {"value": 9000, "unit": "kg"}
LATER = "2026-05-25T12:00:00+01:00"


@pytest.fixture
def yard():
    return Yard()


def named(answer):
    assert answer.status_code == 422, answer.text
    return {error.get("pointer", error.get("header")) for error in answer.json["errors"]}


@pytest.mark.parametrize(
    ("said", "faulty"),
    [
        ({"parts": [{"share": 3}, {"job_id": NOBODY}]}, {"/parts/0/share", "/parts/1/job_id"}),
        ({"parts": [{"share": 3}], "vehicle_id": NOBODY}, {"/parts/0/share", "/vehicle_id"}),
        ({"parts": [{"mass": TOO_MUCH}, {"job_id": NOBODY}]}, {"/parts/0/mass", "/parts/1/job_id"}),
        ({"parts": [{"mass": TOO_MUCH}], "done_at": LATER}, {"/parts/0/mass", "/done_at"}),
        (
            {"parts": [{"job_id": NOBODY}], "weigh_ticket": "7"},
            {"/parts/0/job_id", "/weigh_ticket"},
        ),
        ({"parts": 3, "done_at": LATER}, {"/parts", "/done_at"}),
        ({"destination_id": NOBODY, "remarks": "Wet."}, {"/destination_id", "/remarks"}),
    ],
)
def test_a_tip_is_told_all_that_is_wrong_with_it_at_once(yard, said, faulty):
    job = yard.mow(yard.lawn("Front"), at="11:00")
    parts = said.get("parts", [{}])
    if isinstance(parts, list):
        parts = [{"job_id": job, **part} for part in parts]
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": "2026-05-24T12:00:00+01:00",
        **said,
        "parts": parts,
    }
    assert named(yard.client.post("/loads", json=tip)) == faulty
    assert yard.client.get("/loads").json["items"] == []


@pytest.mark.parametrize("headers", [NOW, {}])
def test_a_load_is_told_of_its_fields_and_of_what_they_say_together_at_once(yard, headers):
    yard.mow(yard.lawn("Front"), at="11:00")
    (drop,) = drops(yard.routing())
    said = {"locked": 3, "state": "partly_refused", "done_at": "2031-01-01T00:00:00Z"}
    answer = yard.client.patch(f"/loads/{drop['load_id']}", json=said, headers=headers)
    missing = set() if headers else {"If-Match"}
    records = {"/refused_share", "/refusal_reason", "/done_at"}
    assert named(answer) == {"/locked", *records, *missing}


def test_a_release_is_told_of_its_fields_and_of_what_they_say_together_at_once(yard):
    yard.held(treatment_history="unknown")
    path = f"/hold-entries/{yard.entry()['hold_entry_id']}"
    place = {"released_as": "place", "released_to_kind": "bed", "released_to_id": NOBODY}
    said = {"state": "released", **place, "released_at": LATER}
    wrong = {"/released_to_id", "/released_with_id", "/released_at"}
    assert named(yard.client.patch(path, json=said, headers=NOW)) == wrong
    unread = yard.client.patch(path, json={**said, "released_to": 3}, headers=NOW)
    assert named(unread) == {"/released_to", *wrong}


def test_an_answer_to_a_note_is_told_that_a_name_is_missing_and_the_amount_too_much(yard):
    yard.mow(yard.lawn("Front"), at="11:00")
    (drop,) = drops(yard.routing())
    yard.world.clock.move(minutes=5)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    note = yard.client.post(f"/loads/{drop['load_id']}/delivery-notes", json={}).json
    path = f"{urlparse(note['links']['page']).path}/acknowledgement"
    said = {"answer": "part_accepted", "accepted_mass_kg": 9000, "version": 7}
    assert named(yard.client.post(path, json=said)) == {
        "/signed_by",
        "/accepted_mass_kg",
        "/version",
    }


SHUT_BEFORE_ITS_LAST_LOAD = {
    "weekday": 0,
    "opens": "08:00",
    "closes": "12:00",
    "last_load": "13:45",
}


def test_a_bed_is_told_of_its_unreadable_fields_and_of_contradictions_in_the_others(yard):
    said = {
        "closed_on": ["2026-11-30", "2026-11-30"],
        "hours": [SHUT_BEFORE_ITS_LAST_LOAD],
        "consent": {"mass_per_visit_max_kg": 100, "mass_per_visit_min_kg": 900},
    }
    others = {"/hours/0", "/consent/mass_per_visit_min_kg"}
    assert named(yard.client.patch(yard.bed, json=said, headers=NOW)) == {"/closed_on", *others}
    del said["closed_on"]
    assert named(yard.client.patch(yard.bed, json=said, headers=NOW)) == others


@pytest.mark.parametrize(
    ("path", "said", "faulty"),
    [
        (
            "compost-sites",
            {"name": 3, "accepted_statuses": ["littered"], "hours": [SHUT_BEFORE_ITS_LAST_LOAD]},
            {"/name", "/accepted_statuses/0", "/hours/0"},
        ),
        ("depots", {"name": 3, "shift_ends": "01:00"}, {"/name", "/shift_ends"}),
        (
            "vehicles",
            {"name": 3, "gross_limit_kg": 1000, "tare_kg": 2000},
            {"/name", "/tare_kg"},
        ),
    ],
)
def test_what_contradicts_itself_is_told_beside_a_field_that_has_nothing_to_do_with_it(
    yard, path, said, faulty
):
    answer = yard.client.patch(f"/{path}/{yard.ids[path]}", json=said, headers=NOW)
    assert named(answer) == faulty


def test_a_faulty_value_of_a_query_is_told_by_the_name_of_its_parameter(yard):
    answer = yard.client.get("/jobs?state=mown&state=eaten")
    assert [error["parameter"] for error in answer.json["errors"]] == ["state"]
