"""Grass that has stood too long is sour: it goes to no bed, whatever is laid on top of it."""

from datetime import datetime, timedelta

import pytest

from tests.crews import DAY, Crew, drops
from tests.journeys.test_http_refused_for_cause import decisions
from tests.outages import lots

YESTERDAY = "2026-05-23"
THIRTY_HOURS_AGO = {"day": YESTERDAY, "at": "07:00", "wetness": "lush"}


@pytest.fixture
def crew():
    return Crew(bay=True)


def verdicts(crew, job):
    return crew.client.get(f"/jobs/{job}/verdicts").json


def on_beds(told):
    return [one for one in told["verdicts"] if one["destination_kind"] == "bed"]


def tell_site(crew, **fields):
    """Let the compost site be open on the day."""
    hours = [{"weekday": 6, "opens": "06:00", "closes": "20:00", "last_load": "20:00"}]
    crew.patch(f"/compost-sites/{crew.ids['compost-sites']}", {"hours": hours, **fields})


def test_a_lot_of_thirty_hours_is_sour_in_verdict_and_routing_alike(crew):
    old = crew.mow(crew.lawn("Old"), **THIRTY_HOURS_AGO)
    told = verdicts(crew, old)
    assert told["status"] == "sour"
    assert {one["code"] for one in on_beds(told)} == {"lot_sour"}
    (said,) = {one["sentence"] for one in on_beds(told)}
    assert said.startswith("The grass is sour: it keeps 6")
    crew.plan_to_mow(crew.lawn("Later"))
    plan = crew.read()
    code = lots(plan)[old]["lot_code"]
    assert lots(plan)[old]["status"] == "sour"
    with_it = [drop for drop in drops(plan) if code in drop["lot_codes"]]
    assert {drop["destination_kind"] for drop in with_it} == {"hold_bay"}


def test_fresh_grass_on_top_of_sour_goes_to_no_bed(crew):
    old = crew.mow(crew.lawn("Old"), **THIRTY_HOURS_AGO)
    fresh = crew.mow(crew.lawn("Fresh"), at="12:00")
    plan = crew.read()
    assert "bed" not in {drop["destination_kind"] for drop in drops(plan)}
    assert lots(plan)[fresh]["status"] == "clean"
    assert lots(plan)[old]["status"] == "sour"
    mixed = [drop for drop in drops(plan) if lots(plan)[fresh]["lot_code"] in drop["lot_codes"]]
    assert {drop["status"] for drop in mixed} == {"sour"}


def test_a_site_takes_what_is_sour_where_it_said_so_and_not_before():
    crew = Crew()
    old = crew.mow(crew.lawn("Old"), **THIRTY_HOURS_AGO)
    tell_site(crew, takes_sour=False)
    crew.plan_to_mow(crew.lawn("Later"))
    refused = lots(crew.read())[old]["elsewhere"]["refused_by_code"]
    assert refused["site_refuses_sour"] == 1
    tell_site(crew, takes_sour=None)
    refused = lots(crew.read())[old]["elsewhere"]["refused_by_code"]
    assert refused["site_sour_not_said"] == 1
    tell_site(crew, takes_sour=True)
    plan = crew.read()
    code = lots(plan)[old]["lot_code"]
    with_it = [drop for drop in drops(plan) if code in drop["lot_codes"]]
    assert {drop["destination_kind"] for drop in with_it} == {"compost_site"}
    assert {drop["status"] for drop in with_it} == {"sour"}


def test_a_lot_turns_sour_at_the_hour_it_was_told_to_keep_until(crew):
    job = crew.mow(crew.lawn("Lush"), at="09:00", wetness="lush")
    told = verdicts(crew, job)
    assert told["status"] == "clean"
    until = datetime.fromisoformat(told["keeps_until"])
    assert datetime.fromisoformat(told["look_by"]) < until
    (drop,) = drops(crew.read())
    assert datetime.fromisoformat(drop["keeps_until"]) == until
    crew.world.clock.at = until - timedelta(minutes=1)
    assert verdicts(crew, job)["status"] == "clean"
    crew.world.clock.at = until
    assert verdicts(crew, job)["status"] == "sour"


def test_who_has_the_plan_that_sends_it_to_a_bed_is_told_when_it_has_turned(crew):
    crew.mow(crew.lawn("Dry"), at="05:00", wetness="dry")
    address = f"/days/{DAY}/routing?depot_id={crew.ids['depots']}"
    first = crew.client.get(address)
    (drop,) = drops(first.json)
    assert drop["destination_kind"] == "bed"
    has_it = {"If-None-Match": first.headers["ETag"]}
    until = datetime.fromisoformat(drop["keeps_until"])
    crew.world.clock.at = until - timedelta(minutes=1)
    assert crew.client.get(address, headers=has_it).status_code == 304
    crew.world.clock.at = until
    again = crew.client.get(address, headers=has_it)
    assert again.status_code == 200
    assert "bed" not in {one["destination_kind"] for one in drops(again.json)}


