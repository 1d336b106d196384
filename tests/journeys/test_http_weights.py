"""A weight that cannot be is refused; one that nobody would believe counts for nobody yet."""

import re

import pytest

from tests.deliveries import Delivered
from tests.outages import warnings

ACCEPT = {"ticket_review": "accepted"}
SET_ASIDE = {"ticket_review": "set_aside"}


def ticket(net_kg, name="W-1", unit="kg"):
    return {"weighed_net": {"value": net_kg, "unit": unit}, "weigh_ticket": name}


@pytest.fixture
def crew():
    return Delivered()


def likely_kg(crew):
    return crew.client.get(crew.load).json["mass_kg"]["likely"]


def high_kg(crew):
    return crew.client.get(crew.load).json["mass_kg"]["high"]


def weighed_on_note(crew):
    """Return the weight in the load's newest note, None if it has none."""
    note = crew.post(f"{crew.load}/delivery-notes", {})["note"]
    return note["facts"]["amount"]["weighed"]


def test_a_weight_that_its_vehicle_cannot_have_carried_is_refused(crew):
    before = crew.client.get(crew.load).json
    problem = crew.patch(crew.load, ticket(30_000), status=422)
    (fault,) = problem["errors"]
    assert fault["pointer"] == "/weighed_net"
    assert "payload" in fault["detail"]
    assert crew.client.get(crew.load).json == before


