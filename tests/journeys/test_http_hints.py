"""A dispatcher reads what would change the answer, makes it so, and the answer changes."""

from datetime import datetime, timedelta

import pytest

from service.api.books import crews
from tests.worlds import furnish, make_world

DAY = "2026-05-24"  # a Sunday; the clock stands at one in the afternoon in London
CHANGE_CENTS = 200  # what the planner counts for sending a crew elsewhere than it was told
NOW = {"If-Match": "*"}


class Desk:
    """A dispatcher at the telephone of a firm with one site and one bay."""

    def __init__(self):
        self.yard = furnish(make_world())
        self.client, self.ids = self.yard.client, self.yard.ids
        shown = {"kill": "weed_seed", "reference": "Test 1", "shown_on": "2026-03-01"}
        self.tell_site(
            accepted_statuses=["clean", "weedy", "unknown"],
            hours=hours("16:30"),
            kill_evidence=[shown],
        )

    def tell_site(self, **changes):
        path = f"/compost-sites/{self.ids['compost-sites']}"
        answer = self.client.patch(path, json=changes, headers=NOW)
        assert answer.status_code == 200, answer.text

    def post(self, **fields):
        body = self.yard.job(**{"lawn_id": self.yard.another_lawn(), **fields})
        answer = self.client.post("/jobs", json=body)
        assert answer.status_code == 201, answer.text

    def plan(self, asked="true"):
        query = {"depot_id": self.ids["depots"], "what_would_change": asked}
        answer = self.client.get(f"/days/{DAY}/routing", query_string=query)
        assert answer.status_code == 200, answer.text
        return answer.json["routing"]


@pytest.fixture
def desk():
    return Desk()


def hours(last_load):
    return [{"weekday": 6, "opens": "08:00", "closes": "18:00", "last_load": last_load}]


def drops(routing):
    return [s for v in routing["vehicles"] for s in v["stops"] if s["kind"] == "drop"]


def held(routing):
    return [drop for drop in drops(routing) if drop["destination_kind"] == "hold_bay"]


def held_kg(routing):
    return sum(drop["mass_kg"]["high"] for drop in held(routing))


def the_hint(routing, kind):
    (drop,) = held(routing)
    (hint,) = [h for h in drop["explanation"]["what_would_change"] if h["kind"] == kind]
    assert hint["name"] == "Hill Farm"
    assert hint["name"] in hint["sentence"]
    assert "would not have to be held" in hint["sentence"]
    return hint


def saves_what_it_said(before, after, hint):
    saved = before["cost_cents"]["total"] - after["cost_cents"]["total"]
    changes = after["cost_cents"]["changes"] - before["cost_cents"]["changes"]
    assert changes in {0, CHANGE_CENTS}
    # That the crew was told of the plan before is counted in the hint, too.
    assert saved == pytest.approx(hint["saving_cents"], abs=1)


LONG = {"treatment_history": "unknown", "height_removed": {"value": 80, "unit": "mm"}}


def test_a_gate_that_stays_open_until_the_told_time_gets_the_held_load(desk):
    desk.tell_site(hours=hours("13:05"))
    desk.post(**LONG)
    before = desk.plan()
    hint = the_hint(before, "open_until")
    until = datetime.fromisoformat(hint["open_until"])
    assert until.utcoffset() == timedelta(hours=1)
    assert f"{until:%H:%M}" in hint["sentence"]
    (drop,) = held(before)
    (other,) = drop["explanation"]["others"]
    assert (other["name"], other["code"]) == ("Hill Farm", "closed")

    desk.tell_site(hours=hours(f"{until - timedelta(minutes=1):%H:%M}"))
    assert held_kg(desk.plan()) == held_kg(before)
    desk.tell_site(hours=hours(f"{until:%H:%M}"))
    after = desk.plan()
    assert held(after) == []
    saves_what_it_said(before, after, hint)


def test_as_much_more_room_as_told_at_the_site_empties_the_bay(desk):
    desk.tell_site(daily_capacity_kg=200)
    desk.post(**LONG)
    before = desk.plan()
    hint = the_hint(before, "more_room")
    assert hint["code"] == "site_capacity"
    assert hint["rule_class"] == "site"
    assert f"{hint['more_room_high_kg']} kg more" in hint["sentence"]

    # a last kilogram may be made room for at a price: leaving is dearer than any way to place it
    desk.tell_site(daily_capacity_kg=200 + hint["more_room_high_kg"] - 20)
    assert held(desk.plan())
    desk.tell_site(daily_capacity_kg=200 + hint["more_room_high_kg"])
    after = desk.plan()
    assert held(after) == []
    saves_what_it_said(before, after, hint)


def test_a_fee_below_the_told_one_makes_the_site_better_than_the_bay(desk):
    desk.tell_site(fee={"basis": "per_tonne", "amount_cents": 30_000, "minimum_cents": 0})
    desk.post(**LONG)
    before = desk.plan()
    hint = the_hint(before, "fee_below")
    assert hint["fee_basis"] == "per_tonne"
    assert 0 < hint["fee_below_cents"] < 30_000
    assert f"{hint['fee_below_cents'] / 100:.2f} a tonne" in hint["sentence"]

    # A cent of this load is some cents a tonne, and the planner rounds.
    for more_cents, holds in ((40, True), (-1, False)):
        fee_cents = hint["fee_below_cents"] + more_cents
        desk.tell_site(fee={"basis": "per_tonne", "amount_cents": fee_cents, "minimum_cents": 0})
        assert bool(held(desk.plan())) is holds


