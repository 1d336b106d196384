"""What was tipped is kept; that a limit of its bed had no room for it is told at once."""

from math import floor

import pytest

from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.told_words import told_sentence
from tests.holds import DAY, Yard
from tests.outages import warnings

LARGE = {"value": 440, "unit": "m2"}
IN_ZONE = {
    "ground_kind": "farm_holding_in_nitrate_zone",
    "opening_balance": {
        "mass_kg": 40,
        "nitrogen_kg": 0.99,
        "laid_on": "2026-03-01",
        "stated_by": "The farmer",
    },
}
REFUSED = {"drainage": "poor"}
AT_MOST = {"consent": {"state": "given", "mass_per_visit_max_kg": 20}}


@pytest.fixture
def yard():
    """Return a yard whose bed has little room left, at one in the afternoon."""
    return Yard()


def tipped(yard, job, at="12:40", day=DAY):
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": f"{day}T{at}:00+01:00",
        "parts": [{"job_id": job}],
    }
    return yard.post("/loads", tip)


def told(yard):
    """Return what the day's decisions, warnings and evening say of a limit, one of each."""
    about = f"?depot_id={yard.ids['depots']}"
    (warning,) = warnings(yard.routing(), "over_limit")
    decisions = yard.client.get(f"/days/{DAY}/decisions{about}").json["decisions"]
    (decision,) = [one for one in decisions if one["code"] == "over_limit"]
    closing = yard.post(f"/days/{DAY}/closing{about}", {})
    (still_open,) = [one for one in closing["content"]["still_open"] if one["code"] == "over_limit"]
    assert decision["sentence"] == still_open["sentence"] == warning["why"]
    assert still_open["owner"] == "dispatcher"
    return warning, decision


def quiet(yard):
    assert warnings(yard.routing(), "over_limit") == []
    decisions = yard.client.get(f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}").json
    assert "over_limit" not in [one["code"] for one in decisions["decisions"]]


def test_more_nitrogen_than_the_law_allows_is_told_to_the_dispatcher_as_law(yard):
    yard.patch(yard.bed, IN_ZONE)
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    warning, decision = told(yard)
    assert (warning["rule_class"], warning["limit_code"]) == ("law", "yearly_nitrogen")
    assert (decision["urgency"], decision["load_id"]) == ("now", load["id"])
    assert decision["sentence"].startswith("More than the law allows lies on ")
    ways = {way["href"] for way in decision["ways"]}
    assert f"/loads/{load['id']}" in ways


def test_the_same_on_ground_that_no_law_names_is_told_as_advice(yard):
    yard.patch(yard.bed, {**IN_ZONE, "ground_kind": "private_garden"})
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    warning, decision = told(yard)
    assert (warning["rule_class"], decision["urgency"]) == ("advice", "today")
    assert "law" not in decision["sentence"]


def test_what_a_client_takes_at_a_time_is_held_against_area_and_weight_as_they_are_corrected(yard):
    yard.patch(yard.bed, AT_MOST)
    job = yard.mow(yard.lawn("Noon"), at="12:30")
    load = tipped(yard, job)
    assert load["mass_kg"]["high"] < 20
    quiet(yard)
    yard.patch(f"/jobs/{job}", {"area_mowed": LARGE})
    warning, decision = told(yard)
    assert (warning["rule_class"], warning["limit_code"]) == ("client", "consent_mass")
    assert f"/beds/{yard.ids['beds']}" in [way["href"] for way in decision["ways"]]
    yard.patch(
        f"/loads/{load['id']}",
        {
            "weighed_net": {"value": 19, "unit": "kg"},
            "weigh_ticket": "W-1",
            "ticket_review": "accepted",
        },
    )
    quiet(yard)
    yard.patch(f"/loads/{load['id']}", {"weighed_net": {"value": 25, "unit": "kg"}})
    yard.patch(f"/loads/{load['id']}", {"ticket_review": "accepted"})
    warning, _ = told(yard)
    assert "25 kg as weighed" in warning["why"]
    yard.patch(f"/loads/{load['id']}", {"state": "refused", "refusal_reason": "Too much"})
    quiet(yard)


def test_of_two_tips_a_day_the_one_that_had_no_room_any_more_is_told(yard):
    yard.patch(yard.bed, AT_MOST)
    first = tipped(yard, yard.mow(yard.lawn("First"), at="11:00"), at="11:20")
    second = tipped(yard, yard.mow(yard.lawn("Second"), at="12:30"), at="12:40")
    assert first["mass_kg"]["high"] + second["mass_kg"]["high"] > 21
    warning, _ = told(yard)
    assert warning["load_id"] == second["id"]


