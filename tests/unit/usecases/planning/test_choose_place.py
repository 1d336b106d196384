"""A place is chosen by hand: checked as a plan is, told what it costs, kept, listed, ended."""

from datetime import timedelta
from types import SimpleNamespace

import pytest

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.kills import Kill, KillEvidence
from service.core.loads import LoadState
from service.core.materials import LotStatus, TreatmentHistory
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import Animals, DestinationKind, Drainage
from service.core.plans import RuleClass
from service.core.treatments import StatementSource
from service.gateways.distances import GeodesicDistances
from service.gateways.time_and_ids import FreshIdentifiers
from service.planning.model.stop_rule import StopRule
from service.usecases.day.overrides import OF_HARM, OF_THE_LOT, WHOSE
from service.usecases.planning.choice_refusals import (
    AdviceAgainst,
    NotToBeChosen,
    PlaceRefused,
    TipNotPossible,
    WouldSpoil,
)
from service.usecases.planning.choose_place import ChoosePlace
from service.usecases.telling.before_mowing.lawn_question import Said
from service.usecases.telling.before_mowing.pre_mow_check import PreMowCheck
from tests.builders import RULES
from tests.firms import DAY, SIX, outcome, the_load


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


def locks(firm):
    with firm.open_unit() as unit:
        return unit.loads.all(firm.caller.firm_id, locked=True)


def end(firm, load_id):
    """End a lock by the load that was answered, as a caller does."""
    with firm.open_unit() as unit:
        version = unit.loads.get(firm.caller.firm_id, load_id).version
    firm.loads(firm.caller, load_id, {"locked": False}, expected_version=version)


def history(firm, load_id):
    with firm.open_unit() as unit:
        return unit.amendments.of(firm.caller.firm_id, load_id)


@pytest.fixture
def day(firm, crew):
    """Return a day of one load, which is planned to the bed beside its lawn, and a site."""
    firm.crews_cost(0)  # the bed takes longer than the gate: it wins by fee and way alone
    lawn = firm.lawn(1)
    bed, site = firm.bed(lawn), firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    return SimpleNamespace(lawn=lawn, bed=bed, site=site, load=load)


def test_a_choice_is_told_what_it_costs_and_kept_until_it_is_ended(firm, choose, day):
    bed, site, load = day.bed, day.site, day.load
    asked = choose(load_id=load.id, destination_id=site.id, only_ask=True)
    assert asked.told.cost_cents.difference > 0
    read(firm)
    assert [one.destination_id for one in planned(firm)] == [bed.id]

    choice = choose(load_id=load.id, destination_id=site.id)
    assert choice.told.cost_cents == asked.told.cost_cents
    read(firm)
    (kept,) = planned(firm)
    assert (kept.destination_id, kept.locked) == (site.id, True)
    assert kept.chosen_by_id == firm.caller.key_id
    assert kept.id != choice.load.id  # the load that was answered only carried the lock to it
    end(firm, choice.load.id)
    assert locks(firm) == []
    firm.plan_day()
    assert [one.destination_id for one in planned(firm)] == [bed.id]
    assert [one.changes["locked"] for one in history(firm, kept.id)] == [[True, False]]


def test_the_place_that_is_planned_already_is_locked_by_choosing_it(firm, choose, day):
    choose(load_id=day.load.id, destination_id=day.bed.id)
    read(firm)
    (kept,) = planned(firm)
    assert (kept.destination_id, kept.locked) == (day.bed.id, True)


def test_a_choice_is_ended_before_it_was_planned_too(firm, choose, day):
    choice = choose(load_id=day.load.id, destination_id=day.site.id)
    end(firm, choice.load.id)
    read(firm)
    assert [one.destination_id for one in planned(firm)] == [day.bed.id]


