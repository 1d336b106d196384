"""A cut that is told only after a tip of its vehicle: in it, or aboard, until somebody says."""

import re

import pytest

from service.documents.rendering.language import LANGUAGES
from tests.crews import NOW, aboard_kg
from tests.devices import CLEAN
from tests.screens import OURS, joined

DAY = "2026-05-24"


def asked(device):
    path = f"/days/{DAY}/decisions?depot_id={device.ids['depots']}"
    items = device.client.get(path).json["decisions"]
    return [one for one in items if one["code"] == "cut_before_tip"]


def decided(device, job_id, **said):
    return device.client.post(f"/jobs/{job_id}/decisions", json=said)


@pytest.fixture
def late(device):
    """Let a cut of 12:15 be told after the tip of 12:30 that it was in, which had a ticket."""
    front = device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN)
    ticket = {"weighed_net": {"value": 24, "unit": "kg"}, "weigh_ticket": "HG1"}
    _, tip = device.kept(front, device.what("tipped", "12:30", **device.site(), **ticket))
    device.later()
    (row,) = device.kept(device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN))
    return {"row": row, "job": row["job_id"], "load": tip["load_id"]}


def test_the_office_is_asked_and_the_crew_in_its_own_language(device, late):
    (item,) = asked(device)
    assert (item["job_id"], item["load_id"]) == (late["job"], late["load"])
    assert "12:30" in item["sentence"]
    assert len({way["what"] for way in item["ways"]}) == 2
    (warning,) = late["row"]["warnings"]
    assert (warning["code"], warning["facts"]["load_id"]) == ("cut_before_tip", late["load"])


@pytest.mark.parametrize("language", [code for code in LANGUAGES if code != "en"])
def test_whoever_tells_it_reads_it_in_the_language_that_is_asked_for(device, language):
    front = device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN)
    device.kept(front, device.what("tipped", "12:30", **device.site()))
    device.later()
    cut = device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN)
    body = {"device": "d", "sent_at": device.world.clock.now().isoformat(), "reports": [cut]}
    body |= {"crew_id": device.ids["crews"], "vehicle_id": device.ids["vehicles"]}
    said = device.client.post("/reports", json=body, headers={"Accept-Language": language})
    (warning,) = said.json["reports"][0]["warnings"]
    assert "12:30" in warning["sentence"]
    assert "which is on record" not in warning["sentence"]


def test_what_went_in_that_tip_is_of_its_load_and_its_weight_and_aboard_no_more(device, late):
    load = device.load(late["load"])
    answer = decided(device, late["job"], decision="went_in_that_tip", load_id=late["load"])
    assert answer.status_code == 200, answer.text
    kept = device.load(late["load"])
    assert {part["job_id"] for part in kept["parts"]} > {p["job_id"] for p in load["parts"]}
    assert late["job"] in {part["job_id"] for part in kept["parts"]}
    assert (kept["weigh_ticket"], kept["weighed_net_kg"]) == ("HG1", 24)
    assert kept["mass_kg"]["likely"] > load["mass_kg"]["likely"]
    assert aboard_kg(device.read()) == 0
    assert asked(device) == []
    balances = device.client.get("/mass-balances").json["balances"]
    there = [row for row in balances if row["place_id"] == device.ids["compost-sites"]]
    # The ticket weighed both lots: together they count as much as it says, and no more.
    assert sum(row["counted_kg"] for row in there) == pytest.approx(24, abs=0.1)
    # Said again it is as it was.
    decided(device, late["job"], decision="went_in_that_tip", load_id=late["load"])
    assert device.load(late["load"])["version"] == kept["version"]


def test_what_is_still_aboard_is_asked_no_more_until_there_is_another_tip(device, late):
    before_kg = aboard_kg(device.read())
    answer = decided(device, late["job"], decision="still_aboard")
    assert answer.status_code == 200, answer.text
    assert answer.json["aboard_after"]
    assert asked(device) == []
    assert aboard_kg(device.read()) == before_kg > 0


def test_a_tip_before_the_cut_or_of_a_lot_that_is_not_aboard_is_no_way_out(device, late):
    (other,) = device.kept(device.what("mown", "12:34", lawn_id=device.lawn("Side"), **CLEAN))
    said = {"decision": "went_in_that_tip", "load_id": late["load"]}
    answer = decided(device, other["job_id"], **said)
    assert [one["pointer"] for one in answer.json["errors"]] == ["/load_id"]
    assert decided(device, late["job"], decision="went_in_that_tip").status_code == 422
    assert (
        decided(device, late["job"], decision="the_same", load_id=late["load"]).status_code == 422
    )


def test_what_was_on_record_when_its_vehicle_tipped_other_lots_is_asked_of_nobody(device):
    cuts = device.kept(
        device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN),
        device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN),
    )
    device.later()
    some = {"parts": [{"job_id": cuts[0]["job_id"]}]}
    device.kept(device.what("tipped", "12:30", **device.site(), **some))
    device.later()
    job = f"/jobs/{cuts[1]['job_id']}"
    area = {"area_mowed": {"value": 70, "unit": "m2"}}
    assert device.client.patch(job, json=area, headers=NOW).status_code == 200
    assert asked(device) == []


@pytest.mark.parametrize("act", ["went_in", "still_aboard"])
def test_the_day_page_has_a_button_for_each_way_out(device, late, act):
    device.read()
    office = joined(device.world, device.yard, "dispatcher")
    page = office.get(f"/screens/day?day={DAY}").text
    form = re.search(r'<form[^>]*action="([^"]*/late-cut)".*?</form>', page, re.DOTALL)
    names = re.findall(r'name="(\w+)" value="([^"]*)"', form[0])
    fields = {name: value for name, value in names if name != "act"}
    assert ("act", act) in names
    said = office.post(form[1], data={**fields, "act": act}, headers=OURS)
    assert said.status_code == 303, said.text
    assert asked(device) == []
    assert (aboard_kg(device.read()) == 0) is (act == "went_in")
    assert late["load"] == fields["load"]


def test_what_went_into_a_bay_lies_there(device):
    bay = {"destination_kind": "hold_bay", "destination_id": device.ids["hold-bays"]}
    front = device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN)
    _, tip = device.kept(front, device.what("tipped", "12:30", **bay))
    device.later()
    (row,) = device.kept(device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN))
    said = {"decision": "went_in_that_tip", "load_id": tip["load_id"]}
    answer = decided(device, row["job_id"], **said)
    assert answer.status_code == 200, answer.text
    assert aboard_kg(device.read()) == 0
    assert asked(device) == []
    held = device.client.get("/hold-entries").json["items"]
    lots = {lot for entry in held for lot in entry["lot_codes"] if entry["state"] == "in_bay"}
    assert len(lots) == 2
