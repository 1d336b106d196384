"""What was tipped is kept; that its bed takes nothing is told at once, and whose word that is."""

import pytest

from tests.holds import DAY, Yard, drops
from tests.journeys.test_http_law import U13
from tests.journeys.test_http_over_limit import tipped
from tests.outages import warnings

CODE = "tipped_where_refused"
NEXT_DAY = "2026-05-25"
GIVEN = {"state": "given"}


@pytest.fixture
def yard():
    """Return a yard at one in the afternoon, on a Sunday on which only its bed takes anything."""
    return Yard()


def says_first(yard, **fields):
    """Keep what is so of the bed, before anything is tipped there."""
    yard.patch(yard.bed, fields)
    yard.world.clock.move(minutes=5)


def told(yard):
    """Return the decision that a tip lies where nothing may; the warning and the evening say so."""
    about = f"?depot_id={yard.ids['depots']}"
    (warning,) = warnings(yard.routing(), CODE)
    decisions = yard.client.get(f"/days/{DAY}/decisions{about}").json["decisions"]
    (decision,) = [one for one in decisions if one["code"] == CODE]
    closing = yard.post(f"/days/{DAY}/closing{about}", {})
    (still_open,) = [one for one in closing["content"]["still_open"] if one["code"] == CODE]
    assert decision["sentence"] == still_open["sentence"] == warning["why"]
    return warning, decision


def quiet(yard):
    assert warnings(yard.routing(), CODE) == []
    about = f"?depot_id={yard.ids['depots']}"
    decisions = yard.client.get(f"/days/{DAY}/decisions{about}").json["decisions"]
    assert CODE not in [one["code"] for one in decisions]


def answer_to(yard, job):
    """Return what a crew reads when it says that it tipped a lot on the bed."""
    report = {
        "id": "6f7d4f3e-9d38-4a53-8a1e-0d9a1c6c2b12",
        "kind": "tipped",
        "at": f"{DAY}T13:02:00+01:00",
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "parts": [{"job_id": job}],
    }
    said = {
        "device": "phone",
        "sent_at": f"{DAY}T13:05:00+01:00",
        "vehicle_id": yard.ids["vehicles"],
        "crew_id": yard.ids["crews"],
        "reports": [report],
    }
    (answer,) = yard.client.post("/reports", json=said).json["reports"]
    assert answer["status"] == 200
    return answer["sentence"]


@pytest.mark.parametrize(
    ("consent", "code"),
    [
        ({"state": "refused"}, "no_consent"),
        ({"state": "not_asked"}, "no_consent"),
        ({**GIVEN, "expires_on": "2026-05-01"}, "consent_expired"),
    ],
)
def test_a_tip_where_the_client_takes_nothing_is_told_as_the_clients_word(yard, consent, code):
    says_first(yard, consent=consent)
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"), at="13:02")
    warning, decision = told(yard)
    assert (warning["rule_class"], warning["refused_by"]) == ("client", [code])
    assert (decision["urgency"], decision["load_id"]) == ("now", load["id"])
    assert "its client takes nothing there" in decision["sentence"]
    assert "law" not in decision["sentence"]
    assert {way["href"] for way in decision["ways"]} == {f"/loads/{load['id']}", yard.bed}
    yard.patch(yard.bed, {"consent": {"state": "given", "expires_on": None}})
    quiet(yard)


def test_it_is_told_no_more_once_it_was_fetched_back(yard):
    says_first(yard, consent={"state": "refused"})
    load = tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"), at="13:02")
    told(yard)
    yard.patch(f"/loads/{load['id']}", {"state": "refused", "refusal_reason": "Not wanted"})
    quiet(yard)


def test_what_a_client_says_after_a_tip_makes_it_none_where_it_was_refused(yard):
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"))
    yard.world.clock.move(minutes=5)
    yard.patch(yard.bed, {"consent": {"state": "withdrawn"}})
    quiet(yard)


@pytest.mark.parametrize("since", ["withdrawn", "refused", "not_asked"])
def test_what_a_client_takes_back_after_a_tip_is_read_with_the_days_it_was_given_for(yard, since):
    says_first(yard, consent=GIVEN | {"given_on": "2026-04-01", "expires_on": "2026-10-31"})
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"))
    yard.world.clock.move(minutes=5)
    yard.patch(yard.bed, {"consent": {"state": since}})
    quiet(yard)
    assert answer_to(yard, yard.mow(yard.lawn("One"), at="12:50"))