def test_the_newest_choice_replaces_the_one_before_it(firm, choose, day):
    other = firm.site(name="Other")
    first = choose(load_id=day.load.id, destination_id=day.site.id)
    second = choose(load_id=day.load.id, destination_id=other.id)
    assert [one.id for one in locks(firm)] == [second.load.id]
    read(firm)
    assert [one.destination_id for one in planned(firm)] == [other.id]
    assert [one.changes["locked"] for one in history(firm, first.load.id)] == [
        [False, True],
        [True, False],
    ]
    (now,) = planned(firm)
    choose(load_id=now.id, destination_id=day.site.id)
    read(firm)
    assert [one.destination_id for one in locks(firm)] == [day.site.id]
    assert [one.destination_id for one in planned(firm)] == [day.site.id]


# What stands against a bed, and whose word it is.
NO_LAW = LegalBasis(
    kind=LegalBasisKind.REGISTERED_EXEMPTION,
    reference="EX 1",
    expires_on=DAY - timedelta(days=1),
)
FIRM_RULES = {
    "law": ({"legal_basis": NO_LAW}, RuleClass.LAW),
    "perhaps law, behind advice": (
        {"water_distance_m": 1.0, "drainage": Drainage.POOR},
        RuleClass.ADVICE,
    ),
    "client": ({"consent": Consent(state=ConsentState.REFUSED)}, RuleClass.CLIENT),
}


@pytest.mark.parametrize("against", FIRM_RULES)
def test_no_reason_sets_aside_what_is_not_advice(firm, choose, day, against):
    changes, rule_class = FIRM_RULES[against]
    wanted = firm.bed(day.lawn, name="Wanted", **changes)
    with pytest.raises(PlaceRefused) as refused:
        choose(load_id=day.load.id, destination_id=wanted.id, reason="I say so")
    assert refused.value.facts["whose"] == WHOSE[rule_class]
    assert locks(firm) == []


# What a lot may be that no bed is to get, by what its job says.
UNFIT = {
    "unknown": {"treatment_history": TreatmentHistory.UNKNOWN},
    "diseased": {"disease_seen": True},
    "weedy": {"weeds_in_seed": True},
    "littered": {"litter_seen": True},
    "sour": {"cut_at": SIX - timedelta(hours=20)},
}


@pytest.mark.parametrize("status", UNFIT)
def test_no_reason_brings_unfit_clippings_to_a_bed(firm, crew, choose, status):
    lawn = firm.lawn(1)
    bed = firm.bed(lawn)
    job = firm.jobs.create(firm.caller, firm.mown(lawn, crew, **UNFIT[status]))
    for reason in (None, "because"):
        with pytest.raises(PlaceRefused) as refused:
            choose(job_id=job.id, destination_id=bed.id, reason=reason)
        assert refused.value.facts["whose"] == OF_THE_LOT
    assert locks(firm) == []


def test_no_reason_brings_clippings_with_an_unread_label_to_a_bed_or_to_a_site(firm, crew, choose):
    lawn = firm.lawn(1)
    # The site takes weedy and clean only: its word stands, though advice is told before it.
    bed, site = firm.bed(lawn), firm.site(accepted_statuses=(LotStatus.CLEAN, LotStatus.WEEDY))
    firm.library.treatments.create(
        firm.caller,
        {
            "lawn_id": lawn.id,
            "product": "Moss killer",
            "active_ingredients": (),
            "applied_on": DAY - timedelta(days=9),
            "statement_source": StatementSource.APPLICATOR_RECORD,
            "stated_by": "P. Rowe",
        },
    )
    told = {"treatment_history": TreatmentHistory.KNOWN}
    job = firm.jobs.create(firm.caller, firm.mown(lawn, crew, **told))
    for place, whose in ((bed, OF_THE_LOT), (site, WHOSE[RuleClass.SITE])):
        with pytest.raises(PlaceRefused) as refused:
            choose(job_id=job.id, destination_id=place.id, reason="because")
        assert refused.value.facts["whose"] == whose