def test_a_crew_is_told_at_once_in_the_answer_to_its_report(yard):
    yard.patch(yard.bed, AT_MOST)
    job = yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE)
    report = {
        "id": "6f7d4f3e-9d38-4a53-8a1e-0d9a1c6c2b11",
        "kind": "tipped",
        "at": f"{DAY}T12:50:00+01:00",
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "parts": [{"job_id": job}],
    }
    said = {
        "device": "phone",
        "sent_at": f"{DAY}T13:00:00+01:00",
        "vehicle_id": yard.ids["vehicles"],
        "crew_id": yard.ids["crews"],
        "reports": [report],
    }
    (answer,) = yard.client.post("/reports", json=said).json["reports"]
    assert answer["status"] == 200
    assert "More than its client takes" in answer["sentence"]
    (warning,) = answer["warnings"]
    assert (warning["code"], warning["rule_class"]) == ("over_limit", "client")
    assert warning["sentence"] in answer["sentence"]


def test_the_office_that_records_or_weighs_a_tip_is_told_what_a_crew_would_be(yard):
    yard.patch(yard.bed, AT_MOST)
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    (warning,) = load["warnings"]
    (told_day,) = warnings(yard.routing(), "over_limit")
    assert warning["sentence"] == told_day["why"]
    path = f"/loads/{load['id']}"
    ticket = {"weighed_net": {"value": 25.4, "unit": "kg"}, "weigh_ticket": "W-1"}
    yard.patch(path, ticket)
    weighed = yard.patch(path, {"ticket_review": "accepted"})
    assert "25.4 kg as weighed" in weighed["warnings"][0]["sentence"]
    gone = yard.patch(path, {"state": "refused", "refusal_reason": "Too much"})
    assert gone["warnings"] == []


@pytest.mark.parametrize("code", sorted(set(LANGUAGES) - {"en"}))
def test_who_tipped_too_much_reads_it_in_its_own_language(yard, code):
    yard.patch(yard.bed, {**AT_MOST, **REFUSED})
    job = yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": f"{DAY}T12:40:00+01:00",
        "parts": [{"job_id": job}],
    }
    answer = yard.client.post("/loads", json=tip, headers={"Accept-Language": code})
    assert answer.headers["Content-Language"] == code
    refused, over = answer.json["warnings"]
    bed = yard.client.get(yard.bed).json["name"]
    for warning in (refused, over):
        sentence = told_sentence(warning["code"], warning | warning["facts"], language_code=code)
        assert warning["sentence"] == sentence
        assert bed in sentence


def test_a_law_is_broken_by_less_than_a_kilogram_and_the_room_is_told_smaller_than_what_lies(yard):
    nearly = {**IN_ZONE["opening_balance"], "nitrogen_kg": 0.4}
    yard.patch(yard.bed, {**IN_ZONE, "opening_balance": nearly})
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    path = f"/loads/{load['id']}"

    def weighed(grams):
        kg = {"value": grams / 1000, "unit": "kg"}
        yard.patch(path, {"weighed_net": kg, "weigh_ticket": "W-1"})
        return yard.patch(path, {"ticket_review": "accepted"})["warnings"]

    within, over = 1_000, 200_000
    while over - within > 1:
        middle = (within + over) // 2
        within, over = (within, middle) if weighed(middle) else (middle, over)
    (warning,) = weighed(over)
    facts = warning["facts"]
    assert warning["rule_class"] == "law"
    assert facts["room_kg"] <= within / 1000 < facts["room_kg"] + 1
    assert facts["mass_high_kg"] == facts["room_kg"] + 1


def note_of(yard, load):
    return yard.post(f"/loads/{load['id']}/delivery-notes", {})["note"]


def keys_of(note, heading):
    found = [one["lines"] for one in note["sections"] if one["heading"] == heading]
    return [line["key"] for lines in found for line in lines]


def test_a_note_says_that_a_load_is_more_than_the_bed_may_have_and_counts_no_layers(yard):
    nearly = {**IN_ZONE["opening_balance"], "nitrogen_kg": 0.4}
    yard.patch(yard.bed, {**IN_ZONE, "opening_balance": nearly})
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    warning, _ = told(yard)
    note = note_of(yard, load)
    guidance = note["facts"]["guidance"]
    assert guidance["too_much"]["limit_of"] == "law"
    assert floor(guidance["too_much"]["allowed_kg"]) == warning["room_kg"]
    assert guidance["depth_mm"] > 5
    assert guidance["no_more_before"] is None
    assert keys_of(note, "too_much") == ["too_much.law", "too_much.rest", "too_much.call"]
    assert "spread.next_layer" not in keys_of(note, "spread")
    laid = guidance["area_covered_m2"] * guidance["depth_mm"]
    amount = note["facts"]["amount"]
    share = guidance["too_much"]["allowed_kg"] / amount["estimate_kg"]["likely"]
    assert laid == pytest.approx(share * amount["volume_litres"]["likely"], rel=0.02)