def test_a_consent_that_ends_before_the_day_after_a_tip_makes_it_none_where_it_was_refused(yard):
    says_first(yard, consent=GIVEN | {"given_on": "2026-04-01"})
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"))
    yard.world.clock.move(minutes=5)
    yard.patch(yard.bed, {"consent": {"expires_on": "2026-05-23"}})
    quiet(yard)


def test_a_yes_that_was_over_before_a_tip_and_was_then_taken_back_is_none_to_tip_by(yard):
    says_first(yard, consent=GIVEN | {"given_on": "2026-04-01", "expires_on": "2026-05-20"})
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"), at="13:02")
    yard.world.clock.move(minutes=5)
    yard.patch(yard.bed, {"consent": {"state": "withdrawn"}})
    told(yard)


def test_advice_that_a_dispatcher_set_aside_with_a_reason_is_told_no_second_time(yard):
    yard.patch(yard.bed, {"drainage": "poor"})
    job = yard.mow(yard.lawn("Noon"), at="12:30")
    choice = {"job_id": job, "destination_id": yard.ids["beds"]}
    why = {"Change-Reason": "Its client wants it for the compost corner."}
    kept = yard.client.post("/place-choices", json=choice, headers=why)
    assert kept.status_code == 201, kept.text
    (drop,) = drops(yard.routing())
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    quiet(yard)


def test_a_crew_reads_at_once_that_the_client_takes_nothing(yard):
    says_first(yard, consent={"state": "refused"})
    said = answer_to(yard, yard.mow(yard.lawn("Noon"), at="12:30"))
    assert "The client's consent for this bed is: refused. Call the client" in said


def test_what_goes_on_top_of_what_may_not_lie_there_is_told_as_advice_and_to_its_crew(yard):
    lawn = yard.lawn("First")
    under = yard.mow(lawn, at="10:00")
    tipped(yard, under, at="10:20")
    yard.treated(lawn)
    quiet(yard)
    yard.world.clock.move(minutes=5)
    said = answer_to(yard, yard.mow(yard.lawn("Second"), at="12:30"))
    lot = yard.client.get(f"/jobs/{under}").json["lot_code"]
    assert f"{lot} may not lie here" in said
    warning, decision = told(yard)
    assert (warning["rule_class"], warning["refused_by"]) == ("advice", ["bed_tainted"])
    assert decision["urgency"] == "today"
    yard.post("/recalls", {"lot_code": lot, "reason": "Aminopyralid was found."})
    quiet(yard)


def test_what_came_a_day_later_lay_under_nothing_of_the_day_before(yard):
    tipped(yard, yard.mow(yard.lawn("Sunday"), at="12:30"), at="12:50")
    quiet(yard)
    yard.world.clock.move(minutes=24 * 60)
    lawn = yard.lawn("Monday")
    tipped(yard, yard.mow(lawn, at="12:30", day=NEXT_DAY), at="12:50", day=NEXT_DAY)
    yard.treated(lawn)
    quiet(yard)


def test_what_lies_there_since_the_day_before_lies_under_what_comes(yard):
    lawn = yard.lawn("Sunday")
    tipped(yard, yard.mow(lawn, at="12:30"), at="12:50")
    yard.treated(lawn)
    yard.world.clock.move(minutes=24 * 60)
    job = yard.mow(yard.lawn("Monday"), at="12:30", day=NEXT_DAY)
    tipped(yard, job, at="12:50", day=NEXT_DAY)
    (warning,) = warnings(yard.routing(NEXT_DAY), CODE)
    assert "bed_tainted" in warning["refused_by"]


def test_where_horses_reach_what_was_tipped_it_is_told_to_be_done_now(yard):
    says_first(yard, animals=["horses"], grazing_fenced=False)
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"), at="13:02")
    warning, decision = told(yard)
    assert (warning["rule_class"], decision["urgency"]) == ("advice", "now")
    assert "can kill what eats them" in decision["sentence"]


def test_law_and_a_client_against_one_tip_are_told_together_law_first(yard):
    says_first(yard, consent={"state": "refused"}, legal_basis=U13, water_distance_m=20)
    tipped(yard, yard.mow(yard.lawn("Noon"), at="12:30"), at="13:02")
    warning, decision = told(yard)
    assert warning["rule_class"] == "law"
    assert {"no_consent", "too_near_water"} <= set(warning["refused_by"])
    assert "by law nothing may be laid there" in decision["sentence"]
    assert "Call the client" in decision["sentence"]
