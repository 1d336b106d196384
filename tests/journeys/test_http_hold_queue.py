"""What waits in a bay: it may leave when its reason has gone, and presses while it has not."""

import re
from datetime import datetime

import jsonschema
import pytest

from service.api.work.loads.hold_shape import HOLD_QUEUE
from tests.crews import drops
from tests.holds import DAY, Yard, entry_of
from tests.outages import warnings


@pytest.fixture
def yard():
    return Yard()


def test_an_unknown_history_that_is_answered_releases_by_itself(yard):
    job = yard.held(treatment_history="unknown")
    waits = yard.entry()
    assert (waits["releasable"], waits["why"]["code"]) == (False, "lot_unknown")
    yard.patch(f"/jobs/{job}", {"treatment_history": "none_recorded"})
    free = yard.entry()
    assert (free["releasable"], free["status"]) == (True, "clean")
    (entry,) = yard.client.get("/hold-entries?state=in_bay").json["items"]
    assert entry["status"] == "clean"
    assert [taker["destination_kind"] for taker in free["takers"]] == ["bed"]


def test_an_entry_tells_the_clock_and_the_way_out_that_its_job_has_by_now(yard):
    job = yard.held(treatment_history="unknown")
    wrong = {"cut_at": "2026-05-24T09:30:00+01:00", "wetness": "lush"}
    yard.patch(f"/jobs/{job}", {**wrong, "treatment_history": "none_recorded"})
    waits = yard.entry()
    kept = entry_of(yard, waits)
    clocks = [
        [datetime.fromisoformat(one[light]) for light in ("amber_at", "red_at")]
        for one in (waits, kept)
    ]
    assert clocks[0] == clocks[1]
    assert datetime.fromisoformat(kept["cut_at"]) == datetime.fromisoformat(wrong["cut_at"])
    assert (kept["status"], kept["release_condition_code"]) == ("clean", "room_elsewhere")


def test_what_is_found_on_the_way_to_the_bay_is_what_is_expected_there(yard):
    job = yard.mow(yard.lawn("Front"), at="11:00", treatment_history="unknown")
    (drop,) = [d for d in drops(yard.routing()) if d["destination_kind"] == "hold_bay"]
    yard.patch(f"/loads/{drop['load_id']}", {"state": "under_way"})
    yard.patch(f"/jobs/{job}", {"litter_seen": True})
    (expected,) = yard.client.get("/hold-entries?state=expected").json["items"]
    assert expected["status"] == "littered"
    yard.world.clock.move(minutes=5)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    (lies,) = yard.client.get("/hold-entries?state=in_bay").json["items"]
    assert (lies["id"], lies["status"]) == (expected["id"], "littered")


def test_a_label_that_was_written_down_wrongly_releases_when_it_is_corrected(yard):
    lawn = yard.lawn("Sprayed")
    label = {"days": 30, "mowings": None, "leave_on_lawn": False}
    treatment = yard.treated(lawn, active="iron sulfate", label_wait=label)
    yard.held(lawn=lawn, treatment_history="known")
    assert yard.entry()["releasable"] is False
    yard.patch(treatment, {"label_wait": {**label, "days": 3}}, reason="Misread on the label.")
    assert yard.entry()["releasable"] is True


def test_a_wait_is_not_waited_out_on_a_heap(yard):
    lawn = yard.lawn("Sprayed")
    label = {"days": 16, "mowings": None, "leave_on_lawn": False}
    yard.treated(lawn, active="iron sulfate", label_wait=label)  # fourteen days before the cut
    yard.held(lawn=lawn, treatment_history="known")
    yard.world.clock.move(hours=72)
    assert yard.entry()["releasable"] is False


def test_a_bed_that_was_waterlogged_takes_it_when_its_ground_is_firm(yard):
    yard.patch(yard.bed, {"ground_state": "waterlogged"})
    yard.held()
    assert yard.entry()["why"]["code"] == "ground_not_fit"
    yard.patch(yard.bed, {"ground_state": "firm"})
    assert yard.entry()["releasable"] is True


def test_what_a_site_takes_on_the_next_day_asks_again_on_that_day(yard):
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held()
    waits = yard.entry()  # the site is closed on a Sunday
    assert waits["releasable"] is False
    assert waits["asks_again_on"] == "2026-05-25"
    assert waits["then"] == yard.site_name


def test_what_nobody_takes_in_a_week_asks_again_tomorrow(yard):
    yard.held(litter_seen=True)
    waits = yard.entry()
    assert (waits["asks_again_on"], waits["then"]) == ("2026-05-25", None)


def test_a_clock_that_passes_amber_and_red_is_told_with_what_to_do(yard):
    yard.held(litter_seen=True)
    assert yard.entry()["escalation"] is None
    yard.world.clock.move(hours=6)
    pressing = yard.entry()["escalation"]
    assert pressing["level"] == "amber"
    assert any("Turn it" in step for step in pressing["steps"])
    assert "alone" in pressing["caution"]
    yard.world.clock.move(hours=24)
    sour = yard.entry()["escalation"]
    assert sour["level"] == "red"
    said = r"What is held has counted as sour since \d\d:\d\d( on 2\d May 2026)?\."
    assert re.fullmatch(said, sour["sentence"])
    assert sour["steps"][0].startswith("Sort the litter out first")
    assert "landfill" in sour["steps"][1]
    assert "Bring it to" not in str(sour["steps"])