def test_a_weight_in_the_wrong_unit_is_refused_as_well(crew):
    problem = crew.patch(crew.load, ticket(30, unit="t"), status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/weighed_net"]


@pytest.mark.parametrize("times", [3.5, 0.1])
def test_a_weight_far_from_the_estimate_counts_for_nobody_until_it_is_accepted(crew, times):
    bed = crew.room_kg()
    net = times * (high_kg(crew) if times > 1 else likely_kg(crew))
    kept = crew.patch(crew.load, ticket(net))
    assert (kept["weight_counts"], kept["ticket_review"]) == (False, "awaited")
    assert crew.room_kg() == bed
    assert weighed_on_note(crew) is None
    (warning,) = warnings(crew.read(), "ticket_awaits_review")
    assert warning["load_id"] in crew.load
    assert crew.patch(crew.load, ACCEPT)["weight_counts"] is True
    assert warnings(crew.read(), "ticket_awaits_review") == []
    assert weighed_on_note(crew)["net_kg"] == pytest.approx(net)


@pytest.mark.parametrize(("said", "review"), [(ACCEPT, "accepted"), (SET_ASIDE, "set_aside")])
def test_what_is_said_of_a_ticket_beside_a_new_weight_is_said_of_that_one(crew, said, review):
    for more_kg in range(3):
        sent = {**ticket(3.5 * high_kg(crew) + more_kg), **said}
        assert crew.patch(crew.load, sent)["ticket_review"] == review
    # Nothing is said of this one.
    assert crew.patch(crew.load, ticket(3.5 * high_kg(crew)))["ticket_review"] == "awaited"


def test_a_weight_near_the_estimate_counts_at_once(crew):
    assert crew.patch(crew.load, ticket(1.4 * likely_kg(crew)))["weight_counts"] is True
    assert warnings(crew.read(), "ticket_awaits_review") == []


def newest_facts(crew):
    """Return the facts of the load's newest note."""
    return crew.post(f"{crew.load}/delivery-notes", {})["note"]["facts"]


@pytest.mark.parametrize("times", [0.5, 3.0])
def test_how_a_load_is_laid_follows_from_the_weight_that_counts(crew, times):
    thought = newest_facts(crew)
    kg = times * likely_kg(crew)
    crew.patch(crew.load, {**ticket(kg), **ACCEPT})
    told = newest_facts(crew)
    assert told["amount"]["estimate_kg"] == thought["amount"]["estimate_kg"]
    old, new = thought["amount"]["volume_litres"], told["amount"]["volume_litres"]
    assert new["likely"] == pytest.approx(times * old["likely"], rel=0.03)
    # The mass is known by now: how much room it takes is as sure as how dense such grass lies.
    assert new["high"] / new["low"] < old["high"] / old["low"]
    old, new = thought["guidance"], told["guidance"]
    for name in ("mass_kg", "volume_litres"):
        assert new["browns"][name] == pytest.approx(times * old["browns"][name], rel=0.03)
    to_cover = [one["layers"] * one["area_covered_m2"] for one in (old, new)]
    assert (to_cover[1] > to_cover[0]) is (times > 1)


def test_a_ticket_that_is_set_aside_counts_for_nothing(crew):
    crew.patch(crew.load, ticket(1.4 * likely_kg(crew)))
    assert crew.patch(crew.load, SET_ASIDE)["weight_counts"] is False
    assert weighed_on_note(crew) is None


def test_a_ticket_of_the_part_that_stayed_teaches_nothing_of_the_part_that_was_refused(crew):
    lawn = crew.client.get(f"/jobs/{crew.job}").json["lawn_id"]
    before = crew.client.get(f"/jobs/{crew.job}").json["estimate"]["mass_kg"]["likely"]
    stayed = {"state": "partly_refused", "refused_share": 0.75, "refusal_reason": "No room."}
    crew.patch(crew.load, {**stayed, **ticket(likely_kg(crew) / 4)})
    crew.patch(crew.load, ACCEPT)
    again = crew.client.get(f"/jobs/{crew.mow(lawn, at='11:45')}").json["estimate"]
    assert "1 weigh tickets" in again["mass_kg"]["basis"]
    assert again["mass_kg"]["likely"] == pytest.approx(before, rel=0.01)


def test_a_tip_that_was_a_mistake_takes_its_ticket_with_it(crew):
    job = crew.client.get(f"/jobs/{crew.job}").json
    crew.patch(crew.load, ticket(likely_kg(crew) / 2))
    crew.patch(crew.load, ACCEPT)
    undone = crew.patch(crew.load, {"state": "planned"})
    assert (undone["weighed_net"], undone["weigh_ticket"]) == (None, None)
    assert undone["ticket_review"] == "awaited"
    again = crew.client.get(f"/jobs/{crew.mow(job['lawn_id'], at='11:45')}").json["estimate"]
    assert again["mass_kg"] == job["estimate"]["mass_kg"]


def test_a_ticket_that_looks_like_pounds_is_told_until_somebody_reviews_it(crew):
    vehicle = f"/vehicles/{crew.ids['vehicles']}"
    net = max(1.05 * high_kg(crew), likely_kg(crew) / 0.45359237)
    crew.patch(vehicle, {"payload_kg": net})
    crew.patch(crew.load, ticket(net))
    (warning,) = warnings(crew.read(), "ticket_may_be_in_pounds")
    assert warning["load_id"] in crew.load
    assert f"{net * 0.45359237:.0f} kg" in warning["why"]
    crew.patch(crew.load, ACCEPT)
    assert warnings(crew.read(), "ticket_may_be_in_pounds") == []


def test_a_ticket_whose_unit_is_pounds_is_not_asked_whether_it_is(crew):
    net_kg = max(1.05 * high_kg(crew), likely_kg(crew) / 0.45359237)
    crew.patch(f"/vehicles/{crew.ids['vehicles']}", {"payload_kg": net_kg})
    crew.patch(crew.load, ticket(net_kg / 0.45359237, unit="[lb_av]"))
    assert warnings(crew.read(), "ticket_may_be_in_pounds") == []


def test_a_vehicle_that_was_overloaded_is_told(crew):
    vehicle = f"/vehicles/{crew.ids['vehicles']}"
    net = 1.3 * high_kg(crew)
    crew.patch(vehicle, {"payload_kg": net / 1.2})
    crew.patch(crew.load, ticket(net))
    (warning,) = warnings(crew.read(), "vehicle_was_overloaded")
    assert warning["weighed_net_kg"] == round(net)


def verdict_of_bed(crew, job):
    said = crew.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
    (bed,) = [one for one in said if one["destination_kind"] == "bed"]
    return bed


def test_nitrogen_in_what_was_weighed_counts_at_its_own_high_end_today_and_for_the_year(crew):
    """A mass that is known may hold what such grass may: that is not the estimate's two ends."""
    bed, area_m2 = crew.ids["beds"], 5
    crew.patch(f"/beds/{bed}", {"area": {"value": area_m2, "unit": "m2"}})
    load = crew.client.get(crew.load).json
    crew.patch(crew.load, {**ticket(load["mass_kg"]["high"]), **ACCEPT})
    of_ends = load["nitrogen_kg"]["high"] / area_m2 * 10_000
    second = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": bed,
        "done_at": "2026-05-24T13:35:00+01:00",
        "parts": [{"job_id": crew.mow(crew.lawn("Next"), at="13:30")}],
    }
    crew.world.clock.move(hours=1)
    second = crew.post("/loads", second)
    (warning,) = [
        one for one in warnings(crew.read(), "over_limit") if one["load_id"] == second["id"]
    ]
    today = int(re.search(r"([0-9]+) already laid", warning["why"])[1])
    assert "already laid, other loads of today counted" in warning["why"]
    assert today > 1.2 * of_ends
    crew.patch(f"/loads/{second['id']}", {"state": "refused", "refusal_reason": "Too much"})
    crew.world.clock.move(days=20)
    later = verdict_of_bed(crew, crew.mow(crew.lawn("Later"), at="10:45", day="2026-06-13"))
    assert later["facts"]["laid_nitrogen_kg_per_ha"] == pytest.approx(today, abs=0.5)