def test_a_clean_lot_that_lies_mixed_with_an_unknown_one_goes_to_no_bed(firm, crew, choose):
    lawns = [firm.lawn(1), firm.lawn(2)]
    bed = firm.bed(lawns[0], area_m2=200.0)
    clean = firm.jobs.create(firm.caller, firm.mown(lawns[0], crew))
    firm.jobs.create(firm.caller, firm.mown(lawns[1], crew, **UNFIT["unknown"]))
    firm.plan_day()
    for named in ({"job_id": clean.id}, {"load_id": the_load(firm, DestinationKind.HOLD_BAY).id}):
        with pytest.raises((PlaceRefused, TipNotPossible)):
            choose(**named, destination_id=bed.id, reason="because")


def test_a_reason_is_asked_for_only_where_it_helps(firm, crew, choose):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    near = firm.bed(lawn, name="Small", area_m2=1.0, drainage=Drainage.POOR)
    animals = firm.bed(lawn, name="Paddock", animals=(Animals.HORSES,))
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    with pytest.raises(PlaceRefused) as refused:
        choose(load_id=load.id, destination_id=animals.id)
    assert refused.value.facts["whose"] == OF_HARM
    for reason in (None, "because"):
        with pytest.raises((TipNotPossible, PlaceRefused)):
            choose(load_id=load.id, destination_id=near.id, reason=reason)


def test_advice_is_set_aside_with_a_reason_that_stays_with_the_load(firm, choose, day):
    near = firm.bed(day.lawn, name="Near", drainage=Drainage.POOR)
    with pytest.raises(AdviceAgainst):
        choose(load_id=day.load.id, destination_id=near.id)
    assert locks(firm) == []
    choice = choose(load_id=day.load.id, destination_id=near.id, reason="They dug drains")
    assert [said.code for said in choice.told.overridden] == ["drainage_not_fit"]
    read(firm)
    (chosen,) = planned(firm)  # all of it: no kilogram of it lies elsewhere for its rounding
    assert chosen.destination_id == near.id
    assert (chosen.locked, chosen.override_reason) == (True, "They dug drains")
    assert "They dug drains" in str(chosen.explanation)


def test_two_lots_against_advice_have_the_room_of_both(firm, crew, choose):
    lawns = [firm.lawn(number, area_m2=area) for number, area in enumerate((500.0, 90.0), 1)]
    near = firm.bed(lawns[0], area_m2=90.0, drainage=Drainage.POOR)
    firm.site()
    for hour, lawn in enumerate(lawns, 8):
        firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=hour))
    firm.plan_day()
    (load,) = planned(firm)
    assert len(load.parts) == 2
    choose(load_id=load.id, destination_id=near.id, reason="They dug drains")
    read(firm)
    (chosen,) = planned(firm)
    assert (chosen.destination_id, len(chosen.parts)) == (near.id, 2)


def test_what_stays_on_its_lawn_has_no_place_to_choose(firm, crew, choose):
    job = firm.jobs.create(firm.caller, firm.job(firm.lawn(1), crew))
    assert outcome(firm.plan_day(), job) == "leave_on_lawn"
    with pytest.raises(NotToBeChosen, match=r"stays on its lawn \(L-"):
        choose(job_id=job.id, destination_id=firm.bay_id)


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
    too_much = rf"has all of {job.lot_code} at Small: it may weigh up to \d+ kg, .* room for 5 kg"
    with pytest.raises(TipNotPossible, match=too_much):
        choose(load_id=load.id, destination_id=small.id)
    by_lot = choose(job_id=job.id, destination_id=site.id, only_ask=True)
    assert by_lot.load.status is LotStatus.CLEAN
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    for named in ({"load_id": load.id}, {"job_id": job.id}):
        with pytest.raises(NotToBeChosen):
            choose(**named, destination_id=site.id)


def test_a_retry_finds_the_choice_of_the_first_try(firm, choose, day):
    own_id = FreshIdentifiers().next_id()
    ids = SimpleNamespace(next_id=lambda: own_id)

    def again():
        return choose(load_id=day.load.id, destination_id=day.site.id, identifiers=ids)

    first, second = again(), again()
    assert second.told.cost_cents == first.told.cost_cents
    read(firm)
    third = again()  # the plan has taken it up since
    assert first.load.id == second.load.id == third.load.id == own_id
    assert [one.destination_id for one in locks(firm)] == [day.site.id]


