"""What is learned of grass days after it was tipped is told on the day it is learned."""

import pytest

from tests.holds import Yard

DAY = "2026-05-24"
LATER = "2026-05-26"


class Delivered(Yard):
    """A yard that tipped one lot by its own word, two days ago."""

    def __init__(self, kind, *, accepted=("clean",), **fields):
        super().__init__()
        if kind == "compost_site":
            always = [
                {"weekday": day, "opens": "06:00", "closes": "22:00", "last_load": "21:30"}
                for day in range(7)
            ]
            self.patch(self.site, {"hours": always, "accepted_statuses": accepted})
        self.front = self.lawn("Front")
        self.job = self.mow(self.front, at="10:00", **fields)
        self.world.clock.move(minutes=60)
        self.place_id = self.ids["beds" if kind == "bed" else "compost-sites"]
        tip = {
            "vehicle_id": self.ids["vehicles"],
            "destination_kind": kind,
            "destination_id": self.place_id,
            "done_at": self.world.clock.now().isoformat(),
            "parts": [{"job_id": self.job}],
        }
        said = {"Change-Reason": "It lies there."}
        assert self.client.post("/loads", json=tip, headers=said).status_code == 201
        self.world.clock.move(minutes=2 * 24 * 60)

    def decisions(self, day=LATER):
        answer = self.client.get(f"/days/{day}/decisions?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json["decisions"]

    def told(self, day=LATER):
        return [one for one in self.decisions(day) if one["code"] == "recall"]

    @property
    def lot_code(self):
        return self.client.get(f"/jobs/{self.job}").json["lot_code"]


@pytest.fixture(params=["bed", "compost_site"])
def yard(request):
    return Delivered(request.param)


@pytest.mark.parametrize("day", [DAY, LATER])
def test_a_treatment_learned_two_days_later_is_told_at_once_without_a_plan(yard, day):
    assert yard.told(day) == []
    yard.treated(yard.front)
    (told,) = yard.told(day)
    assert (told["urgency"], told["destination_id"]) == ("now", yard.place_id)
    assert told["lot_codes"] == [yard.lot_code]
    assert yard.lot_code in told["sentence"]
    assert "treated" in told["sentence"]
    who = yard.client.get(f"/clients/{yard.ids['clients']}").json["name"]
    assert f"Call {who}, " in told["sentence"] or "Call Hill Farm" in told["sentence"]
    paths = {(way["method"], way["href"].partition("?")[0]) for way in told["ways"]}
    assert paths == {("GET", "/recall"), ("POST", "/recalls")}


def test_it_is_told_once_with_a_plan_of_its_own_day_too(yard):
    yard.treated(yard.front)
    planned = {"depot_id": yard.ids["depots"], "day": DAY}
    assert yard.client.post("/day-plans", json=planned).status_code < 300
    assert len(yard.told(DAY)) == 1


def test_it_was_not_known_of_on_the_days_before_it_came(yard):
    yard.treated(yard.front)
    assert yard.told("2026-05-23") == []


def test_it_leaves_the_list_when_its_fact_is_gone(yard):
    path = yard.treated(yard.front)
    headers = {"If-Match": "*", "Change-Reason": "It was the neighbour's lawn."}
    assert yard.client.delete(path, headers=headers).status_code == 204
    assert yard.told() == []


def test_a_recall_takes_its_place_and_settles_it(yard):
    yard.treated(yard.front)
    begun = yard.post("/recalls", {"lot_code": yard.lot_code, "reason": "Aminopyralid was found."})
    assert yard.told() == []
    yard.client.post(f"/recalls/{begun['id']}/end")
    assert yard.told() == []


def test_what_a_site_takes_by_its_word_is_no_matter():
    yard = Delivered("compost_site")
    yard.patch(yard.site, {"accepted_statuses": ["clean", "treated"]})
    yard.treated(yard.front, active="glyphosate")
    assert yard.told() == []


def test_a_heap_that_has_turned_is_told_on_a_day_on_which_nobody_mows():
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held()
    yard.world.clock.move(minutes=2 * 24 * 60)
    listed = yard.client.get(f"/days/{LATER}/decisions?depot_id={yard.ids['depots']}").json
    (told,) = [one for one in listed["decisions"] if one["code"] == "held_red"]
    assert told["urgency"] == "now"
    assert told["hold_entry_id"] == yard.entry()["hold_entry_id"]


def test_what_a_site_got_in_order_is_no_matter_when_it_takes_less_since():
    yard = Yard()
    yard.patch(yard.site, {"accepted_statuses": ["clean", "unknown"]})
    job = yard.mow(yard.lawn("Front"), at="10:00", treatment_history="unknown")
    yard.world.clock.move(minutes=60)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": job}],
    }
    yard.post("/loads", tip)
    yard.patch(yard.site, {"accepted_statuses": ["clean"]})
    yard.world.clock.move(minutes=2 * 24 * 60)
    listed = yard.client.get(f"/days/{LATER}/decisions?depot_id={yard.ids['depots']}").json
    assert [one["sentence"] for one in listed["decisions"] if one["code"] == "recall"] == []


@pytest.mark.parametrize("kind", ["bed", "compost_site"])
def test_what_is_learned_of_grass_that_nobody_knew_anything_of_is_told_by_its_name(kind):
    yard = Delivered(kind, treatment_history="unknown", accepted=["clean", "unknown"])
    before = yard.told()
    yard.treated(yard.front)
    (told,) = yard.told()
    assert told not in before
    assert "treated" in told["sentence"]


def test_what_came_to_a_site_against_its_word_is_told_though_it_is_reported_days_later():
    yard = Yard()
    lawn = yard.lawn("Front")
    yard.treated(lawn)
    job = yard.mow(lawn, at="10:00", treatment_history="known")
    at = yard.world.clock.now()
    yard.world.clock.move(minutes=2 * 24 * 60)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": at.isoformat(),
        "parts": [{"job_id": job}],
    }
    said = {"Change-Reason": "It lies there."}
    assert yard.client.post("/loads", json=tip, headers=said).status_code == 201
    listed = yard.client.get(f"/days/{LATER}/decisions?depot_id={yard.ids['depots']}").json
    assert [one["code"] for one in listed["decisions"] if one["code"] == "recall"] == ["recall"]
