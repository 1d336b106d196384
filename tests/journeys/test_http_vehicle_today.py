"""My vehicle: one small answer, and a crew's whole day in few round trips and bytes."""

from uuid import UUID

import jsonschema
import pytest

from service.api.work.vehicle_today import VEHICLE_TODAY
from service.core.callers.access import Role
from tests.crews import another_crew, drops
from tests.devices import CLEAN

LARGEST = 5_000
A_DAY = 200_000
ROUND_TRIPS = 20


def today(device, **headers):
    return device.client.get(f"/vehicles/{device.ids['vehicles']}/today", headers=headers)


def told(device):
    answer = today(device)
    assert answer.status_code == 200, answer.text
    assert len(answer.data) <= LARGEST
    jsonschema.Draft202012Validator(VEHICLE_TODAY).validate(answer.json)
    return answer.json


def test_a_vehicle_is_told_its_next_stops_its_room_and_its_next_tip(device):
    lawn = device.lawn("Front")
    device.kept(device.what("mown", "12:10", lawn_id=lawn, **CLEAN))
    device.plan_to_mow(device.lawn("Back"))
    plan = device.read()
    (drop, *_) = drops(plan)
    said = told(device)
    (vehicle,) = plan["routing"]["vehicles"]
    assert said["room"]["kg"] == vehicle["aboard_now"]["room_left_kg"]
    assert 0 < said["room"]["bags"] <= said["room"]["kg"] / said["room"]["bag_kg"]
    tip = said["next_tip"]
    assert (tip["load_id"], tip["name"]) == (drop["load_id"], drop["destination"])
    assert tip["show"]["lot_codes"] == drop["lot_codes"]
    assert tip["address"] is not None
    runner_up = drop["explanation"]["runner_up"]["destinations"]
    assert (tip["plan_b"] is None) == (not runner_up)
    job = next(stop for stop in said["stops"] if stop["kind"] == "job")
    assert (
        job["address"]
        == device.client.get(f"/properties/{device.ids['properties']}").json["address"]
    )


def test_the_room_of_a_vehicle_is_the_room_that_is_computed_for_the_same_figures(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    (vehicle,) = device.read()["routing"]["vehicles"]
    aboard = vehicle["aboard_now"]
    figures = {
        "payload_kg": vehicle["payload_kg"],
        "body_volume_m3": vehicle["body_volume_m3"],
        "aboard_mass_kg": aboard["mass_high_kg"],
        "aboard_volume_m3": aboard["volume_high_l"] / 1000,
        "wetness": "rained_on",
        "day": "2026-05-24",
    }
    by_plan = told(device)["room"]
    computed = device.client.post("/computations/vehicle-room", json=figures).json["result"]
    assert by_plan["kg"] == pytest.approx(computed["mass_kg"], abs=1)
    assert by_plan["litres"] == pytest.approx(computed["volume_litres"], abs=1)
    assert by_plan["bags"] == computed["bags"]
    # Of the wettest grass (890 kg/m3, 1,500 lb/yd3) no litre more than the payload carries.
    assert by_plan["litres"] * 0.889 <= by_plan["kg"] + 1


def test_what_did_not_change_is_not_sent_again_and_what_did_is_said(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.kept(device.what("tipped", "12:20", **device.site()))
    first = today(device)
    again = today(device, **{"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    device.plan_to_mow(device.lawn("Back"))
    later = today(device, **{"If-None-Match": first.headers["ETag"]})
    assert later.status_code == 200
    assert later.json["revision"] > first.json["revision"]
    assert [line.split(": ")[1] for line in later.json["changed"]] == ["The job is new."]


def test_a_crew_is_told_that_its_vehicle_may_be_overloaded_before_anything_else(device):
    device.patch(f"/crews/{device.ids['crews']}", {"language": "es"})
    vehicle = f"/vehicles/{device.ids['vehicles']}"
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    assert told(device)["cautions"] == []
    device.patch(vehicle, {"payload_kg": 10})
    (said,) = told(device)["cautions"]
    assert "puede llevar 10" in said
    assert "oficina" in said


def test_grass_of_yesterday_is_told_before_the_next_stop_and_its_hour_as_past(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.world.clock.move(days=1)
    device.plan_to_mow(device.lawn("Back"), planned_at="2026-05-25T15:00:00+01:00")
    said = told(device)
    assert any("zanim zbierze się cokolwiek innego" in one for one in said["cautions"])
    assert [one for one in said["next_tip"]["cautions"] if "skiśnięta od" in one]
    assert said["next_tip"]["keeps_until"] < "2026-05-25T12:00"


def test_a_vehicle_without_a_plan_is_told_its_room(device):
    said = told(device)
    assert (said["plan_id"], said["stops"], said["next_tip"]) == (None, [], None)
    assert said["room"]["kg"] > 0


def test_a_long_day_with_long_texts_fits_and_counts_what_does_not(device):
    text = {
        "access_notes": "Za łąką, obok źródła i żółtej bramy, " * 25,
        "address": "1 Long Lane " * 12,
    }
    device.patch(f"/properties/{device.ids['properties']}", text)
    for number in range(14):
        device.plan_to_mow(device.lawn(f"Lawn {number}"), at=f"14:{number * 4:02}")
    said = told(device)
    assert said["stops"]
    assert len(said["stops"]) + said["stops_after"] >= 14


def test_a_crews_day_is_at_most_twenty_round_trips_and_two_hundred_kilobytes(device):
    sent = trips = 0

    def ask(answer):
        nonlocal sent, trips
        assert answer.status_code in {200, 304}, answer.text
        sent, trips = sent + len(answer.data), trips + 1
        return answer

    # Eight lawns, looked at before each and after it, tipped three times: all a crew does.
    lawns = [device.lawn(f"Lawn {number}") for number in range(8)]
    for number, lawn in enumerate(lawns):
        device.plan_to_mow(lawn, at=f"13:{number * 5:02}")
    tag = ask(today(device)).headers["ETag"]
    for number, lawn in enumerate(lawns):
        device.later(minutes=5)
        at = f"13:{number * 5 + 2:02}"
        reports = [device.what("mown", at, lawn_id=lawn, **CLEAN)]
        if number % 3 == 2:
            reports.append(device.what("tipped", f"13:{number * 5 + 3:02}", **device.site()))
        body = {
            "device": "tablet-3",
            "sent_at": device.world.clock.now().isoformat(),
            "crew_id": device.ids["crews"],
            "vehicle_id": device.ids["vehicles"],
            "reports": reports,
        }
        rows = ask(device.client.post("/reports", json=body)).json["reports"]
        assert {row["status"] for row in rows} == {200}, rows
        tag = ask(today(device, **{"If-None-Match": tag})).headers["ETag"]
    assert trips <= ROUND_TRIPS
    assert sent <= A_DAY


def test_a_crews_key_is_told_its_own_vehicle_and_no_other(device):
    others = another_crew(device)["vehicle_id"]
    with device.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
    crew = UUID(device.ids["crews"])
    device.patch(f"/crews/{crew}", {"vehicle_id": device.ids["vehicles"]})
    own = device.world.client(firm.id, Role.CREW, crew_id=crew)
    assert own.get(f"/vehicles/{device.ids['vehicles']}/today").status_code == 200
    assert own.get(f"/vehicles/{others}/today").status_code == 404
    # For a day it drives another.
    device.plan_to_mow(device.lawn("Front"), vehicle_id=others)
    assert own.get(f"/vehicles/{others}/today").status_code == 200
