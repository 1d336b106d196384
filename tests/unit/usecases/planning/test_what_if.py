from dataclasses import replace
from uuid import UUID

import pytest

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.errors import RecordNotUsable
from service.core.loads import LoadState, TicketReview
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind
from service.gateways.distances import GeodesicDistances
from service.planning.model.stop_rule import StopRule
from service.usecases.planning.supposed.work import AddedJob, SupposedWork
from service.usecases.planning.what_if import AddedBed, Changes, WhatIf
from service.usecases.telling.changes.differences import lots_that_moved
from service.usecases.telling.told.forms import plain
from tests.builders import RULES
from tests.fakes import CountingIdentifiers
from tests.firms import DAY, SIX, the_load
from tests.unit.usecases.records.test_learning_from_tickets import weighed


@pytest.fixture
def suppose(firm):
    what_if = WhatIf(
        open_unit_of_work=firm.open_unit,
        clock=firm.clock,
        identifiers=CountingIdentifiers(),
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
        stop=StopRule(first=True),
    )
    return lambda *, with_routing=True, **changes: plain(
        what_if(firm.caller, firm.depot_id, DAY, Changes(**changes), with_routing=with_routing)
    )


def laid_out(firm, *, jobs=3):
    """Keep a crew with some jobs and two sites, one dearer."""
    crew = firm.crew(firm.vehicle())
    near = firm.site()
    dear = firm.site(name="Far compost", fee=replace(near.fee, amount_cents=9000))
    lawns = [firm.lawn(number) for number in range(1, jobs + 1)]
    rows = [
        firm.job(lawn, crew, hour=8 + n, height_removed=Measure(value=30.0, unit="mm"))
        for n, lawn in enumerate(lawns)
    ]
    return crew, near, dear, lawns, firm.jobs.create_many(firm.caller, rows)


def test_a_supposed_closure_costs_more_and_says_what_moves_and_why(firm, suppose):
    _, near, dear, _, jobs = laid_out(firm)
    answer = suppose(closed_site_ids=(near.id,))
    assert answer["cost_cents"]["difference"] > 0
    assert {moved["job_id"] for moved in answer["moved"]} == {str(a.job.id) for a in jobs}
    for moved in answer["moved"]:
        assert moved["code"] == "site_says_closed"
        assert "supposed" in str(moved)
        assert "The site said" not in str(moved)
        assert [way["destination_id"] for way in moved["becomes"]["goes_to"]] == [str(dear.id)]


def test_supposing_keeps_nothing(firm, suppose):
    laid_out(firm)
    before = {name: dict(kept) for name, kept in firm.open_unit.kept.items()}
    suppose(rain=True)
    assert {name: dict(kept) for name, kept in firm.open_unit.kept.items()} == before


def test_the_supposed_closure_is_what_the_real_one_gives(firm, suppose):
    _, near, _, _, _ = laid_out(firm)
    supposed = suppose(closed_site_ids=(near.id,))
    firm.library.compost_sites.amend(
        firm.caller,
        near.id,
        {"live_status": LiveStatus(state=SiteState.CLOSED, as_of=firm.clock.now())},
        expected_version=1,
    )
    real = firm.plan_day()
    assert real["cost_cents"] == supposed["routing"]["cost_cents"]


def test_a_supposed_job_is_what_the_real_one_would_be(firm, suppose):
    firm.crew(firm.vehicle("OT02 HER"))
    vehicle, lawn = firm.vehicle(), firm.lawn(1)
    crew = firm.crew(vehicle)
    firm.site()
    weighed(firm, crew, lawn, ratio=1.6, review=TicketReview.ACCEPTED, hours=168)
    real = firm.job(lawn, crew, hour=12)
    supposed = suppose(
        work=SupposedWork(
            added_jobs=(
                AddedJob(
                    lawn_id=lawn.id,
                    vehicle_id=vehicle.id,
                    planned_at=real["planned_at"],
                    height_removed_mm=real["height_removed"].si_value * 1000,
                    wetness=real["wetness"],
                    treatment_history=real["treatment_history"],
                ),
            )
        )
    )["routing"]
    kept = firm.jobs.create(firm.caller, real)
    routing = firm.plan_day()
    assert kept.estimate.tickets == 1
    assert [lot["mass_kg"] for lot in supposed["lots"]] == [
        lot["mass_kg"] for lot in routing["lots"]
    ]
    assert [one["crew_ids"] for one in supposed["vehicles"]] == [
        one["crew_ids"] for one in routing["vehicles"]
    ]