def test_where_nothing_may_stay_a_note_does_not_tell_how_to_spread_it(yard):
    full = {**IN_ZONE["opening_balance"], "nitrogen_kg": 4.0}
    yard.patch(yard.bed, {**IN_ZONE, "opening_balance": full})
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    note = note_of(yard, load)
    assert keys_of(note, "too_much") == ["too_much.law_none", "too_much.all", "too_much.call"]
    assert keys_of(note, "spread") == []
    answers = {one["question"]: one for one in note["answers"]}
    assert "mix_with" not in answers
    assert [line["key"] for line in answers["how_thick"]["lines"]] == ["too_much.law_none"]


def test_a_note_that_a_correction_made_too_much_gets_a_version_that_says_so(yard):
    yard.patch(yard.bed, AT_MOST)
    job = yard.mow(yard.lawn("Noon"), at="12:30")
    load = tipped(yard, job)
    assert note_of(yard, load)["facts"]["guidance"]["too_much"] is None
    yard.patch(f"/jobs/{job}", {"area_mowed": LARGE})
    note = note_of(yard, load)
    assert note["facts"]["version"] == 2
    assert keys_of(note, "too_much")[0] == "too_much.client"
    assert "field.allowed" in str(note["changes"])


def test_what_may_stay_is_the_least_of_all_limits_whosever_it_is(yard):
    garden = {**IN_ZONE, "ground_kind": "private_garden"}
    yard.patch(yard.bed, garden)
    job = yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE)
    load = tipped(yard, job)
    advised, _ = told(yard)
    note = note_of(yard, load)
    for most_kg in (advised["room_kg"] + 6, advised["room_kg"] + 60):
        yard.patch(yard.bed, {"consent": {"mass_per_visit_max_kg": most_kg}})
        warning, _ = told(yard)
        assert (warning["rule_class"], warning["room_kg"]) == ("advice", advised["room_kg"])
        assert note_of(yard, load)["facts"]["guidance"] == note["facts"]["guidance"]
    for weighed_kg in (advised["room_kg"] + 10, advised["room_kg"] + 70):
        ticket = {"weighed_net": {"value": weighed_kg, "unit": "kg"}, "weigh_ticket": "W-1"}
        yard.patch(f"/loads/{load['id']}", ticket)
        yard.patch(f"/loads/{load['id']}", {"ticket_review": "accepted"})
        warning, _ = told(yard)
        too_much = note_of(yard, load)["facts"]["guidance"]["too_much"]
        assert (warning["rule_class"], too_much["limit_of"]) == ("advice", "advice")
        assert floor(too_much["allowed_kg"]) == warning["room_kg"]
    assert [one["rule_class"] for one in warning["also_over"]] == ["client"]


def test_a_law_that_is_broken_too_is_named_beside_the_lesser_room(yard):
    nearly = {**IN_ZONE["opening_balance"], "nitrogen_kg": 0.4}
    yard.patch(yard.bed, {**IN_ZONE, **AT_MOST, "opening_balance": nearly})
    yard.patch(yard.bed, {"consent": {"mass_per_visit_max_kg": 2}})
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE))
    warning, decision = told(yard)
    assert (warning["rule_class"], warning["room_kg"]) == ("client", 2)
    (law,) = (one for one in warning["also_over"] if one["rule_class"] == "law")
    assert law["limit_code"] == "yearly_nitrogen"
    assert f"It is also more than the law allows: {law['room_kg']} kg." in decision["sentence"]
    assert decision["urgency"] == "now"
    assert f"/beds/{yard.ids['beds']}" in [way["href"] for way in decision["ways"]]
    note = note_of(yard, load)
    keys = ["too_much.client", "too_much.law", "too_much.rest", "too_much.call"]
    assert keys_of(note, "too_much") == keys
    assert note["facts"]["guidance"]["no_more_before"] is None


def test_a_limit_is_told_rounded_down_by_everybody(yard):
    yard.patch(yard.bed, IN_ZONE)
    job = yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=LARGE)
    said = yard.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
    (bed,) = [one for one in said if one["destination_kind"] == "bed"]
    load = tipped(yard, job)
    rounded_up = 0
    for nitrogen_kg in (0.99, 0.95, 0.9, 0.85, 0.8, 0.75, 0.7):
        balance = {**IN_ZONE["opening_balance"], "nitrogen_kg": nitrogen_kg}
        yard.patch(yard.bed, {"opening_balance": balance})
        warning, decision = told(yard)
        allowed_kg = note_of(yard, load)["facts"]["guidance"]["too_much"]["allowed_kg"]
        rounded_up += round(allowed_kg) > floor(allowed_kg)
        assert warning["room_kg"] == floor(allowed_kg)
        assert f"there was room for {floor(allowed_kg)} kg." in decision["sentence"]
        assert f"counted: {floor(allowed_kg)} kg of this lot" in decision["sentence"]
    assert rounded_up
    assert f" {floor(bed['accepted_kg'])} kg " in bed["sentence"]
