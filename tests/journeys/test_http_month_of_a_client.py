"""A client takes so much in a month: kept with the yes, and counted by verdict, plan and tip."""

import re

import pytest

from tests.holds import DAY, Yard
from tests.journeys.test_http_taint import drops

MUCH = {"value": 400, "unit": "m2"}


@pytest.fixture
def yard():
    """Return a yard at one in the afternoon of a Sunday, with grass aboard that a bed takes."""
    yard = Yard()
    yard.crews_cost(0)
    yard.job = yard.mow(yard.lawn("Noon"), at="12:30", area_mowed=MUCH)
    return yard


def takes(yard, month_kg):
    yard.patch(yard.bed, {"consent": {"state": "given", "mass_per_month_max_kg": month_kg}})


def verdict(yard, **headers):
    told = yard.client.get(f"/jobs/{yard.job}/verdicts", headers=headers).json["verdicts"]
    return next(one for one in told if one["destination_kind"] == "bed")


def to_bed(yard):
    return [one for one in drops(yard.routing()) if one["destination_kind"] == "bed"]


def reached(yard):
    path = f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}"
    found = yard.client.get(path).json["decisions"]
    return [one for one in found if one["code"] == "consent_month_reached"]


def test_a_month_s_most_is_kept_and_verdict_and_plan_keep_to_it(yard):
    takes(yard, 40)
    assert yard.client.get(yard.bed).json["consent"]["mass_per_month_max_kg"] == 40
    said = verdict(yard)
    assert (said["accepted_kg"], said["code"], said["rule_class"]) == (
        40,
        "consent_month_mass",
        "client",
    )
    others = {verdict(yard, **{"Accept-Language": code})["sentence"] for code in ("es", "pl", "fr")}
    assert len({*others, said["sentence"]}) == 4
    (drop,) = to_bed(yard)
    assert drop["mass_kg"]["high"] <= 40
    assert reached(yard) == []


def test_what_was_brought_counts_until_the_month_is_over_and_its_end_is_told(yard):
    takes(yard, 40)
    (drop,) = to_bed(yard)
    yard.world.clock.move(minutes=10)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    assert to_bed(yard) == []
    (told,) = reached(yard)
    assert re.search(r"got \d+ kg of the 40 kg", told["sentence"])
    assert "24 June 2026" in told["sentence"]
    (way,) = told["ways"]
    yard.patch(way["href"], {"consent": {"state": "given", "mass_per_month_max_kg": 500}})
    assert reached(yard) == []


def test_a_tip_above_it_is_told_as_the_client_s_limit(yard):
    takes(yard, 40)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": f"{DAY}T12:55:00+01:00",
        "parts": [{"job_id": yard.job}],
    }
    yard.post("/loads", tip)
    path = f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}"
    found = yard.client.get(path).json["decisions"]
    (over,) = [one for one in found if one["code"] == "over_limit"]
    assert "40 kg in a month" in over["sentence"]
