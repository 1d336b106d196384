"""What one day leaves to another: loads aboard, layers on beds, days that are over."""

from datetime import timedelta

from service.core.loads import LoadState
from service.core.places import DestinationKind
from tests.firms import DAY, SIX, the_load


def test_a_delivered_layer_makes_the_bed_rest(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    site = firm.site()
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    firm.clock.move(days=2)
    later = firm.jobs.create(
        firm.caller, firm.job(lawn, crew) | {"planned_at": SIX + timedelta(days=2, hours=3)}
    )
    plan = firm.plan(firm.caller, firm.depot_id, DAY + timedelta(days=2))
    lot = next(lot for lot in plan.routing["lots"] if lot["job_id"] == str(later.id))
    assert [drop["destination_id"] for drop in lot["goes_to"]] == [str(site.id)]
    assert lot["elsewhere"]["refused_by_code"] == {"bed_resting": 1}


def test_what_was_aboard_at_midnight_is_aboard_in_the_morning(firm, crew):
    lawn = firm.lawn(1)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew, litter_seen=True))
    firm.plan_day()
    firm.clock.move(days=1)
    routing = firm.plan(firm.caller, firm.depot_id, DAY + timedelta(days=1)).routing
    vehicle = routing["vehicles"][0]
    assert vehicle["aboard_now"]["mass_high_kg"] > 0
    assert "aboard_overnight" in {warning["code"] for warning in routing["warnings"]}
    assert [lot["outcome"] for lot in routing["lots"]] == ["hold"]


def test_a_cut_moved_to_yesterday_is_not_tipped_a_second_time(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.site()
    job = firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    firm.clock.move(hours=2)
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    firm.jobs.amend(firm.caller, job.id, {"cut_at": SIX - timedelta(days=1)}, expected_version=1)
    plan = firm.plan(firm.caller, firm.depot_id, DAY - timedelta(days=1))
    assert [vehicle["aboard_now"]["mass_high_kg"] for vehicle in plan.routing["vehicles"]] == [0]


def test_a_layer_laid_after_midnight_still_counts(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    site = firm.site()
    firm.clock.move(hours=9)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew, cut_at=firm.clock.now()))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    firm.clock.move(hours=9, minutes=30)  # half past midnight, and the grass is still fresh
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    firm.clock.move(hours=9, minutes=30)
    again = firm.mown(lawn, crew, cut_at=firm.clock.now())
    job = firm.jobs.create(firm.caller, again)
    plan = firm.plan(firm.caller, firm.depot_id, DAY + timedelta(days=1))
    lot = next(lot for lot in plan.routing["lots"] if lot["job_id"] == str(job.id))
    on_bed = sum(
        load.volume_m3.high
        for load in firm.all_loads()
        if load.destination_kind is DestinationKind.BED
    )
    assert on_bed <= 40.0 * 0.0127 + 1e-9
    assert str(site.id) in {way["destination_id"] for way in lot["goes_to"]}


def test_a_delivery_today_moves_what_was_planned_for_tomorrow(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    site = firm.site()
    tomorrow = DAY + timedelta(days=1)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.jobs.create(
        firm.caller, firm.job(lawn, crew) | {"planned_at": SIX + timedelta(days=1, hours=3)}
    )
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    routing = firm.routing(firm.caller, firm.depot_id, tomorrow).routing
    lot = routing["lots"][0]
    assert [way["destination_id"] for way in lot["goes_to"]] == [str(site.id)]
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    with firm.open_unit() as unit:
        days = {day.day: day for day in unit.working_days.all(firm.caller.firm_id)}
    assert days[tomorrow].revision > days[tomorrow].planned_revision


def test_reading_a_day_that_is_over_changes_no_history(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    plan = firm.plan(firm.caller, firm.depot_id, DAY)
    firm.clock.move(days=2)
    firm.lawn(2)
    assert firm.routing(firm.caller, firm.depot_id, DAY) == plan
