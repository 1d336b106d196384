"""A day as it is planned, and planned again as it goes on."""

from datetime import date

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.jobs import JobState
from service.core.loads import LoadState
from service.core.materials import ClippingsHandling, LotStatus
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind
from service.core.treatments import StatementSource
from tests.firms import DAY, make_firm, outcome, the_load


def test_clean_clippings_go_on_the_bed_beside_the_lawn(firm, crew):
    lawn = firm.lawn(1)
    bed = firm.bed(lawn)
    firm.site()
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew))
    routing = firm.plan_day()
    assert outcome(routing, job) == "routed"
    assert the_load(firm, DestinationKind.BED).destination_id == bed.id


def test_a_delivered_load_stays_when_the_day_is_planned_again(firm, crew):
    lawn, other = firm.lawn(1), firm.lawn(2)
    firm.bed(lawn)
    firm.site()
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    firm.clock.move(hours=3)
    mown = firm.jobs.amend(
        firm.caller,
        job.id,
        {"state": JobState.MOWN, "cut_at": firm.clock.now()},
        expected_version=1,
    )
    assert mown.state is JobState.MOWN
    firm.routing(firm.caller, firm.depot_id, DAY)
    load = the_load(firm, DestinationKind.BED)
    done = firm.loads(
        firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version
    )
    firm.jobs.create(firm.caller, firm.job(other, crew, hour=14))
    routing = firm.plan_day()
    assert {ld.id for ld in firm.all_loads()} >= {done.id}
    stops = routing["vehicles"][0]["stops"]
    assert [stop.get("done") for stop in stops[:2]] == [True, True]
    assert routing["vehicles"][0]["aboard_now"]["mass_high_kg"] == 0


def test_short_clippings_that_nobody_takes_are_left_on_the_lawn(firm, crew):
    lawn = firm.lawn(1)
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew))
    routing = firm.plan_day()
    assert outcome(routing, job) == "leave_on_lawn"
    assert firm.all_loads() == []


def test_clippings_said_to_be_left_need_no_destination(firm, crew):
    lawn = firm.lawn(1)
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew, clippings=ClippingsHandling.LEFT))
    assert outcome(firm.plan_day(), job) == "left_on_lawn"