def asked(crew, what, **question):
    answer = crew.client.post(f"/computations/{what}", json=question)
    assert answer.status_code == 200, answer.text
    return answer.json["result"]


@pytest.mark.parametrize(
    ("wetness", "depth_mm", "air_c"),
    [("dry", 300, 20), ("dry", 300, 30), ("lush", 1000, 30), ("lush", 150, 35)],
)
def test_freshness_and_layer_safety_are_answered_by_one_model(crew, wetness, depth_mm, air_c):
    fresh = asked(crew, "freshness", depth_mm=depth_mm, temperature_c=air_c, wetness=wetness)
    layer = asked(crew, "layer-safety", depth_mm=depth_mm, air_temperature_c=air_c, wetness=wetness)
    for same in ("amber_hours", "red_hours", "hours_to_40_c", "hours_to_60_c", "basis"):
        assert fresh[same] == layer[same]
    assert fresh["red_hours"] <= fresh["hours_to_60_c"]
    assert fresh["amber_hours"] <= fresh["hours_to_40_c"]
    assert "not for heaps that are turned" in fresh["basis"]
    assert layer["safe"] is False
    thin = {"depth_mm": layer["safe_depth_mm"], "air_temperature_c": air_c, "wetness": wetness}
    if layer["safe_depth_mm"] >= 1:
        assert asked(crew, "layer-safety", **thin)["hours_to_40_c"] is None


def test_wet_or_lush_grass_goes_first_dry_keeps_longest_and_unknown_is_taken_for_the_worst(crew):
    told = {
        word: asked(crew, "freshness", depth_mm=800, temperature_c=25, wetness=word)
        for word in ("rained_on", "lush", "dewy", "dry", "unknown")
    }
    reds = [told[word]["red_hours"] for word in ("rained_on", "lush", "dewy", "dry")]
    assert reds == sorted(reds)
    assert reds[-1] > 1.5 * reds[0]
    assert told["unknown"]["red_hours"] == reds[0]
    assert told["rained_on"]["free_air_space"] < told["dry"]["free_air_space"]


def test_what_a_lot_keeps_is_what_the_computation_says_of_a_body_in_warm_weather(crew):
    told = verdicts(crew, crew.mow(crew.lawn("Lush"), at="09:00", wetness="lush"))
    cut = datetime.fromisoformat(f"{DAY}T09:00:00+01:00")
    keeps = datetime.fromisoformat(told["keeps_until"]) - cut
    fresh = asked(crew, "freshness", depth_mm=800, temperature_c=25, wetness="lush")
    # Told to four digits there, and to the minute here.
    assert abs(timedelta(hours=fresh["red_hours"]) - keeps) < timedelta(minutes=2)


def test_a_site_that_was_never_asked_is_one_matter_with_the_way_that_solves_it(crew):
    site = f"/compost-sites/{crew.ids['compost-sites']}"
    tell_site(crew, takes_sour=None)
    crew.client.delete(f"/hold-bays/{crew.ids['hold-bays']}", headers={"If-Match": "*"})
    for name in ("Old", "Older"):
        crew.mow(crew.lawn(name), **THIRTY_HOURS_AGO)
    where = f"depot_id={crew.ids['depots']}"
    assert crew.read()["routing"]["unplaced"]
    listed = crew.client.get(f"/days/{DAY}/decisions?{where}").json["decisions"]
    (decision,) = [one for one in listed if one["code"] == "nobody_takes_what_is_aboard"]
    assert len(decision["lot_codes"]) == 2
    assert "Hill Farm has not said whether it takes what has turned" in decision["sentence"]
    ask = decision["ways"][0]
    assert (ask["method"], ask["href"]) == ("PATCH", site)
    assert "Ask Hill Farm whether" in ask["what"]
    crew.patch(site, {"takes_sour": True})
    assert crew.read()["routing"]["unplaced"] == []


