"""What is recorded of ground, plants, products and people changes what is done."""

from datetime import UTC, datetime

import pytest

from tests.journeys.test_http_grazing import Stable
from tests.outages import warnings

PASSED = {"clippings_cut_on": "2026-05-10", "passed": True, "stated_by": "T. Green"}


@pytest.fixture
def stable():
    return Stable()


def learn_of_mowings(stable):
    """Let the job be asked anew: mowings of the days before that were entered after it count."""
    said = {"If-Match": "*", "Change-Reason": "The mowings before were entered late."}
    change = {"treatment_history": "known"}
    answer = stable.client.patch(f"/jobs/{stable.job}", json=change, headers=said)
    assert answer.status_code == 200, answer.text


class TestTheStateOfTheGround:
    def test_frozen_of_last_winter_refuses_nothing_in_may_but_is_looked_at(self, stable):
        stable.change(stable.bed, ground_state="frozen", ground_state_at="2026-01-16T08:00:00Z")
        assert stable.verdict()["accepted_kg"] > 0
        (drop,) = stable.bed_drops()
        assert "look_at_ground" in [word["code"] for word in drop["cautions"]]

    def test_frozen_this_morning_refuses(self, stable):
        stable.change(stable.bed, ground_state="frozen", ground_state_at="2026-05-24T05:00:00Z")
        assert stable.verdict()["code"] == "ground_not_fit"

    def test_not_fit_without_a_time_stands_until_somebody_looks_again(self, stable):
        stable.change(stable.bed, ground_state="waterlogged", ground_state_at=None)
        assert stable.verdict()["code"] == "ground_not_fit"

    def test_firm_this_morning_needs_no_other_look(self, stable):
        stable.change(stable.bed, ground_state="firm", ground_state_at="2026-05-24T05:00:00Z")
        (drop,) = stable.bed_drops()
        assert "look_at_ground" not in [word["code"] for word in drop["cautions"]]


class TestSensitivePlants:
    def test_they_wait_as_long_as_food_does(self, stable):
        stable.treat("2,4-D", on="2026-03-01")
        for day in ("2026-04-01", "2026-04-15", "2026-05-01", "2026-05-15"):
            stable.mown_on(day)
        learn_of_mowings(stable)
        assert stable.verdict()["accepted_kg"] > 0
        stable.change(stable.bed, sensitive_plants="Roses.")
        assert stable.verdict()["code"] == "treatment_wait"

    def test_the_note_names_them(self, stable):
        stable.change(stable.bed, sensitive_plants="Rhododendrons.")
        (drop,) = stable.bed_drops()
        note = stable.post(f"/loads/{drop['load_id']}/delivery-notes", {})
        assert "Rhododendrons" in stable.client.get(f"/delivery-notes/{note['id']}").text


class TestProductsThatProtectNoPlants:
    @pytest.mark.parametrize("written", ["fertiliser", "Ammonium nitrate", "seaweed", "lime"])
    def test_a_feed_on_record_is_over_after_one_mowing(self, stable, written):
        stable.treat(written, on="2026-05-01", product="Spring feed")
        stable.change(f"/jobs/{stable.job}", treatment_history="known")
        assert stable.verdict()["code"] == "treatment_wait"
        stable.mown_on("2026-05-10")
        learn_of_mowings(stable)
        assert stable.verdict()["accepted_kg"] > 0

    def test_a_weed_and_feed_waits_for_its_weed_killer(self, stable):
        stable.treat("fertiliser", "dicamba", on="2026-05-20", product="Weed and feed")
        stable.change(f"/jobs/{stable.job}", treatment_history="known")
        assert stable.verdict()["facts"]["because"] == "dicamba"


