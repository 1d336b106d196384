"""What is on its way is aboard until it is out: it weighs, it takes room, and it is mixed."""

import pytest

from tests.crews import aboard_kg, drops
from tests.holds import Yard
from tests.journeys.test_http_unplanned import tip
from tests.outages import told, warnings


class OnItsWay(Yard):
    """A yard whose vehicle set off to a bed with clean grass."""

    def __init__(self):
        super().__init__()
        self.first = self.mow(self.lawn("First"), at="11:00")
        (drop,) = drops(self.routing())
        assert drop["destination_kind"] == "bed"
        self.load_id = drop["load_id"]
        self.patch(f"/loads/{self.load_id}", {"state": "under_way"})
        self.world.clock.move(minutes=5)

    def high_kg(self, job):
        return self.client.get(f"/jobs/{job}").json["estimate"]["mass_kg"]["high"]

    def today(self):
        answer = self.client.get(f"/vehicles/{self.ids['vehicles']}/today")
        assert answer.status_code == 200, answer.text
        return answer.json


@pytest.fixture
def yard():
    return OnItsWay()


def test_what_is_on_its_way_weighs_and_takes_room(yard):
    plan = yard.routing()
    assert aboard_kg(plan) == pytest.approx(yard.high_kg(yard.first), abs=1)
    own = told(plan, yard.ids["vehicles"])
    room_kg = int(own["payload_kg"]) - own["aboard_now"]["mass_high_kg"]
    assert own["aboard_now"]["room_left_kg"] == room_kg
    assert yard.today()["room"]["kg"] <= room_kg
    yard.patch(f"/loads/{yard.load_id}", {"state": "delivered"})
    assert aboard_kg(yard.routing()) == 0


def test_what_comes_on_top_of_what_is_on_its_way_may_be_too_heavy(yard):
    payload_kg = yard.high_kg(yard.first) * 1.5
    yard.patch(f"/vehicles/{yard.ids['vehicles']}", {"payload_kg": payload_kg})
    assert warnings(yard.routing(), "vehicle_may_be_overloaded") == []
    second = yard.mow(yard.lawn("Second"), at="12:00")
    plan = yard.routing()
    (warning,) = warnings(plan, "vehicle_may_be_overloaded")
    both_kg = yard.high_kg(yard.first) + yard.high_kg(second)
    assert warning["mass_high_kg"] == pytest.approx(both_kg, abs=2)
    # One kind of grass: the load that is on its way stays what it is.
    assert yard.client.get(f"/loads/{yard.load_id}").json["state"] == "under_way"


def test_what_is_worse_than_what_is_on_its_way_is_mixed_with_it_and_goes_to_no_bed(yard):
    bad = yard.mow(yard.lawn("Bad"), at="12:00", treatment_history="unknown")
    (drop,) = drops(yard.routing())
    assert (drop["status"], drop["destination_kind"]) == ("unknown", "hold_bay")
    load = yard.client.get(f"/loads/{drop['load_id']}").json
    assert {part["job_id"] for part in load["parts"]} == {yard.first, bad}
    tip = yard.today()["next_tip"]
    assert (tip["destination_kind"], tip["show"]["status"]) == ("hold_bay", "unknown")


def test_clean_grass_on_top_of_worse_that_is_on_its_way_is_no_longer_clean():
    yard = Yard()
    yard.mow(yard.lawn("Bad"), at="11:00", treatment_history="unknown")
    (drop,) = drops(yard.routing())
    yard.patch(f"/loads/{drop['load_id']}", {"state": "under_way"})
    yard.world.clock.move(minutes=5)
    yard.mow(yard.lawn("Good"), at="12:00")
    (drop,) = drops(yard.routing())
    assert (drop["status"], drop["destination_kind"]) == ("unknown", "hold_bay")


def test_who_asks_before_mowing_is_told_what_is_on_its_way(yard):
    lawn = yard.lawn("Third")
    yard.plan_to_mow(lawn, at="12:30")
    said = {"depot_id": yard.ids["depots"], "treatment_history": "unknown"}
    answer = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=said)
    assert answer.status_code == 200, answer.text
    assert [one["status"] for one in answer.json["plan"]["aboard"]] == ["clean"]


def test_of_what_is_tipped_elsewhere_on_the_way_only_the_rest_is_on_its_way(yard):
    tip(yard, {"job_id": yard.first, "share": 0.5}, at=yard.world.clock.now().isoformat())
    load = yard.client.get(f"/loads/{yard.load_id}").json
    assert (load["state"], [part["share"] for part in load["parts"]]) == ("under_way", [0.5])
    assert load["mass_kg"]["high"] == pytest.approx(yard.high_kg(yard.first) / 2, abs=0.01)
    assert aboard_kg(yard.routing()) == pytest.approx(yard.high_kg(yard.first) / 2, abs=1)


def test_nobody_sets_off_with_what_was_tipped_on_a_later_day_by_another_load():
    yard = Yard()
    job = yard.mow(yard.lawn("First"), at="11:00")
    (drop,) = drops(yard.routing())
    yard.world.clock.move(days=1)
    now = yard.world.clock.now().isoformat()
    elsewhere = tip(yard, job, at=now)
    stale = f"/loads/{drop['load_id']}"
    refused = yard.patch(stale, {"state": "under_way"}, status=409)
    assert refused["code"] == "more_than_there_is"
    assert f"/loads/{elsewhere['id']}" in refused["detail"]
    assert aboard_kg(yard.routing("2026-05-25")) == 0
