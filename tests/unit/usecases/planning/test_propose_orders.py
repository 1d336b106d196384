"""What a proposed order keeps to: lots in parts, locked loads, midnight, and every job once."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from service.core.measures.quantities import Measure
from service.core.places import DestinationKind, Point
from service.gateways.distances import GeodesicDistances
from service.planning.model.stop_rule import StopRule
from service.usecases.planning.propose_orders import ProposeOrders, Wanted
from tests.builders import RULES
from tests.fakes import CountingIdentifiers
from tests.firms import DAY


@pytest.fixture
def propose(firm):
    orders = ProposeOrders(
        open_unit_of_work=firm.open_unit,
        clock=firm.clock,
        identifiers=CountingIdentifiers(),
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
        stop=StopRule(first=True),
    )
    return lambda **named: orders(firm.caller, firm.depot_id, DAY, Wanted(**named))


def lawns(firm, count, *, seed=2, area_m2=500.0):
    """Keep lawns here and there around the depot."""
    chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
    return [
        firm.lawn(
            number,
            area_m2=area_m2,
            point=Point(
                latitude=51.5 + chance.uniform(-0.08, 0.08),
                longitude=-2.5 + chance.uniform(-0.12, 0.12),
            ),
        )
        for number in range(count)
    ]


def take(firm, proposal):
    for vehicle in proposal["vehicles"]:
        for told in vehicle["jobs"]:
            if told["amend"]:
                firm.jobs.amend(
                    firm.caller,
                    UUID(told["job_id"]),
                    {"planned_at": datetime.fromisoformat(told["planned_at"])},
                    expected_version=told["version"],
                )


def test_a_lot_that_fills_the_vehicle_more_than_once_is_one_job_of_the_order(firm, propose):
    crew = firm.crew(firm.vehicle(payload_kg=500.0))
    firm.site()
    small, large = lawns(firm, 4), lawns(firm, 1, seed=9, area_m2=3000.0)
    rows = [firm.job(lawn, crew) for lawn in (*small, *large)]
    jobs = [answer.job for answer in firm.jobs.create_many(firm.caller, rows)]
    proposal = propose()
    (vehicle,) = proposal["vehicles"]
    assert "job_exceeds_vehicle" in {w["code"] for w in proposal["routing"]["warnings"]}
    assert sorted(told["job_id"] for told in vehicle["jobs"]) == sorted(str(j.id) for j in jobs)
    assert proposal["proposed"]
    take(firm, proposal)
    assert firm.plan_day()["cost_cents"] == proposal["routing"]["cost_cents"]


def test_a_locked_load_stays_after_its_job(firm, propose):
    crew = firm.crew(firm.vehicle())
    firm.site()
    for lawn in lawns(firm, 6):
        firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    load = next(
        load
        for load in firm.all_loads()
        if load.destination_kind is DestinationKind.COMPOST_SITE and load.after_job_id
    )
    firm.loads(firm.caller, load.id, {"locked": True}, expected_version=load.version)
    proposal = propose()
    assert proposal["proposed"]
    stops = proposal["routing"]["vehicles"][0]["stops"]
    at = next(n for n, stop in enumerate(stops) if stop.get("job_id") == str(load.after_job_id))
    assert stops[at + 1]["destination_id"] == str(load.destination_id)
    assert stops[at + 1]["locked"]
    take(firm, proposal)
    assert firm.plan_day()["cost_cents"] == proposal["routing"]["cost_cents"]


def test_times_are_of_the_day_even_where_the_work_ends_past_midnight(firm, propose):
    crew = firm.crew(firm.vehicle())
    firm.site()
    for lawn in lawns(firm, 6):
        firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=8, minutes_on_site=300))
    (vehicle,) = propose(vehicle_ids=(crew.vehicle_id,))["vehicles"]
    times = [datetime.fromisoformat(told["planned_at"]) for told in vehicle["jobs"]]
    reached = [datetime.fromisoformat(told["at"]) for told in vehicle["jobs"]]
    assert vehicle["proposed"]
    assert reached[-1].date() > DAY
    assert {at.astimezone(ZoneInfo("Europe/London")).date() for at in times} == {DAY}
    assert times == sorted(set(times))


def test_proposing_keeps_nothing(firm, propose):
    crew = firm.crew(firm.vehicle())
    firm.site()
    for lawn in lawns(firm, 4):
        firm.jobs.create(firm.caller, firm.job(lawn, crew))
    before = {name: dict(kept) for name, kept in firm.open_unit.kept.items()}
    assert propose()["proposed"]
    assert {name: dict(kept) for name, kept in firm.open_unit.kept.items()} == before


def test_the_same_day_is_proposed_the_same(firm, propose):
    crew = firm.crew(firm.vehicle())
    firm.site()
    for lawn in lawns(firm, 7):
        firm.jobs.create(firm.caller, firm.job(lawn, crew))
    assert propose()["vehicles"] == propose()["vehicles"]


@pytest.mark.parametrize("seed", range(5))
def test_a_proposal_never_costs_more_whatever_the_crews_planned(firm, propose, seed):
    chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
    cheap = firm.site()
    firm.site(name="Far compost", fee=replace(cheap.fee, amount_cents=9000))
    crews = [firm.crew(firm.vehicle(f"V{number}")) for number in range(3)]
    for number, lawn in enumerate(lawns(firm, 12, seed=seed)):
        hour = chance.choice([8.0, 8.0, 10.0])
        mowing = {"height_removed": Measure(value=chance.choice([20.0, 45.0]), unit="mm")}
        job = firm.job(lawn, crews[number % 3], hour=hour, **mowing)
        job["weeds_in_seed"] = chance.random() < 0.3
        firm.jobs.create(firm.caller, job)
    proposal = propose()
    assert proposal["cost_cents"]["after"] <= proposal["cost_cents"]["before"]
    assert proposal["proposed"] == (proposal["gain_cents"] > 0)
    take(firm, proposal)
    assert firm.plan_day()["cost_cents"]["total"] == proposal["cost_cents"]["after"]
