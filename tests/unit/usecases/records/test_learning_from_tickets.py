from datetime import timedelta

import pytest

from service.core.errors import RecordNotUsable
from service.core.jobs import JobState
from service.core.loads import LoadState, TicketReview
from service.core.measures.quantities import Measure
from tests.firms import SIX


def weighed(firm, crew, lawn, *, ratio, review, hours):
    """Mow a lawn, tip it at the site, weigh it at a ratio of the estimate, review the ticket."""
    job = firm.jobs.create(
        firm.caller,
        firm.job(lawn, crew)
        | {"state": JobState.MOWN, "cut_at": SIX - timedelta(hours=hours), "planned_at": None},
    )
    firm.plan(firm.caller, firm.depot_id, (SIX - timedelta(hours=hours)).date())
    load = next(load for load in firm.all_loads() if load.state is LoadState.PLANNED)
    return firm.loads(
        firm.caller,
        load.id,
        {
            "state": LoadState.DELIVERED,
            "weighed_net": Measure(value=ratio * job.estimate.mass_unlearned_kg.likely, unit="kg"),
            "weigh_ticket": f"T-{hours}",
            "ticket_review": review,
        },
        expected_version=load.version,
    )


def next_estimate(firm, crew, lawn):
    return firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=12)).estimate


def test_reviewed_tickets_move_the_next_estimate_and_narrow_it(firm):
    crew, lawn = firm.crew(firm.vehicle()), firm.lawn(1)
    firm.site()
    before = next_estimate(firm, crew, lawn)
    for week in range(1, 7):
        weighed(firm, crew, lawn, ratio=1.5, review=TicketReview.ACCEPTED, hours=168 * week)
    after = next_estimate(firm, crew, lawn)
    assert after.tickets == 6
    assert 1.2 < after.mass_kg.likely / before.mass_kg.likely <= 1.5
    assert after.mass_kg.high / after.mass_kg.low < before.mass_kg.high / before.mass_kg.low
    assert after.mass_before_tickets_kg == before.mass_kg


def test_a_ticket_nobody_reviewed_teaches_nothing(firm):
    crew, lawn = firm.crew(firm.vehicle()), firm.lawn(1)
    firm.site()
    before = next_estimate(firm, crew, lawn)
    weighed(firm, crew, lawn, ratio=1.8, review=TicketReview.AWAITED, hours=168)
    weighed(firm, crew, lawn, ratio=1.8, review=TicketReview.SET_ASIDE, hours=336)
    assert next_estimate(firm, crew, lawn) == before


def test_the_estimate_of_the_weighed_job_stays_as_it_was(firm):
    crew, lawn = firm.crew(firm.vehicle()), firm.lawn(1)
    firm.site()
    load = weighed(firm, crew, lawn, ratio=1.5, review=TicketReview.ACCEPTED, hours=168)
    job = firm.jobs.read(firm.caller, load.parts[0].job_id)
    assert job.estimate.tickets == 0


def test_a_review_needs_a_ticket(firm):
    crew, lawn = firm.crew(firm.vehicle()), firm.lawn(1)
    firm.site()
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    (load,) = firm.all_loads()
    with pytest.raises(RecordNotUsable):
        firm.loads(
            firm.caller,
            load.id,
            {"ticket_review": TicketReview.ACCEPTED},
            expected_version=load.version,
        )