def test_what_is_only_asked_is_kept_nowhere(firm, choose, day):
    for _ in range(2):
        choose(load_id=day.load.id, destination_id=day.site.id, only_ask=True)
    assert locks(firm) == []
    with firm.open_unit() as unit:
        assert [one.id for one in unit.loads.all(firm.caller.firm_id)] == [day.load.id]


@pytest.fixture
def clean_and_weedy(firm, crew):
    """Return a day of a clean lot for a bed, a weedy one for the bay, and a site for both."""
    lawns = [firm.lawn(number) for number in (1, 2)]
    bed = firm.bed(lawns[0], area_m2=200.0)
    clean, weedy = (
        firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=hour, weeds_in_seed=hour == 9))
        for hour, lawn in enumerate(lawns, 8)
    )
    site = firm.site(
        accepted_statuses=(LotStatus.CLEAN, LotStatus.WEEDY),
        fee=Fee(basis=FeeBasis.PER_LOAD, amount_cents=3000),
    )
    shown = KillEvidence(kill=Kill.WEED_SEED, reference="T 1", shown_on=DAY)
    firm.library.compost_sites.amend(
        firm.caller, site.id, {"kill_evidence": (shown,)}, expected_version=site.version
    )
    firm.plan_day()
    return SimpleNamespace(bed=bed, site=site, clean=clean, weedy=weedy)


def test_a_choice_that_spoils_what_was_for_a_bed_is_refused_and_names_it(
    firm, choose, clean_and_weedy
):
    day = clean_and_weedy
    for told in ({"only_ask": True}, {"reason": "because"}):
        with pytest.raises(WouldSpoil, match=day.clean.lot_code):
            choose(job_id=day.weedy.id, destination_id=day.site.id, **told)
    assert locks(firm) == []
    # The way on that is named leads on.
    choose(job_id=day.clean.id, destination_id=day.bed.id)
    choice = choose(job_id=day.weedy.id, destination_id=day.site.id)
    assert choice.told.drawn_in == ()


def test_a_choice_names_the_lots_that_it_mixes_in(firm, crew, choose):
    firm.crews_cost(0)
    lawns = [firm.lawn(number) for number in (1, 2)]
    firm.bed(lawns[1])
    weedy, clean = (
        firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=hour, weeds_in_seed=hour == 8))
        for hour, lawn in enumerate(lawns, 8)
    )
    firm.plan_day()
    choice = choose(job_id=clean.id, destination_id=firm.bay_id, only_ask=True)
    (drawn,) = choice.told.drawn_in
    assert (drawn.lot_code, drawn.mixed_status) == (weedy.lot_code, LotStatus.WEEDY)
    assert (drawn.was_for, drawn.goes_to, drawn.is_spoiled) == (("Bay",), ("Bay",), False)


def test_before_mowing_and_in_the_routing_a_choice_is_told_alike(firm, crew, choose):
    lawn = firm.lawn(1)
    wet = firm.bed(lawn, drainage=Drainage.POOR)
    job = firm.jobs.create(firm.caller, firm.job(lawn, crew))
    before = PreMowCheck(
        open_unit_of_work=firm.open_unit,
        clock=firm.clock,
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
    )
    assert outcome(firm.plan_day(), job) == "leave_on_lawn"
    choose(job_id=job.id, destination_id=wet.id, reason="They dug drains")
    (lot,) = read(firm)["lots"]
    told = before(firm.caller, lawn.id, depot_id=firm.depot_id, said=Said())
    assert told["code"] == lot["advice"]["code"] == "may_collect"
    (way,) = lot["goes_to"]
    assert (way["chosen_by_hand"], way["against_advice"]) == (True, True)
    said = [one["code"] for one in told["plan"]["says"]]
    assert said == ["tipped_by_plan", "chosen_against_advice"]
