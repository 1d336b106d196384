"""What a crew's minute costs, by whose word, and what a plan makes of it."""

from dataclasses import replace
from datetime import date, time

import pytest

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.hours import OpeningHours
from service.core.loads import LoadState
from service.core.places import DestinationKind
from service.gateways.distances import GeodesicDistances
from service.usecases.day.problem.prices import COSTS, CrewMinute, costs_with, crew_minute
from service.usecases.telling.evening.periods import Span, TellTotals
from tests.builders import RULES
from tests.firms import DAY


@pytest.fixture
def depot(firm):
    return firm.library.depots.read(firm.caller, firm.depot_id)


def minute(depot, currency, day=DAY):
    return crew_minute(depot, currency, day, rulebook=RULES)


def test_without_a_word_of_the_depot_two_workers_cost_what_the_rule_has_for_the_currency(depot):
    # 12.71 pounds and 18.12 dollars an hour, twice, over 60 minutes.
    pounds, dollars = minute(depot, "GBP"), minute(depot, "USD")
    assert (pounds.cents, pounds.sources) == (42, ("common-practice", "lpc-2026"))
    assert dollars.cents == 60
    assert "12.71 GBP an hour" in pounds.basis
    assert minute(depot, "GBP", date(2026, 3, 31)).cents == 41  # 12.21 pounds an hour


def test_a_currency_without_a_rule_is_not_priced_and_says_so(depot):
    told = minute(depot, "PLN")
    assert told.cents is None
    assert told.basis.startswith("Not priced: no rule has a wage in PLN")
    assert costs_with(told) == COSTS


@pytest.mark.parametrize("cents", [0, 75])
def test_the_depots_own_price_goes_before_the_rule_and_may_be_nothing(depot, cents):
    assert minute(replace(depot, crew_minute_cents=cents), "GBP") == CrewMinute(
        cents=cents, basis="The depot's own price."
    )


@pytest.mark.parametrize(("cents", "more"), [(0, 100), (42, 58), (60, 40), (90, 45)])
def test_an_overtime_minute_costs_a_hundred_in_all_and_half_as_much_again_at_least(cents, more):
    costs = costs_with(CrewMinute(cents=cents, basis=""))
    assert (costs.crew_cents_per_min, costs.overtime_cents_per_min) == (cents, more)


def kinds(routing):
    return [way["destination_kind"] for lot in routing["lots"] for way in lot["goes_to"]]


def day_with(firm, *, cents):
    firm.crews_cost(cents)
    return firm.plan_day()


def test_a_small_lot_that_a_bed_takes_twenty_minutes_for_goes_to_a_gate_where_crews_are_paid(firm):
    # The gate stands beside the lawn, as the bed does, and costs nothing. A stop counts 3.00 and
    # 20 minutes at the bed, 5.00 and 5 minutes at the gate; 2.00 more to change what was told.
    # 15 minutes are worth 4.00 from 27 cents on.
    lawn = firm.lawn(1)
    firm.bed(lawn)
    point = firm.library.properties.read(firm.caller, lawn.property_id).point
    free = Fee(basis=FeeBasis.PER_TONNE, amount_cents=0, minimum_cents=0)
    site = firm.site(point=point, fee=free, hours=from_hour(6))
    stays = {"unloading_minutes": 5}
    firm.library.compost_sites.amend(firm.caller, site.id, stays, expected_version=site.version)
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    assert kinds(day_with(firm, cents=12)) == ["bed"]
    assert kinds(day_with(firm, cents=42)) == ["compost_site"]


def from_hour(hour):
    return tuple(
        OpeningHours(weekday=day, opens=time(hour), closes=time(18), last_load=time(17))
        for day in range(7)
    )


@pytest.mark.parametrize("cents", [0, 42])
def test_a_crew_with_no_lawn_ahead_waits_for_free(firm, cents):
    # At 13:00 it opens beside the lawn; 4 km further on it is open, and no dearer.
    lawn = firm.lawn(1)
    point = firm.library.properties.read(firm.caller, lawn.property_id).point
    free = Fee(basis=FeeBasis.PER_TONNE, amount_cents=0, minimum_cents=0)
    firm.site(name="Beside", point=point, fee=free, hours=from_hour(13))
    further = replace(point, latitude=point.latitude + 0.036)
    firm.site(name="Further", point=further, fee=free, hours=from_hour(6))
    without_bay(firm)
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    assert places(day_with(firm, cents=cents)) == ["Beside"]


@pytest.mark.parametrize("cents", [42, 90, 400])
def test_where_the_only_gate_opens_at_ten_a_small_lot_is_not_left(firm, cents):
    lawn = firm.lawn(1, area_m2=150.0)
    firm.site(name="Only", hours=from_hour(10))
    without_bay(firm)
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    told = day_with(firm, cents=cents)
    assert places(told) == ["Only"]


def without_bay(firm):
    bay = firm.library.hold_bays.read(firm.caller, firm.bay_id)
    firm.library.hold_bays.delete(firm.caller, bay.id, expected_version=bay.version)


def places(routing):
    return [way["name"] for lot in routing["lots"] for way in lot["goes_to"]]


def test_nothing_is_held_because_a_stop_in_the_yard_is_shorter(firm):
    # What is held is loaded by hand and tipped once more: 20 minutes at a bed are the less.
    lawn = firm.lawn(1, area_m2=40.0)
    firm.bed(lawn)
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    assert kinds(day_with(firm, cents=200)) == ["bed"]


def test_the_routing_says_what_a_minute_costs_and_what_the_day_has_of_them(firm):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    routing = firm.plan_day()
    assert routing["crew_minute"]["cents"] == 42
    ((*_, last),) = [vehicle["stops"] for vehicle in routing["vehicles"]]
    assert last["kind"] == "drop"
    # The lawn is 1.3 x 0.49 km off, 77 s at 30 km/h, there and back; the tip takes 20 minutes.
    assert routing["cost_cents"]["crew"] == pytest.approx(42 * (20 + 2 * 77 / 60), abs=2)


def test_a_months_sums_count_the_crews_time_at_the_same_price(firm):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.jobs.create(firm.caller, firm.mown(lawn, firm.crew(firm.vehicle())))
    tell = TellTotals(
        open_reading=firm.open_unit,
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
    )
    firm.crews_cost(75)
    firm.plan_day()
    load = next(one for one in firm.all_loads() if one.destination_kind is DestinationKind.BED)
    done = {"state": LoadState.DELIVERED}
    firm.loads(firm.caller, load.id, done, expected_version=load.version)
    told = tell(firm.caller, firm.depot_id, since=DAY, until=DAY, by=Span.DAY)
    assert told.crew_minute.cents == 75
    (cost,) = told.costs.values()
    assert cost.minutes == pytest.approx(20.0, abs=0.1)
    assert cost.time_cents == pytest.approx(75 * cost.minutes)
    firm.clock.move(days=1)
    firm.crews_cost(10_000)
    again = tell(firm.caller, firm.depot_id, since=DAY, until=DAY, by=Span.DAY)
    assert again == told