@pytest.mark.parametrize("times", [2.7, 2.05, 0.45])
def test_a_weight_beyond_twice_the_range_is_doubted_and_says_so_to_whoever_told_it(crew, times):
    load = crew.client.get(crew.load).json
    net = times * load["mass_kg"]["high"] if times > 1 else times * load["mass_kg"]["low"]
    answer = crew.client.patch(
        crew.load, json=ticket(net), headers={"If-Match": "*", "Accept-Language": "pl"}
    )
    assert answer.status_code == 200, answer.text
    assert answer.json["weight_counts"] is False
    assert answer.json["mass_kg"] == load["mass_kg"]
    (told,) = [one for one in answer.json["warnings"] if one["code"] == "ticket_awaits_review"]
    assert "W-1" in told["sentence"]
    assert "Biuro" in told["sentence"]


class TestTwoLoadsOfOneTicket:
    """A number is given once: a second load with it is asked about, and nobody's weight is lost."""

    @pytest.fixture
    def second(self, crew):
        body = {
            "vehicle_id": crew.ids["vehicles"],
            "destination_kind": "bed",
            "destination_id": crew.ids["beds"],
            "done_at": "2026-05-24T13:35:00+01:00",
            "parts": [{"job_id": crew.mow(crew.lawn("Next"), at="13:30")}],
        }
        crew.world.clock.move(hours=1)
        return body

    def told(self, crew):
        listed = crew.client.get(f"/days/2026-05-24/decisions?depot_id={crew.ids['depots']}").json
        return [one for one in listed["decisions"] if one["code"] == "ticket_given_before"]

    @pytest.mark.parametrize("with_the_tip", [True, False])
    def test_the_second_counts_for_nothing_until_somebody_looks(self, crew, second, with_the_tip):
        net = likely_kg(crew)
        first = crew.patch(crew.load, ticket(net))
        assert (first["weight_counts"], first["ticket_like_id"]) == (True, None)
        if with_the_tip:
            load = crew.post("/loads", {**second, **ticket(net)})
        else:
            load = crew.post("/loads", second)
            load = crew.patch(f"/loads/{load['id']}", ticket(net))
        assert (load["weight_counts"], load["ticket_like_id"]) == (False, first["id"])
        assert [one["code"] for one in load["warnings"]] == ["ticket_given_before"]
        assert crew.client.get(crew.load).json["weight_counts"] is True
        (one,) = self.told(crew)
        assert "W-1" in one["sentence"]
        ways = {(way["method"], way["href"]) for way in one["ways"]}
        assert ways == {("PATCH", f"/loads/{load['id']}"), ("PATCH", crew.load)}
        accepted = crew.patch(f"/loads/{load['id']}", ACCEPT)
        assert accepted["weight_counts"] is True
        assert self.told(crew) == []

    def test_another_number_ends_the_doubt(self, crew, second):
        crew.patch(crew.load, ticket(likely_kg(crew)))
        load = crew.post("/loads", {**second, **ticket(likely_kg(crew))})
        corrected = crew.patch(f"/loads/{load['id']}", ticket(likely_kg(crew), "W-2"))
        assert (corrected["weight_counts"], corrected["ticket_like_id"]) == (True, None)
        assert self.told(crew) == []

    @pytest.mark.parametrize("said", [ticket(500, "W-9"), SET_ASIDE, {"state": "planned"}])
    def test_the_doubt_ends_as_well_where_the_first_of_both_was_the_wrong_one(
        self, crew, second, said
    ):
        crew.patch(crew.load, ticket(likely_kg(crew)))
        load = crew.post("/loads", {**second, **ticket(likely_kg(crew))})
        if "weighed_net" in said:
            said = ticket(likely_kg(crew), said["weigh_ticket"])
        crew.patch(crew.load, said)
        kept = crew.client.get(f"/loads/{load['id']}").json
        assert (kept["weight_counts"], kept["ticket_like_id"]) == (True, None)
        assert self.told(crew) == []

    def test_a_number_that_was_set_aside_or_taken_back_is_free(self, crew, second):
        crew.patch(crew.load, ticket(likely_kg(crew)))
        crew.patch(crew.load, SET_ASIDE)
        load = crew.post("/loads", {**second, **ticket(likely_kg(crew))})
        assert load["ticket_like_id"] is None

    def test_the_same_said_again_of_one_load_is_of_one_load(self, crew):
        crew.patch(crew.load, ticket(likely_kg(crew)))
        again = crew.patch(crew.load, ticket(likely_kg(crew)))
        assert (again["weight_counts"], again["ticket_like_id"]) == (True, None)
