"""A client who takes no visit for so little: the plan brings it elsewhere, and a choice is told."""

from dataclasses import replace

import pytest

from service.core.materials import Wetness
from service.core.places import DestinationKind
from service.gateways.distances import GeodesicDistances
from service.gateways.time_and_ids import FreshIdentifiers
from service.planning.model.stop_rule import StopRule
from service.usecases.planning.choice_refusals import PlaceRefused, TooLittleCounted
from service.usecases.planning.choose_place import ChoosePlace
from tests.builders import RULES


def with_least(firm, bed, least_kg):
    bed = firm.library.beds.read(firm.caller, bed.id)
    consent = replace(bed.consent, mass_per_visit_min_kg=least_kg)
    firm.library.beds.amend(firm.caller, bed.id, {"consent": consent}, expected_version=bed.version)


class Counting(GeodesicDistances):
    """Counts how often a day is laid out."""

    days = 0

    def matrix(self, points):
        self.days += 1
        return super().matrix(points)


def choosing(firm, distances=None):
    return ChoosePlace(
        open_unit_of_work=firm.open_unit,
        clock=firm.clock,
        identifiers=FreshIdentifiers(),
        rulebook=RULES,
        distances=distances or geodesic(),
        stop=StopRule(first=True),
    )


def geodesic(kind=GeodesicDistances):
    return kind(detour_factor=1.3, speed_km_per_h=30.0, sources=())


def going(firm):
    routing = firm.plan_day()
    return {way["destination_kind"] for lot in routing["lots"] for way in lot["goes_to"]}


def test_a_lot_below_the_least_is_not_brought_and_two_together_are(firm):
    crew = firm.crew(firm.vehicle())
    lawn = firm.lawn(1)
    bed = firm.bed(lawn, area_m2=300.0)
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    assert going(firm) == {"bed"}
    (load,) = [one for one in firm.all_loads() if one.destination_kind is DestinationKind.BED]
    with_least(firm, bed, load.mass_kg.likely * 1.5)
    assert going(firm) == {"hold_bay"}
    firm.jobs.create(firm.caller, firm.job(firm.lawn(2), crew, hour=9))
    assert going(firm) == {"bed"}


def test_a_choice_below_the_least_is_refused_in_the_clients_name(firm):
    lawn = firm.lawn(1)
    bed, site = firm.bed(lawn), firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    firm.plan_day()
    (load,) = firm.all_loads()
    with_least(firm, bed, load.mass_kg.likely + 1.0)
    firm.plan_day()
    choose = choosing(firm)
    now = next(one for one in firm.all_loads() if one.destination_id == site.id)
    with pytest.raises(PlaceRefused, match="no visit for less than"):
        choose(firm.caller, load_id=now.id, destination_id=bed.id, only_ask=True)


def a_dry_lot_that_is_just_enough(firm):
    """Keep a bed that takes no less than nine tenths of the one lot planned; return its load."""
    lawn = firm.lawn(1)
    bed, crew = firm.bed(lawn, area_m2=300.0), firm.crew(firm.vehicle())
    firm.site()
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    (load,) = firm.all_loads()
    assert load.destination_id == bed.id
    with_least(firm, bed, 0.9 * load.mass_kg.likely)
    return bed, crew, job


def bed_gets(firm, bed):
    firm.plan_day()
    return {
        part.job_id
        for load in firm.all_loads()
        if load.destination_id == bed.id
        for part in load.parts
    }


def test_what_another_crew_carries_does_not_raise_what_a_client_takes_at_least(firm):
    bed, _, job = a_dry_lot_that_is_just_enough(firm)
    other = firm.crew(firm.vehicle("CL06 LAW"))
    unsure = firm.job(firm.lawn(9), other, hour=9, wetness=Wetness.UNKNOWN)
    firm.jobs.create(firm.caller, unsure)
    assert job.id in bed_gets(firm, bed)


def test_a_choice_that_fails_by_the_least_alone_is_told_so(firm):
    bed, crew, job = a_dry_lot_that_is_just_enough(firm)
    load = next(one for one in firm.all_loads() if one.destination_id == bed.id)
    assert [part.job_id for part in load.parts] == [job.id]
    unsure = firm.job(firm.lawn(9), crew, hour=11, wetness=Wetness.UNKNOWN)
    firm.jobs.create(firm.caller, unsure)
    with pytest.raises(TooLittleCounted, match="no visit for less than"):
        choosing(firm)(firm.caller, load_id=load.id, destination_id=bed.id, only_ask=True)


def test_why_a_choice_fails_is_seen_in_its_two_plans_and_costs_no_third(firm):
    bed, crew, _ = a_dry_lot_that_is_just_enough(firm)
    load = next(one for one in firm.all_loads() if one.destination_id == bed.id)
    enough, failing = geodesic(Counting), geodesic(Counting)
    wanted = {"load_id": load.id, "destination_id": bed.id, "only_ask": True}
    choosing(firm, enough)(firm.caller, **wanted)
    unsure = firm.job(firm.lawn(9), crew, hour=11, wetness=Wetness.UNKNOWN)
    firm.jobs.create(firm.caller, unsure)
    with pytest.raises(TooLittleCounted):
        choosing(firm, failing)(firm.caller, **wanted)
    # A plan that cannot keep a lock is laid out once more without it.
    assert failing.days == enough.days + 1