class TestDelivering:
    """The word of the crew that a load that was fresh when it was planned lies on a bed."""

    @pytest.fixture
    def crew(self):
        crew = Crew(bay=True)
        self.job = crew.mow(crew.lawn("Lush"), at="09:00", wetness="lush")
        (self.drop,) = drops(crew.read())
        assert self.drop["destination_kind"] == "bed"
        self.until = datetime.fromisoformat(self.drop["keeps_until"])
        return crew

    def deliver(self, crew, status, **fields):
        address = f"/loads/{self.drop['load_id']}"
        return crew.patch(address, {"state": "delivered", **fields}, status=status)

    def test_after_its_hour_it_is_not_delivered_and_goes_elsewhere(self, crew):
        crew.world.clock.at = self.until + timedelta(minutes=5)
        problem = self.deliver(crew, 409)
        assert problem["code"] == "not_for_this_place"
        assert "sour" in problem["detail"]
        answer = crew.client.post(f"/loads/{self.drop['load_id']}/delivery-notes")
        assert answer.status_code == 409

    def test_before_its_hour_it_is_delivered_however_late_that_is_said(self, crew):
        crew.world.clock.at = self.until + timedelta(hours=2)
        at = (self.until - timedelta(hours=1)).isoformat()
        self.deliver(crew, 200, done_at=at)
        assert decisions(crew, "recall") == []


class TestPlanning:
    """A morning with grass of the dawn aboard: it keeps until some time in the day."""

    @pytest.fixture
    def crew(self):
        crew = Crew(bay=True)
        crew.world.clock.at = datetime.fromisoformat(f"{DAY}T06:00:00+00:00")
        return crew

    def test_what_keeps_all_day_is_brought_with_the_rest_when_work_is_done(self, crew):
        job = crew.mow(crew.lawn("Early"), at="06:30")
        crew.plan_to_mow(crew.lawn("Later"), at="08:00", minutes_on_site=300)
        plan = crew.read()
        (drop,) = drops(plan)
        assert lots(plan)[job]["lot_code"] in drop["lot_codes"]
        assert drop["at"] > f"{DAY}T12:00"

    def test_what_turns_sour_in_the_day_is_on_a_bed_before_or_on_none(self, crew):
        crew.crews_cost(0)  # else it is on none: a few kilograms are not worth 20 paid minutes
        job = crew.mow(crew.lawn("Dawn"), at="04:00", wetness="lush")
        crew.plan_to_mow(crew.lawn("Later"), at="08:00", minutes_on_site=300)
        plan = crew.read()
        assert lots(plan)[job]["status"] == "clean"
        code = lots(plan)[job]["lot_code"]
        (drop,) = [one for one in drops(plan) if code in one["lot_codes"]]
        assert drop["destination_kind"] == "bed"
        assert f"{DAY}T08:00" < drop["keeps_until"] < f"{DAY}T12:00"
        assert drop["at"] <= drop["keeps_until"]

    def test_what_was_not_tipped_in_time_is_planned_again_and_goes_to_no_bed(self, crew):
        job = crew.mow(crew.lawn("Dawn"), at="04:00", wetness="lush")
        crew.plan_to_mow(crew.lawn("Later"), at="08:00", minutes_on_site=300)
        before = crew.read()
        code = lots(before)[job]["lot_code"]
        (drop,) = [one for one in drops(before) if code in one["lot_codes"]]
        crew.world.clock.at = datetime.fromisoformat(drop["keeps_until"]) + timedelta(minutes=1)
        after = crew.read()
        assert lots(after)[job]["status"] == "sour"
        with_it = [one for one in drops(after) if code in one["lot_codes"]]
        assert {one["destination_kind"] for one in with_it} == {"hold_bay"}


def test_a_planned_lot_keeps_as_long_by_its_verdicts_as_by_the_routing(crew):
    job = crew.plan_to_mow(crew.lawn("Front"), at="15:00", treatment_history="none_recorded")
    (drop,) = drops(crew.read())
    told = crew.client.get(f"/jobs/{job}/verdicts").json
    kept = [datetime.fromisoformat(one["keeps_until"]) for one in (drop, told)]
    assert kept[0] == kept[1]


def test_when_a_load_ended_is_said_of_what_ended_and_not_taken_away():
    crew = Crew(bay=True)
    crew.mow(crew.lawn("Clean"), at="10:00")
    (drop,) = drops(crew.read())
    load = f"/loads/{drop['load_id']}"
    crew.world.clock.move(minutes=20)
    at = "2026-05-24T12:10:00Z"
    for said in ({"done_at": at}, {"done_at": at, "state": "under_way"}):
        assert refused(crew, load, said) == ["/done_at"]
    crew.patch(load, {"state": "delivered", "done_at": at})
    assert refused(crew, load, {"done_at": None}) == ["/done_at"]
    assert crew.client.get(load).json["done_at"] == at
    crew.patch(load, {"state": "planned", "done_at": None})


def refused(crew, path, said):
    """Return what is faulty in an amendment."""
    version = crew.client.get(path).headers["ETag"]
    answer = crew.client.patch(path, json=said, headers={"If-Match": version})
    assert answer.status_code == 422, answer.text
    return [fault["pointer"] for fault in answer.json["errors"]]