def test_a_treatment_stated_late_takes_a_lot_off_the_bed(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    job = firm.jobs.create(
        firm.caller, firm.job(lawn, crew, height_removed=Measure(value=40.0, unit="mm"))
    )
    assert outcome(firm.plan_day(), job) == "routed"
    firm.library.treatments.create(
        firm.caller,
        {
            "lawn_id": lawn.id,
            "product": "Selective weed killer",
            "active_ingredients": ("dicamba",),
            "applied_on": date(2026, 5, 18),
            "statement_source": StatementSource.APPLICATOR_RECORD,
            "stated_by": "T. Lund",
        },
    )
    plan = firm.routing(firm.caller, firm.depot_id, DAY)
    # Held, its waits would not run down: they are counted on the lawn.
    assert outcome(plan.routing, job) == "leave_on_lawn"
    assert plan.routing["lots"][0]["status"] == LotStatus.TREATED.value


def test_a_gate_that_shuts_sends_the_day_elsewhere(firm, crew):
    lawn = firm.lawn(1)
    site = firm.site()
    other = firm.site(name="Far compost", operator="N. Dale")
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    first = the_load(firm, DestinationKind.COMPOST_SITE).destination_id
    shut, still_open = (site, other) if first == site.id else (other, site)
    firm.library.compost_sites.amend(
        firm.caller,
        shut.id,
        {"live_status": LiveStatus(state=SiteState.CLOSED, as_of=firm.clock.now())},
        expected_version=1,
    )
    routing = firm.routing(firm.caller, firm.depot_id, DAY).routing
    assert outcome(routing, job) == "routed"
    assert the_load(firm, DestinationKind.COMPOST_SITE).destination_id == still_open.id


def test_a_lot_heavier_than_its_vehicle_is_fetched_in_parts_and_told(firm):
    crew = firm.crew(firm.vehicle(payload_kg=200.0))
    lawn = firm.lawn(1, area_m2=3000.0)
    firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    routing = firm.plan_day()
    assert routing["warnings"][0]["code"] == "job_exceeds_vehicle"
    assert not routing["unplaced"]
    assert all(load.mass_kg.high <= 200.0 + 1e-6 for load in firm.all_loads())


def test_two_depots_do_not_both_fill_the_same_bed(firm, crew):
    lawn = firm.lawn(1)
    bed = firm.bed(lawn, area_m2=40.0)
    firm.site()
    second = firm.library.depots.create(
        firm.caller,
        {
            "name": "Second yard",
            "address": "2 Yard Lane",
            "point": firm.library.depots.read(firm.caller, firm.depot_id).point,
            "time_zone": "Europe/London",
            "jurisdiction": "GB-ENG",
        },
    )
    other = firm.library.vehicles.create(
        firm.caller,
        {
            "depot_id": second.id,
            "registration": "CL06 LAW",
            "payload_kg": 900.0,
            "body_volume_m3": 4.5,
        },
    )
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.jobs.create(firm.caller, firm.job(lawn, crew) | {"vehicle_id": other.id})
    for _ in range(2):
        firm.routing(firm.caller, firm.depot_id, DAY)
        firm.routing(firm.caller, second.id, DAY)
    on_bed = [load for load in firm.all_loads() if load.destination_id == bed.id]
    # 40 m2 at 250 kg N a hectare is 1 kg N: one lot of 1.1 kg N at its high end, not two.
    assert 0 < sum(load.nitrogen_kg.high for load in on_bed) <= 1.05
    with firm.open_unit() as unit:
        days = unit.working_days.all(firm.caller.firm_id)
    assert all(day.revision == day.planned_revision for day in days)


def test_an_overloaded_vehicle_tips_before_it_loads_again():
    firm = make_firm()
    crew = firm.crew(firm.vehicle(payload_kg=200.0))
    firm.site()
    firm.jobs.create(firm.caller, firm.mown(firm.lawn(1, area_m2=2000.0), crew))
    firm.jobs.create(firm.caller, firm.job(firm.lawn(2, area_m2=800.0), crew, hour=9))
    firm.jobs.create(firm.caller, firm.job(firm.lawn(3, area_m2=800.0), crew, hour=10))
    routing = firm.plan_day()
    assert "vehicle_may_be_overloaded" in {warning["code"] for warning in routing["warnings"]}
    heights = {lot["job_id"]: lot["mass_kg"]["high"] for lot in routing["lots"]}
    aboard = routing["vehicles"][0]["aboard_now"]["mass_high_kg"]
    for stop in routing["vehicles"][0]["stops"]:
        if stop.get("done"):
            continue
        if stop["kind"] == "drop":
            aboard -= stop["mass_kg"]["high"]
        else:
            aboard += heights[stop["job_id"]]
            assert aboard <= 200.0 + 2.0


def test_a_lot_in_equal_parts_is_planned_again_without_orphans(firm):
    crew = firm.crew(firm.vehicle(payload_kg=277.0))
    firm.site()
    firm.jobs.create(firm.caller, firm.job(firm.lawn(1, area_m2=3000.0), crew))
    firm.plan_day()
    first = sorted(load.id for load in firm.all_loads())
    for _ in range(3):
        firm.plan_day()
    assert sorted(load.id for load in firm.all_loads()) == first


def test_a_lot_no_vehicle_could_fetch_is_told_and_the_others_are_routed(firm, crew):
    firm.site()
    huge = firm.mown(
        firm.lawn(1, area_m2=50_000.0), crew, measured_mass=Measure(value=20000.0, unit="kg")
    )
    firm.jobs.create(firm.caller, huge)
    job = firm.jobs.create(firm.caller, firm.job(firm.lawn(2), crew))
    routing = firm.plan_day()
    assert "lot_too_large" in {warning["code"] for warning in routing["warnings"]}
    assert outcome(routing, job) == "routed"


def test_a_runner_up_takes_every_lot_and_is_not_the_place_itself(firm, crew):
    for number in range(4):
        lawn = firm.lawn(number)
        firm.bed(lawn, name=f"Bed {number}", area_m2=60.0)
        firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=8 + number))
    firm.site()
    first = firm.plan_day()
    again = firm.plan_day()
    for routing in (first, again):
        for lot in routing["lots"]:
            for way in lot["goes_to"]:
                named = [other["destination_id"] for other in way["runner_up"]["destinations"]]
                assert way["destination_id"] not in named
                assert "D" not in {name[:1] for name in named}