class TestABioassay:
    def test_one_that_passed_ends_a_never_that_names_no_end(self, stable):
        treated = stable.treat("aminopyralid", on="2017-05-01")
        stable.change(f"/jobs/{stable.job}", treatment_history="known")
        assert stable.verdict()["code"] == "treatment_never"
        said = {"If-Match": "*", "Change-Reason": "The beans came up whole."}
        told = {"json": {"bioassay": PASSED}, "headers": said}
        answer = stable.client.patch(f"/treatments/{treated}", **told)
        assert answer.status_code == 200, answer.text
        assert stable.verdict()["accepted_kg"] > 0

    def test_one_that_failed_ends_nothing(self, stable):
        stable.treat("aminopyralid", on="2017-05-01", bioassay={**PASSED, "passed": False})
        assert stable.verdict()["code"] == "treatment_never"

    def test_it_does_not_loosen_a_label_that_forbids_it(self, stable):
        stable.treat("aminocyclopyrachlor", on="2017-05-01", bioassay=PASSED)
        assert stable.verdict()["code"] == "treatment_never"

    def test_it_is_of_clippings_cut_after_the_treatment(self, stable):
        body = {
            "lawn_id": stable.ids["lawns"],
            "product": "Pasture weed control",
            "applied_on": "2026-05-12",
            "statement_source": "applicator_record",
            "stated_by": "T. Green",
            "bioassay": PASSED,
        }
        answer = stable.client.post("/treatments", json=body)
        assert answer.status_code == 422
        assert answer.json["errors"][0]["pointer"] == "/bioassay/clippings_cut_on"


class TestPeopleOnATreatedLawn:
    def test_nobody_mows_before_people_may_return(self, stable):
        stable.treat("2,4-D", on="2026-05-24", people_may_return_at="2026-05-24T18:00:00Z")
        told = stable.ask(treatment_history="known")["keep_off"]
        assert told["product"] == "Lawn weed control"
        assert datetime.fromisoformat(told["until"]) == datetime(2026, 5, 24, 18, tzinfo=UTC)
        assert "before 19:00: the label" in told["sentence"]
        job = stable.plan_to_mow(treatment_history="known")
        (warning,) = warnings(stable.routing(), "people_not_back_yet")
        assert warning["job_id"] == job

    def test_it_is_the_hour_of_the_plan_that_is_warned_of_not_the_one_once_thought_of(self, stable):
        stable.treat("2,4-D", on="2026-05-24", people_may_return_at="2026-05-24T13:30:00Z")
        job = stable.plan_to_mow(treatment_history="known")  # for three
        plan = stable.routing()
        (at,) = [
            stop["at"]
            for vehicle in plan["routing"]["vehicles"]
            for stop in vehicle["stops"]
            if stop["kind"] == "job" and stop["job_id"] == job
        ]
        assert datetime.fromisoformat(at) < datetime(2026, 5, 24, 13, 30, tzinfo=UTC)
        (warning,) = warnings(plan, "people_not_back_yet")
        assert warning["job_id"] == job

    def test_it_is_warned_of_the_hour_that_was_said_too_where_the_plan_comes_later(self, stable):
        stable.treat("2,4-D", on="2026-05-24", people_may_return_at="2026-05-24T14:30:00Z")
        hours = [{"weekday": 6, "opens": "16:00", "closes": "18:00", "last_load": "18:00"}]
        stable.change(f"/lawns/{stable.ids['lawns']}", mowing_hours=hours)
        stable.plan_to_mow(treatment_history="known")  # for three
        assert len(warnings(stable.routing(), "people_not_back_yet")) == 1

    def test_who_asks_now_is_told_though_the_plan_comes_later(self, stable):
        stable.treat("2,4-D", on="2026-05-24", people_may_return_at="2026-05-24T13:30:00Z")
        hours = [{"weekday": 6, "opens": "16:00", "closes": "18:00", "last_load": "18:00"}]
        stable.change(f"/lawns/{stable.ids['lawns']}", mowing_hours=hours)
        stable.plan_to_mow(treatment_history="known")
        assert warnings(stable.routing(), "people_not_back_yet") == []
        assert "before 14:30" in stable.ask(treatment_history="known")["keep_off"]["sentence"]

    def test_who_said_it_is_told_with_the_finding(self, stable):
        stable.treat("dicamba")
        facts = stable.ask(treatment_history="known")["facts"]
        assert facts["statement_source"] == "applicator_record"
        assert facts["stated_by"] == "T. Green, spray technician"
