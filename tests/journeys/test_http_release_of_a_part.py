"""A part of what is held is released by hand; the rest stays, with its clock and its reasons."""

import pytest

from service.core.callers.access import Role
from tests.journeys.test_http_release_by_hand import WHY, entry, path, release, said, to_bed, yard

__all__ = ["yard"]


def part_to_bed(yard, kg, **more):
    body = {name: value for name, value in to_bed(yard).items() if name != "state"}
    return {**body, "mass": {"value": kg, "unit": "kg"}, **more}


def send(yard, body, *, status=201, headers=None, role=None):
    client = yard.client if role is None else yard.world.client(yard.firm_id, role)
    answer = client.post(f"{path(yard)}/parts", json=body, headers=headers or {})
    assert answer.status_code == status, answer.text
    return answer.json


def likely(yard):
    return yard.entry()["mass_kg"]["likely"]


def test_a_part_goes_to_a_bed_and_the_rest_waits_as_before(yard):
    before, room = yard.entry(), said(yard, "bed")["accepted_kg"]
    kept = entry(yard)
    part_kg = round(kept["mass_kg"]["likely"] * 0.4, 3)
    load = send(yard, part_to_bed(yard, part_kg))
    assert (load["state"], load["destination_id"]) == ("delivered", yard.ids["beds"])
    assert load["mass_kg"]["likely"] == pytest.approx(part_kg)
    assert {part["hold_entry_id"] for part in load["parts"]} == {kept["id"]}
    rest = yard.entry()
    assert rest["mass_kg"]["likely"] == round(kept["mass_kg"]["likely"] - part_kg)
    same = ("hold_entry_id", "amber_at", "red_at", "held_for", "held_since", "status")
    assert [rest[name] for name in same] == [before[name] for name in same]
    assert entry(yard)["state"] == "in_bay"
    assert said(yard, "bed")["accepted_kg"] < room


def test_the_history_of_an_entry_says_which_part_went_when_and_why(yard):
    load = send(yard, part_to_bed(yard, likely(yard) * 0.4), headers=WHY)
    last = yard.client.get(f"{path(yard)}/history").json["items"][-1]
    assert last["version"] == entry(yard)["version"]
    assert last["changes"] == {"part_load_id": {"was": None, "became": load["id"]}}
    assert last["reason"] == WHY["Change-Reason"]
    assert last["key_id"]


def test_the_rest_is_released_whole_and_no_more_than_the_rest(yard):
    whole_kg = entry(yard)["mass_kg"]["likely"]
    first = send(yard, part_to_bed(yard, whole_kg * 0.4))
    problem = send(yard, part_to_bed(yard, whole_kg * 0.7), status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/mass"]
    kept = release(yard, to_bed(yard))
    second = yard.client.get(f"/loads/{kept['released_load_id']}").json
    assert first["mass_kg"]["likely"] + second["mass_kg"]["likely"] == pytest.approx(whole_kg)
    assert yard.queue() == []


def test_a_part_that_is_undone_lies_in_the_bay_again(yard):
    whole_kg = likely(yard)
    load = send(yard, part_to_bed(yard, whole_kg * 0.4))
    yard.patch(f"/loads/{load['id']}", {"state": "planned"})
    assert likely(yard) == whole_kg


def test_every_kilogram_of_a_part_is_somewhere_in_the_mass_book(yard):
    def book():
        with yard.world.open_unit_of_work() as unit:
            sums = unit.mass_balances.totals(yard.firm_id)
        return {kind: round(at.share, 3) for kind, _, at in sums if abs(at.share) > 1e-6}

    send(yard, part_to_bed(yard, entry(yard)["mass_kg"]["likely"] * 0.25))
    assert book() == {"lawn": -1.0, "hold_bay": 0.75, "bed": 0.25}
    release(yard, {"released_as": "elsewhere", "released_to": "Hill Farm", "state": "released"})
    assert book() == {"lawn": -1.0, "elsewhere": 0.75, "bed": 0.25}


def test_a_part_is_asked_about_as_all_of_it_is(yard):
    part = part_to_bed(yard, likely(yard) * 0.4)
    yard.patch(yard.bed, {"drainage": "poor"})
    assert "Change-Reason" in send(yard, part, status=409)["detail"]
    send(yard, part, status=409, headers=WHY, role=Role.INTEGRATOR)
    load = send(yard, part, headers=WHY, role=Role.DISPATCHER)
    assert "drainage" in load["explanation"]["set_aside"]
    yard.patch(yard.bed, {"consent": {"state": "withdrawn"}})
    assert send(yard, part, status=409, headers=WHY)["code"] == "release_refused"


def test_a_bed_with_room_for_a_part_gets_what_it_has_room_for(yard):
    whole = entry(yard)["mass_kg"]
    most_kg = whole["high"] / 2
    yard.patch(yard.bed, {"consent": {"state": "given", "mass_per_visit_max_kg": most_kg}})
    release(yard, to_bed(yard), status=409)
    send(yard, part_to_bed(yard, whole["likely"] * 0.6), status=409)
    send(yard, part_to_bed(yard, whole["likely"] * 0.4))


def test_every_fault_of_a_part_is_named_at_once_and_a_retry_makes_no_second(yard):
    whole_kg = entry(yard)["mass_kg"]["likely"]
    body = part_to_bed(yard, whole_kg, released_to_id=yard.ids["vehicles"])
    problem = send(yard, body, status=422)
    assert {fault["pointer"] for fault in problem["errors"]} == {"/mass", "/released_to_id"}
    problem = send(yard, {}, status=422)
    told = ("mass", "released_to_id", "released_to_kind", "released_with_id")
    assert sorted(fault["pointer"] for fault in problem["errors"]) == [f"/{one}" for one in told]
    key = {"Idempotency-Key": "the-same-part"}
    loads = {send(yard, part_to_bed(yard, whole_kg / 4), headers=key)["id"] for _ in "ab"}
    assert len(loads) == 1
    assert likely(yard) == round(whole_kg * 0.75)
    release(yard, to_bed(yard))
    send(yard, part_to_bed(yard, 1), status=409)


def test_a_client_who_got_some_today_is_said_to_take_only_what_is_left_of_a_visit(yard):
    whole = entry(yard)["mass_kg"]
    send(yard, part_to_bed(yard, whole["likely"] * 0.5))
    most_kg = round(whole["high"] * 0.8)
    yard.patch(yard.bed, {"consent": {"state": "given", "mass_per_visit_max_kg": most_kg}})
    said = release(yard, to_bed(yard), status=409)["detail"]
    assert f"{whole['high'] * 0.5:.0f} kg" in said
    assert f"{most_kg - whole['high'] * 0.5:.0f} kg" in said
    assert "left" in said


def test_a_field_that_cannot_be_read_hides_nothing_of_the_others(yard):
    nobody = yard.ids["beds"]
    part = part_to_bed(yard, -1, released_with_id=nobody, released_at="2030-01-01T00:00:00Z")
    problem = send(yard, part, status=422)
    told = {fault["pointer"] for fault in problem["errors"]}
    assert told == {"/mass/value", "/released_with_id", "/released_at"}
    problem = send(yard, {"released_at": "noon", "released_to_kind": "bed"}, status=422)
    told = {fault["pointer"] for fault in problem["errors"]}
    assert told == {"/released_at", "/mass", "/released_to_id", "/released_with_id"}
