"""Crews that ask about one day at once have it read once, and never what has changed since."""

from dataclasses import replace
from uuid import UUID

import pytest

from service.core.callers.access import Own, Role, Scope
from service.core.permission.consent import Consent, ConsentState
from service.gateways.distances import GeodesicDistances
from service.usecases.telling.before_mowing.pre_mow_check import PreMowCheck
from tests.builders import RULES
from tests.firms import make_firm

VEHICLES = 3


@pytest.fixture
def firm(open_unit):
    """Return a firm whose crews have two lawns each, planned, with beds beside them."""
    firm = make_firm(open_unit)
    firm.crews_cost(0)
    rows = []
    for number in range(VEHICLES):
        crew = firm.crew(firm.vehicle(f"V{number}"))
        for at in range(2):
            lawn = firm.lawn(2 * number + at)
            firm.bed(lawn)
            rows.append(firm.job(lawn, crew, hour=8.0 + at))
    firm.jobs.create_many(firm.caller, rows)
    firm.plan_day()
    return firm


def asking(firm, open_reading):
    """Return a check that has no day in hand."""
    return PreMowCheck(
        open_unit_of_work=open_reading,
        clock=firm.clock,
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
    )


def lawns_by_crew(firm):
    with firm.open_unit() as unit:
        jobs = unit.jobs.all(firm.caller.firm_id)
    found = {}
    for job in jobs:
        found.setdefault(job.crew_id, []).append(job.lawn_id)
    return found


def own(firm, crew_id):
    """Return the key of a crew's own."""
    return replace(firm.caller, role=Role.CREW, scope=Scope(own=Own.CREW, id=crew_id))


def answers(check, firm):
    return {
        crew_id: check.of_lawns(own(firm, crew_id), lawns, depot_id=firm.depot_id)
        for crew_id, lawns in lawns_by_crew(firm).items()
    }


def test_the_second_crew_that_asks_reads_no_job_of_another(firm, open_reading, statements):
    check = asking(firm, open_reading)
    counts = []
    for crew_id, lawns in lawns_by_crew(firm).items():
        statements.clear()
        check.of_lawns(own(firm, crew_id), lawns, depot_id=firm.depot_id)
        counts.append((len(statements), sum("FROM beds" in one for one in statements)))
    (first, beds), *others = counts
    assert beds > 0
    assert all(beds == 0 and count < first - 10 for count, beds in others), counts


def test_what_crews_hear_of_a_day_in_hand_is_what_a_fresh_reading_tells(firm, open_reading):
    check = asking(firm, open_reading)
    answers(check, firm)  # the day is in hand
    fresh = {}
    for crew_id, lawns in lawns_by_crew(firm).items():
        alone = asking(firm, open_reading)
        fresh[crew_id] = alone.of_lawns(own(firm, crew_id), lawns, depot_id=firm.depot_id)
    assert answers(check, firm) == fresh


def withdraw(firm):
    with firm.open_unit() as unit:
        beds = unit.beds.all(firm.caller.firm_id)
    for bed in beds:
        firm.library.beds.amend(
            firm.caller,
            bed.id,
            {"consent": Consent(state=ConsentState.WITHDRAWN)},
            expected_version=bed.version,
        )


def post(firm):
    with firm.open_unit() as unit:
        crew = unit.crews.all(firm.caller.firm_id)[0]
    lawn = firm.lawn(99)
    firm.jobs.create_many(firm.caller, [firm.job(lawn, crew, hour=11.0)])


@pytest.mark.parametrize("event", [withdraw, post, lambda firm: firm.plan_day()])
def test_after_an_event_nobody_hears_of_the_day_before_it(firm, open_reading, event):
    check = asking(firm, open_reading)
    answers(check, firm)
    event(firm)
    assert answers(check, firm) == answers(asking(firm, open_reading), firm)


def test_a_day_is_in_hand_for_some_seconds_only(firm, open_reading, statements):
    check = asking(firm, open_reading)
    answers(check, firm)
    firm.clock.move(minutes=1)
    statements.clear()
    answers(check, firm)
    assert any("FROM beds" in one for one in statements)


def test_a_crew_hears_nothing_of_anothers_lawn_though_its_day_is_in_hand(firm, open_reading):
    check = asking(firm, open_reading)
    (one, lawns), (other, _), *_ = lawns_by_crew(firm).items()
    check.of_lawns(own(firm, one), lawns, depot_id=firm.depot_id)
    with pytest.raises(Exception, match="lawn"):
        check.of_lawns(own(firm, other), lawns, depot_id=firm.depot_id)


def test_another_firm_never_has_the_day_in_hand(firm, open_reading):
    check = asking(firm, open_reading)
    lawns = [lawn for some in lawns_by_crew(firm).values() for lawn in some]
    check.of_lawns(firm.caller, lawns, depot_id=firm.depot_id)
    stranger = replace(firm.caller, firm_id=UUID(int=77))
    with pytest.raises(Exception, match=r"depot|lawn"):
        check.of_lawns(stranger, lawns, depot_id=firm.depot_id)
