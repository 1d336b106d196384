"""A place is chosen by hand: checked as a plan is, told what it costs, kept, listed, ended."""

from dataclasses import replace
from datetime import timedelta

import pytest

from service.core.loads import LoadState
from service.core.materials import LotStatus
from service.core.places import DestinationKind, Drainage
from service.gateways.distances import GeodesicDistances
from service.gateways.time_and_ids import FreshIdentifiers
from service.planning.model.stop_rule import StopRule
from service.usecases.planning.choose_place import (
    AdviceAgainst,
    ChoosePlace,
    NotToBeChosen,
    PlaceRefused,
    TipNotPossible,
)
from tests.builders import RULES
from tests.fakes import CountingIdentifiers
from tests.firms import DAY, the_load


@pytest.fixture
def choose(firm):
    """Return the use case over the firm's records, its caller filled in."""
    made = ChoosePlace(
        open_unit_of_work=firm.open_unit,
        clock=firm.clock,
        identifiers=FreshIdentifiers(),
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
        stop=StopRule(first=True),
    )
    return lambda **wanted: made(firm.caller, **wanted)


def read(firm):
    return firm.routing(firm.caller, firm.depot_id, DAY).routing


def planned(firm):
    return [load for load in firm.all_loads() if load.state is LoadState.PLANNED]


def test_a_choice_is_told_what_it_costs_and_kept_until_it_is_ended(firm, crew, choose):
    lawn = firm.lawn(1)
    bed = firm.bed(lawn)
    site = firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    asked = choose(load_id=load.id, destination_id=site.id, only_ask=True)
    assert asked.after_cents > asked.before_cents
    read(firm)
    assert [one.destination_id for one in planned(firm)] == [bed.id]

    choice = choose(load_id=load.id, destination_id=site.id)
    assert (choice.before_cents, choice.after_cents) == (asked.before_cents, asked.after_cents)
    read(firm)
    (kept,) = planned(firm)
    assert (kept.destination_id, kept.locked) == (site.id, True)
    assert kept.chosen_by_id == firm.caller.key_id
    firm.loads(firm.caller, kept.id, {"locked": False}, expected_version=kept.version)
    firm.plan_day()
    assert [one.destination_id for one in planned(firm)] == [bed.id]


def test_law_stands_and_advice_is_set_aside_with_a_reason(firm, crew, choose):
    lawn = firm.lawn(1)
    lawless = firm.bed(lawn, name="No ground", legal_basis=replace(firm.bed(lawn).legal_basis))
    (near, *_) = firm.library.beds.page(firm.caller, filters={}).records
    gone = replace(lawless.legal_basis, expires_on=DAY - timedelta(days=1))
    firm.library.beds.amend(firm.caller, lawless.id, {"legal_basis": gone}, expected_version=1)
    firm.library.beds.amend(firm.caller, near.id, {"drainage": Drainage.POOR}, expected_version=1)
    site = firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    (load,) = planned(firm)
    assert load.destination_id == site.id
    with pytest.raises(PlaceRefused) as refused:
        choose(load_id=load.id, destination_id=lawless.id, reason="I say so")
    assert "law" in refused.value.args[0] or "client" in str(refused.value)
    with pytest.raises(AdviceAgainst):
        choose(load_id=load.id, destination_id=near.id)
    choice = choose(load_id=load.id, destination_id=near.id, reason="They dug drains")
    assert [said.code for _, said in choice.overridden]
    read(firm)
    chosen = next(one for one in planned(firm) if one.destination_id == near.id)
    assert (chosen.locked, chosen.override_reason) == (True, "They dug drains")
    assert "They dug drains" in str(chosen.explanation)


def test_what_is_done_or_cannot_be_tipped_there_is_not_chosen(firm, crew, choose):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    site = firm.site()
    shut = firm.site(name="Shut", hours=())
    small = firm.site(name="Small", daily_capacity_kg=5.0)
    job = firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    with pytest.raises(PlaceRefused):
        choose(load_id=load.id, destination_id=shut.id)
    with pytest.raises(TipNotPossible):
        choose(load_id=load.id, destination_id=small.id)
    by_lot = choose(job_id=job.id, destination_id=site.id, only_ask=True)
    assert by_lot.load.status is LotStatus.CLEAN
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    with pytest.raises(NotToBeChosen):
        choose(load_id=load.id, destination_id=site.id)


def test_a_choice_has_an_id_that_a_retry_finds_again(firm, crew, choose):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    site = firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    ids = CountingIdentifiers()
    choice = choose(load_id=load.id, destination_id=site.id, only_ask=True, identifiers=ids)
    assert choice.load.id == CountingIdentifiers().next_id()