def test_a_fee_that_is_next_to_nothing_is_not_told(desk):
    desk.tell_site(fee={"basis": "per_tonne", "amount_cents": 30_000, "minimum_cents": 0})
    desk.post(**LONG)
    below = the_hint(desk.plan(), "fee_below")["fee_below_cents"]
    for times, is_told in ((9, True), (11, False)):
        again = Desk()
        fee = {"basis": "per_tonne", "amount_cents": below * times, "minimum_cents": 0}
        again.tell_site(fee=fee)
        again.post(**LONG)
        (drop,) = held(again.plan())
        kinds = {hint["kind"] for hint in drop["explanation"]["what_would_change"]}
        assert ("fee_below" in kinds) is is_told


def test_a_site_that_could_say_yes_is_named_with_its_code(desk):
    desk.tell_site(accepted_statuses=["clean", "unknown"])
    second = {**crews.VEHICLES.example, "depot_id": desk.ids["depots"], "registration": "B2"}
    vehicle_id = desk.client.post("/vehicles", json=second).json["id"]
    desk.post(**LONG)
    desk.post(vehicle_id=vehicle_id, weeds_in_seed=True, height_removed={"value": 80, "unit": "mm"})
    before = desk.plan()
    hint = the_hint(before, "accepts")
    assert (hint["code"], hint["rule_class"]) == ("site_refuses_status", "site")
    assert "does not take weedy clippings" in hint["sentence"]
    (drop,) = held(before)
    assert ("Hill Farm", "site_refuses_status") in {
        (other["name"], other["code"]) for other in drop["explanation"]["others"]
    }

    desk.tell_site(accepted_statuses=["clean", "weedy", "unknown"])
    after = desk.plan()
    assert held(after) == []
    saves_what_it_said(before, after, hint)


def test_every_drop_ahead_says_its_room_its_scarcity_and_its_runner_up(desk):
    desk.post(area_mowed={"value": 60, "unit": "m2"})
    routing = desk.plan()
    assert drops(routing)
    for drop in drops(routing):
        told = drop["explanation"]
        assert told["room_left_high_kg"] >= 0
        assert told["scarcity_cents_per_t"] >= 0
        assert drop["fee_cents"] >= 0
        instead = told["runner_up"]
        assert instead["destinations"] == [] or instead["extra_cents"] >= 0
    load = drops(routing)[0]["load_id"]
    answer = desk.client.patch(f"/loads/{load}", json={"state": "delivered"}, headers=NOW)
    assert answer.status_code == 200, answer.text
    assert [drop["explanation"] for drop in drops(desk.plan()) if drop["done"]] == [None]


def test_material_that_no_place_takes_says_what_would_place_it(desk):
    bay = f"/hold-bays/{desk.ids['hold-bays']}"
    assert desk.client.patch(bay, json={"volume_m3": 0.1}, headers=NOW).status_code == 200
    desk.tell_site(daily_capacity_kg=200)
    desk.post(**LONG)
    before = desk.plan()
    (part,) = before["unplaced"]
    (hint,) = [one for one in part["what_would_change"] if one["kind"] == "more_room"]
    assert "would find a place" in hint["sentence"]
    # a last kilogram may be made room for at a price: leaving is dearer than any way to place it
    desk.tell_site(daily_capacity_kg=200 + hint["more_room_high_kg"] - 20)
    assert desk.plan()["unplaced"]
    desk.tell_site(daily_capacity_kg=200 + hint["more_room_high_kg"])
    assert desk.plan()["unplaced"] == []


def test_what_would_change_is_worked_out_only_for_who_asks(desk):
    desk.tell_site(hours=hours("13:05"))
    desk.post(**LONG)
    (drop,) = held(desk.plan(asked="false"))
    assert drop["explanation"]["what_would_change"] is None
    asked = desk.plan()
    (told,) = held(asked)
    assert told["explanation"]["what_would_change"]
    assert told["load_id"] == drop["load_id"]
    assert [one for one in drops(asked) if one["explanation"]["what_would_change"] is None] == []


def test_a_job_s_own_answer_is_that_of_the_routing(desk):
    desk.tell_site(hours=hours("13:05"))
    desk.post(**LONG)
    routing = desk.plan()
    (job_id,) = {lot["job_id"] for lot in routing["lots"]}
    answer = desk.client.get(f"/jobs/{job_id}/what-would-change")
    assert answer.status_code == 200, answer.text
    assert {one["load_id"]: one["what_would_change"] for one in answer.json["loads"]} == {
        drop["load_id"]: drop["explanation"]["what_would_change"] for drop in drops(routing)
    }
    assert answer.json["unplaced"] == []


def sour_grass(desk, **said):
    desk.tell_site(accepted_statuses=["clean"], **said)
    desk.post(cut_at=f"{DAY}T03:00:00+01:00", wetness="rained_on")
    return desk.plan()


@pytest.mark.parametrize("said", [None, False], ids=["never asked", "said no"])
def test_a_site_that_would_take_it_if_it_took_what_has_turned_is_named(desk, said):
    before = sour_grass(desk, takes_sour=said)
    hint = the_hint(before, "accepts")
    assert hint["code"] == ("site_sour_not_said" if said is None else "site_refuses_sour")
    desk.tell_site(takes_sour=True)
    after = desk.plan()
    assert held(after) == []
    saves_what_it_said(before, after, hint)
