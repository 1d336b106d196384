"""Needs you: what waits for a word comes with its fact, and leaves the list with it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.loads import LoadState
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.places import DestinationKind
from service.usecases.telling.decisions.decision import Urgency
from service.usecases.telling.decisions.listing import TellDecisions
from tests.builders import RULES
from tests.firms import DAY, SIX, the_load


@pytest.fixture
def decisions(firm):
    """Return who reads the day again if it changed, and tells what waits for a word."""
    tell = TellDecisions(open_reading=firm.open_unit, clock=firm.clock, rulebook=RULES)

    def told():
        firm.routing(firm.caller, firm.depot_id, DAY)
        return {one.code: one for one in tell(firm.caller, firm.depot_id, DAY)}

    return told


def amend(firm, load, changes):
    return firm.loads(firm.caller, load.id, changes, expected_version=load.version)


def locked_to_the_bed(firm, crew):
    lawn = firm.lawn(1)
    bed = firm.bed(lawn)
    firm.crews_cost(0)  # else the free gate wins: a tip there is shorter
    firm.site(fee=replace(firm.site().fee, amount_cents=0))
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    amend(firm, load, {"locked": True})
    return bed, load


def consent(firm, bed, expires_on):
    kept = firm.library.beds.read(firm.caller, bed.id)
    firm.library.beds.amend(
        firm.caller,
        bed.id,
        {"consent": replace(kept.consent, expires_on=expires_on)},
        expected_version=kept.version,
    )


def test_a_lost_lock_is_told_until_its_reason_is_gone_and_then_it_is_kept(firm, crew, decisions):
    bed, load = locked_to_the_bed(firm, crew)
    assert "lock_not_kept" not in decisions()
    consent(firm, bed, DAY - timedelta(days=1))
    told = decisions()["lock_not_kept"]
    assert told.load_id == load.id
    assert "could not be: The client's consent ended on" in told.sentence
    assert "Only the client can say otherwise" in told.sentence
    assert [way.href for way in told.ways][:2] == [f"/beds/{bed.id}", f"/loads/{load.id}"]
    # Planned again for another reason: it was lost in silence here.
    firm.jobs.create(firm.caller, firm.job(firm.lawn(2), crew, hour=11))
    assert decisions()["lock_not_kept"].load_id == load.id
    consent(firm, bed, DAY + timedelta(days=200))
    assert "lock_not_kept" not in decisions()
    back = the_load(firm, DestinationKind.BED)
    assert (back.destination_id, back.locked) == (bed.id, True)
    assert back.mass_kg.high == pytest.approx(load.mass_kg.high, rel=0.01)


def test_a_lost_lock_is_ended_by_a_word(firm, crew, decisions):
    bed, load = locked_to_the_bed(firm, crew)
    consent(firm, bed, DAY - timedelta(days=1))
    assert "lock_not_kept" in decisions()
    with firm.open_unit() as unit:
        lost = unit.loads.get(firm.caller.firm_id, load.id)
    amend(firm, lost, {"locked": False})
    assert "lock_not_kept" not in decisions()


def test_a_refusal_waits_until_what_came_back_is_somewhere(firm, crew, decisions):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.site()
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    amend(
        firm,
        the_load(firm, DestinationKind.BED),
        {"state": LoadState.REFUSED, "refusal_reason": "too wet"},
    )
    told = decisions()["turned_away"]
    assert told.urgency is Urgency.NOW
    assert "too wet" in told.sentence
    assert len(told.subject) == 2  # the bed and the vehicle
    amend(firm, the_load(firm, DestinationKind.COMPOST_SITE), {"state": LoadState.DELIVERED})
    assert "turned_away" not in decisions()


def test_grass_that_turns_and_a_load_nobody_heard_of_are_told(firm, crew, decisions):
    lawn = firm.lawn(1)
    firm.site()
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    assert "going_sour" not in decisions()
    firm.clock.move(hours=7)
    turning = decisions()
    assert {"going_sour", "gone_sour"} & turning.keys()
    load = amend(firm, the_load(firm, DestinationKind.COMPOST_SITE), {"state": LoadState.UNDER_WAY})
    assert not {"going_sour", "gone_sour", "long_under_way"} & decisions().keys()
    firm.clock.move(hours=2)
    assert decisions()["long_under_way"].load_id == load.id
    amend(firm, load, {"state": LoadState.DELIVERED})
    assert "long_under_way" not in decisions()


def test_an_overload_and_a_doubtful_weight_are_told_until_somebody_looks(firm, crew, decisions):
    lawn = firm.lawn(1)
    firm.site()
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.COMPOST_SITE)
    heavy = Measure(value=round(load.mass_kg.high * 4), unit="kg")
    if heavy.si_value > 900 * 2:
        heavy = Measure(value=1500, unit="kg")
    said = {"state": LoadState.DELIVERED, "weighed_net": heavy, "weigh_ticket": "W-1"}
    load = amend(firm, load, said)
    assert {"ticket_awaits_review", "vehicle_was_overloaded"} & decisions().keys()
    with firm.open_unit() as unit:
        assert unit.loads.get(firm.caller.firm_id, load.id).weight_counts == (
            "ticket_awaits_review" not in decisions()
        )


def test_a_gate_that_shuts_before_its_load_comes_first(firm, crew, decisions):
    lawn = firm.lawn(1)
    site = firm.site()
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.COMPOST_SITE)
    load = amend(firm, load, {"state": LoadState.UNDER_WAY})
    early = LiveStatus(
        state=SiteState.OPEN, as_of=SIX, closes_early_at=load.arrive_at - timedelta(minutes=5)
    )
    firm.library.compost_sites.amend(
        firm.caller, site.id, {"live_status": early}, expected_version=1
    )
    told = decisions()["site_shuts_first"]
    assert told.deadline == early.closes_early_at
    assert told.subject == (site.name,)
    amend(firm, load, {"state": LoadState.DELIVERED})
    assert "site_shuts_first" not in decisions()


def test_papers_are_told_of_a_fortnight_before_they_end(firm, decisions):
    lawn = firm.lawn(1)
    given = Consent(state=ConsentState.GIVEN, expires_on=DAY + timedelta(days=10))
    firm.bed(lawn, consent=given)
    told = decisions() if firm.jobs.create(firm.caller, _left(firm, lawn)) else None
    assert told["consent_ends"].urgency is Urgency.SOON
    assert "30 May 2026" in told["consent_ends"].sentence
    assert "registration_ends" not in told
    (bed,) = firm.library.beds.page(firm.caller, filters={}).records
    consent(firm, bed, date(2026, 12, 1))
    assert "consent_ends" not in decisions()


def _left(firm, lawn):
    return firm.job(lawn, firm.crew(firm.vehicle()))
