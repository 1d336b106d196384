"""What a local answer stands on: the plan before in whole kilograms, and its rulebook."""

from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest

from service.core.permission.consent import Consent, ConsentState
from service.gateways.distances import GeodesicDistances
from service.planning.model.stop_rule import StopRule
from service.usecases.day.asking import ask_day
from service.usecases.day.problem.build import build_problem
from service.usecases.day.reading.read_day import read_day
from service.usecases.day.replanning.previous_plan import previous_of
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.store_plan import PlanDay
from tests.builders import RULES
from tests.fakes import CountingIdentifiers
from tests.firms import DAY, no_note

DISTANCES = GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=())


@pytest.fixture
def planned(firm):
    """Return a firm whose vehicles share a tight site and small beds: some tips are partial."""
    firm.site(daily_capacity_kg=700.0)
    for number in range(4):
        crew = firm.crew(firm.vehicle(f"V{number}"))
        for hour in (8, 9, 10):
            lawn = firm.lawn(4 * number + hour, area_m2=700.0)
            firm.bed(lawn, area_m2=12.0 + hour)
            firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=hour))
    firm.plan_day()
    return firm


def built(firm):
    with firm.open_unit() as unit:
        facts = read_day(
            unit,
            firm_id=firm.caller.firm_id,
            depot_id=firm.depot_id,
            day=DAY,
            now=firm.clock.now(),
        )
    asked = ask_day(facts, rulebook=RULES)
    return facts, build_problem(
        facts, asked, facts.to_be_routed(), rulebook=RULES, distances=DISTANCES
    )


def test_the_loads_of_a_plan_weigh_the_same_when_they_are_read_back(planned):
    facts, problem = built(planned)
    previous = previous_of(facts, problem)
    loads = sorted(facts.planned_loads, key=lambda load: load.sequence)
    for vehicle in previous.vehicles:
        day = problem.vehicles[vehicle.id]
        kg = [
            load.explanation["limit_mass_kg"] for load in loads if load.vehicle_id == day.vehicle_id
        ]
        assert [stop.mass_kg for stop in vehicle.stops if stop.destination] == kg
    assert any(part.share < 1 for load in loads for part in load.parts)


def test_a_plan_by_another_rulebook_is_no_ground_for_a_local_answer(planned):
    planned.clock.move(minutes=5)
    kept = {
        "open_unit_of_work": planned.open_unit,
        "clock": planned.clock,
        "identifiers": CountingIdentifiers(),
    }
    for version, scope in (("another", "whole_day"), ("another", "local"), ("third", "whole_day")):
        plan_day = PlanDay(
            **kept,
            open_reading=planned.open_unit,
            renew_note=no_note,
            rulebook=replace(RULES, version=version),
            distances=DISTANCES,
            stop=StopRule(first=True),
        )
        read = ReadRouting(open_reading=planned.open_unit, clock=planned.clock, plan_day=plan_day)
        planned.clock.move(minutes=5)
        planned.lawn(900)
        planned.bed(planned.lawn(901))
        plan = read(planned.caller, planned.depot_id, DAY)
        assert plan.routing["planning"]["scope"] == scope


def test_a_plan_kept_before_versions_were_is_no_ground_for_a_local_answer(planned):
    with planned.open_unit() as unit:
        plan = unit.day_plans.latest(planned.caller.firm_id, planned.depot_id, DAY)
        older = replace(plan, record_versions=None, version=plan.version + 1)
        unit.day_plans.replace(older, expected_version=plan.version)
        unit.commit()
    planned.bed(planned.lawn(90))
    for scope in ("whole_day", "local"):
        again = planned.routing(planned.caller, planned.depot_id, DAY)
        assert again.routing["planning"]["scope"] == scope
        planned.bed(planned.lawn(91))


def test_the_next_day_begins_with_a_search(planned):
    planned.clock.move(minutes=5)
    planned.bed(planned.lawn(90))
    assert planned.routing(planned.caller, planned.depot_id, DAY).routing["planning"]["scope"] == (
        "local"
    )
    planned.clock.move(days=1)
    tomorrow = planned.plan(planned.caller, planned.depot_id, DAY + timedelta(days=1))
    assert tomorrow.routing["planning"]["scope"] == "whole_day"


def test_who_meant_to_lay_a_part_on_a_bed_that_says_no_is_named(planned):
    places = {drop["destination_id"] for drop in drops(planned.plan_day(), "bed")}
    for place in sorted(places):
        planned.clock.move(minutes=1)
        routing = planned.routing(planned.caller, planned.depot_id, DAY).routing
        bound_there = going_to(routing, place)
        bed = planned.library.beds.read(planned.caller, UUID(place))
        planned.library.beds.amend(
            planned.caller,
            bed.id,
            {"consent": Consent(state=ConsentState.WITHDRAWN)},
            expected_version=bed.version,
        )
        after = planned.routing(planned.caller, planned.depot_id, DAY).routing
        named = {one["vehicle_id"] for one in after["planning"]["vehicles"]}
        assert after["planning"]["scope"] == "whole_day" or bound_there <= named
        assert going_to(after, place) == set()


def drops(routing, kind):
    return [
        stop
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and stop["destination_kind"] == kind
    ]


def going_to(routing, place):
    return {
        vehicle["vehicle_id"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop.get("destination_id") == place
    }