def test_a_vehicle_without_a_crew_is_supposed_to_mow_only_with_one_that_is_named(firm, suppose):
    vehicle, lawn = firm.vehicle("OT02 HER"), firm.lawn(1)
    crew = firm.crew(firm.vehicle())
    added = AddedJob(lawn_id=lawn.id, vehicle_id=vehicle.id, planned_at=SIX, height_removed_mm=30.0)
    with pytest.raises(RecordNotUsable) as refusal:
        suppose(work=SupposedWork(added_jobs=(added,)))
    assert [fault.pointer for fault in refusal.value.faults] == ["/added_jobs/0/crew_id"]
    routing = suppose(work=SupposedWork(added_jobs=(replace(added, crew_id=crew.id),)))["routing"]
    assert [one["crew_ids"] for one in routing["vehicles"] if one["stops"]] == [[str(crew.id)]]


def test_the_routing_is_made_for_whoever_asks_and_the_rest_is_the_same_without(firm, suppose):
    _, near, _, _, _ = laid_out(firm)
    told = suppose(closed_site_ids=(near.id,))
    bare = suppose(closed_site_ids=(near.id,), with_routing=False)
    assert bare == told | {"routing": None}


def test_rain_makes_the_same_jobs_heavier(firm, suppose):
    laid_out(firm)
    dry, wet = suppose(), suppose(rain=True)
    mass = {
        name: sum(lot["mass_kg"]["likely"] for lot in answer["routing"]["lots"])
        for name, answer in (("dry", dry), ("wet", wet))
    }
    assert mass["wet"] > mass["dry"]
    assert dry["moved"] == []


def test_one_more_bed_takes_what_went_to_the_site(firm, suppose):
    _, _, _, lawns, _ = laid_out(firm)
    answer = suppose(added_bed=AddedBed(property_id=lawns[0].property_id, area_m2=400.0))
    kinds = {
        way["destination_kind"] for moved in answer["moved"] for way in moved["becomes"]["goes_to"]
    }
    assert DestinationKind.BED.value in kinds
    assert answer["cost_cents"]["difference"] < 0


def test_what_nobody_takes_over_of_a_lost_vehicle_is_told_as_left_behind_and_weighed(firm, suppose):
    crew, *_ = laid_out(firm)
    answer = suppose(lost_vehicle_ids=(crew.vehicle_id,))
    assert {moved["code"] for moved in answer["moved"]} == {"vehicle_out"}
    left_kg = sum(lot["mass_kg"]["high"] for lot in suppose()["routing"]["lots"])
    assert answer["left_behind_high_kg"] == {"before": 0, "after": left_kg, "difference": left_kg}


def test_another_vehicle_takes_over_from_a_lost_one_and_nothing_is_left_behind(firm, suppose):
    crew, *_ = laid_out(firm)
    other = firm.crew(firm.vehicle("OT02 HER"))
    firm.jobs.create_many(firm.caller, [firm.job(firm.lawn(9), other, hour=9)])
    answer = suppose(lost_vehicle_ids=(crew.vehicle_id,))
    assert answer["left_behind_high_kg"]["after"] == 0
    for moved in answer["moved"]:
        assert moved["code"] == "vehicle_out"
        assert moved["becomes"]["vehicle_id"] == str(other.vehicle_id)
    assert len(answer["moved"]) == 3


def test_what_is_tipped_already_is_not_left_behind_with_a_lost_vehicle(firm, suppose):
    crew = firm.crew(firm.vehicle())
    firm.site()
    firm.jobs.create_many(firm.caller, [firm.mown(firm.lawn(1), crew)])
    firm.plan_day()
    load = the_load(firm, DestinationKind.COMPOST_SITE)
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    answer = suppose(lost_vehicle_ids=(crew.vehicle_id,))
    assert answer["left_behind_high_kg"]["after"] == 0


def test_supposing_what_is_not_there_names_every_stranger(suppose):
    with pytest.raises(RecordNotUsable) as refusal:
        suppose(closed_site_ids=(UUID(int=5),), lost_vehicle_ids=(UUID(int=6),))
    pointers = {fault.pointer for fault in refusal.value.faults}
    assert pointers == {"/closed_site_ids/0", "/lost_vehicle_ids/0"}


def test_nothing_moves_between_a_routing_and_itself(firm):
    laid_out(firm)
    routing = firm.plan_day()
    assert lots_that_moved(routing, routing) == ()
