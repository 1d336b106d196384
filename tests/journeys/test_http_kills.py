"""Three kills are kept apart: pathogens of people, plant disease, weed seed."""

import pytest

from tests.crews import NOW, Crew

VESSEL = {"process_temperature_c": 55, "process_days": 3, "process_turnings": 0}
HOT_VESSEL = {"process_temperature_c": 65, "process_days": 7, "process_turnings": 0}
WINDROW = {"process_temperature_c": 56, "process_days": 28, "process_turnings": 6}
LONG_AND_HOT = {"process_temperature_c": 64, "process_days": 21, "process_turnings": 6}
ALL = ["clean", "weedy", "diseased"]
HOURS = [{"weekday": 6, "opens": "06:00", "closes": "20:00", "last_load": "20:00"}]


@pytest.fixture
def crew():
    return Crew(bay=True)


def tell_site(crew, **fields):
    told = {"accepted_statuses": ALL, "hours": HOURS, "kill_evidence": [], **fields}
    crew.patch(f"/compost-sites/{crew.ids['compost-sites']}", told)


def said_of(crew, **seen):
    job = crew.mow(crew.lawn(f"Lawn {sorted(seen)}"), **seen)
    (said,) = [
        one
        for one in crew.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
        if one["destination_kind"] == "compost_site"
    ]
    return said


@pytest.mark.parametrize("jurisdiction", ["US-OH", "US-CA", "GB-ENG", "DE"])
@pytest.mark.parametrize("process", [VESSEL, HOT_VESSEL])
def test_a_vessel_that_ends_pathogens_of_people_is_not_taken_to_end_weed_seed(
    crew, jurisdiction, process
):
    tell_site(crew, jurisdiction=jurisdiction, **process)
    said = said_of(crew, weeds_in_seed=True)
    assert (said["refused"], said["facts"]["kill"]) == (True, "weed_seed")
    assert "weed seed" in said["sentence"]
    assert said["rule_class"] == "advice"


def test_a_site_that_states_no_process_is_not_taken_to_end_anything(crew):
    tell_site(crew)
    for seen, kill in (
        ({"weeds_in_seed": True}, "weed_seed"),
        ({"disease_seen": True}, "plant_disease"),
    ):
        said = said_of(crew, **seen)
        assert (said["code"], said["facts"]) == ("kill_not_shown", {"kill": kill})
    assert not said_of(crew)["refused"]


def test_evidence_for_one_kill_says_nothing_of_the_other(crew):
    shown = {"kill": "weed_seed", "reference": "Germination test 12", "shown_on": "2026-03-01"}
    tell_site(crew, kill_evidence=[shown], **VESSEL)
    assert not said_of(crew, weeds_in_seed=True)["refused"]
    diseased = said_of(crew, disease_seen=True)
    assert (diseased["refused"], diseased["facts"]["kill"]) == (True, "plant_disease")
    both = said_of(crew, disease_seen=True, weeds_in_seed=True)
    assert both["facts"]["kill"] == "plant_disease"


def test_evidence_holds_from_the_day_it_was_shown_until_it_ends(crew):
    shown = {"kill": "weed_seed", "reference": "Test 12", "shown_on": "2026-05-24"}
    tell_site(crew, kill_evidence=[shown])
    assert not said_of(crew, weeds_in_seed=True)["refused"]
    for other in (
        {"shown_on": "2026-05-25"},
        {"shown_on": "2025-05-01", "valid_until": "2026-05-23"},
    ):
        tell_site(crew, kill_evidence=[{**shown, **other}])
        assert said_of(crew, weeds_in_seed=True, at="09:30")["refused"]


def test_what_was_measured_for_a_kill_counts_for_that_kill_alone(crew):
    tell_site(crew, **WINDROW)
    assert not said_of(crew, weeds_in_seed=True)["refused"]
    short = said_of(crew, disease_seen=True)
    assert (short["facts"]["temperature_c_min"], short["facts"]["hours_min"]) == (64.0, 504.0)
    assert short["rule_class"] == "advice"
    tell_site(crew, **LONG_AND_HOT)
    assert not said_of(crew, disease_seen=True, at="09:30")["refused"]
    assert said_of(crew, weeds_in_seed=True, at="09:30")["refused"]


def test_evidence_that_contradicts_itself_names_every_field(crew):
    address = f"/compost-sites/{crew.ids['compost-sites']}"
    bad = {"kill": "weed_seed", "reference": "", "shown_on": "2026-03-01"}
    answer = crew.client.patch(address, json={"kill_evidence": [bad]}, headers=NOW)
    assert answer.status_code == 422
    backwards = {**bad, "reference": "Test", "valid_until": "2026-02-01"}
    answer = crew.client.patch(address, json={"kill_evidence": [backwards]}, headers=NOW)
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["/kill_evidence/0/valid_until"]