def test_no_bed_takes_what_has_soured_in_a_bay(yard):
    yard.held(treatment_history="unknown")
    yard.world.clock.move(hours=30)
    (job,) = yard.client.get("/jobs").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"treatment_history": "none_recorded"})
    waits = yard.entry()
    assert waits["status"] == "sour"
    kinds = {taker["destination_kind"] for taker in waits["takers"]}
    assert kinds == {"compost_site"}  # on Monday it is open


def test_surplus_that_no_bed_takes_is_offered_a_site_and_a_feed_with_its_quantities(yard):
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held()
    (feed,) = yard.entry()["offers"]
    yard.world.clock.move(hours=20)  # Monday: the site is open, the grass is sour
    waits = yard.entry()
    (site,) = waits["offers"]
    assert (site["use"], site["name"]) == ("compost_site", yard.site_name)
    assert site["mass_kg"] == round(waits["mass_kg"]["likely"])
    # Common practice, no source: 2 kg of fresh clippings in 10 L of water.
    assert feed["use"] == "liquid_feed"
    # Both are told in whole numbers: half a kilogram is two and a half litres.
    assert feed["water_l"] == pytest.approx(feed["mass_kg"] * 5, abs=3)
    assert "children" in feed["caution"]


def test_no_feed_is_offered_of_what_is_not_clean(yard):
    yard.held(treatment_history="unknown")
    assert yard.entry()["offers"] == []


def test_a_queue_is_of_its_own_firm(yard):
    stranger = yard.world.client(yard.world.firm("Others"))
    answer = stranger.get(f"/hold-queue?depot_id={yard.ids['depots']}")
    assert answer.status_code == 404


def test_an_empty_bay_has_an_empty_queue(yard):
    answer = yard.client.get(f"/hold-queue?depot_id={yard.ids['depots']}").json
    jsonschema.Draft202012Validator(HOLD_QUEUE).validate(answer)
    assert (answer["day"], answer["entries"]) == (DAY, [])


def test_the_routing_of_the_day_tells_a_clock_that_has_passed_though_nothing_happened(yard):
    yard.held(litter_seen=True)
    assert warnings(yard.routing(), "held_amber") == []
    yard.world.clock.move(hours=6)
    (warning,) = warnings(yard.routing(), "held_amber")
    (row,) = yard.routing()["routing"]["held"]
    assert warning["hold_entry_id"] == row["hold_entry_id"] == yard.entry()["hold_entry_id"]
    assert "Turn it" in warning["why"]
    first, second = yard.routing(), yard.routing()
    assert first["id"] == second["id"]


def test_queue_and_routing_give_one_answer(yard):
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held()
    (row,) = yard.routing()["routing"]["held"]
    assert row == yard.entry()


def test_a_job_of_yesterday_that_is_amended_is_asked_about_in_the_routing_of_today(yard):
    job = yard.held(treatment_history="unknown")
    yard.world.clock.move(hours=20)
    monday = "2026-05-25"
    yard.mow(yard.lawn("Monday"), at="08:00", day=monday)
    (row,) = yard.routing(monday)["routing"]["held"]
    assert row["status"] == "unknown"
    yard.patch(f"/jobs/{job}", {"treatment_history": "none_recorded"})
    (row,) = yard.routing(monday)["routing"]["held"]
    assert (row["status"], row["releasable"]) == ("sour", True)


def test_a_bay_that_holds_more_than_it_can_is_told_of():
    yard = Yard()
    yard.mow(yard.lawn("Much"), at="11:00", treatment_history="unknown")
    (drop,) = drops(yard.routing())
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    where = f"depot_id={yard.ids['depots']}"

    def told():
        queue = yard.client.get(f"/hold-queue?{where}").json
        (bay,) = queue["bays"]
        listed = yard.client.get(f"/days/2026-05-24/decisions?{where}").json["decisions"]
        return bay, [one for one in listed if one["code"] == "bay_over_volume"]

    bay, decisions = told()
    (entry,) = yard.queue()
    assert bay["lying_m3"]["high"] == pytest.approx(entry["volume_l"]["high"] / 1000, abs=0.01)
    assert (decisions, warnings(yard.routing(), "bay_over_volume")) == ([], [])
    small = (bay["lying_m3"]["likely"] + bay["lying_m3"]["high"]) / 2
    yard.patch(f"/hold-bays/{bay['hold_bay_id']}", {"volume_m3": small})
    _, (decision,) = told()
    assert "may lie" in decision["sentence"]
    assert bay["hold_bay"] in decision["sentence"]
    (warning,) = warnings(yard.routing(), "bay_over_volume")
    assert warning["why"] == decision["sentence"]
    yard.patch(f"/hold-bays/{bay['hold_bay_id']}", {"volume_m3": bay["lying_m3"]["likely"] / 2})
    _, (decision,) = told()
    assert "More lie in" in decision["sentence"]
