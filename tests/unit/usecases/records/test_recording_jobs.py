"""Jobs as they are recorded: batches, retries, corrections, and what can not be right."""

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from service.core.errors import RecordMissing, RecordNotUsable
from service.core.jobs import JobState
from service.core.materials import LotStatus
from service.core.measures.quantities import Measure
from service.core.treatments import StatementSource
from tests.firms import DAY, SIX


def test_good_rows_of_a_batch_are_kept_and_bad_ones_say_why(firm, crew):
    lawn = firm.lawn(1)
    good = firm.job(lawn, crew)
    bad = firm.job(lawn, crew) | {"vehicle_id": UUID(int=99), "lawn_id": UUID(int=98)}
    ahead = firm.job(lawn, crew) | {
        "state": JobState.MOWN,
        "cut_at": SIX + timedelta(minutes=6),
        "planned_at": None,
    }
    answers = firm.jobs.create_many(firm.caller, [good, bad, ahead, good])
    assert [answer.job is not None for answer in answers] == [True, False, False, True]
    assert {fault.pointer for fault in answers[1].refusal.faults} == {"/vehicle_id", "/lawn_id"}
    assert answers[2].refusal.faults[0].pointer == "/cut_at"


def test_the_same_device_id_twice_is_one_job_and_with_other_content_a_refusal(firm, crew):
    row = firm.job(firm.lawn(1), crew) | {"id": UUID(int=(7 << 76) + (2 << 62) + 1)}
    first = firm.jobs.create(firm.caller, row)
    assert firm.jobs.create(firm.caller, row).id == first.id
    with pytest.raises(Exception, match="already kept"):
        firm.jobs.create(firm.caller, row | {"minutes_on_site": 45})


def test_a_corrected_area_is_estimated_again_and_the_old_value_is_kept(firm, crew):
    lawn = firm.lawn(1)
    job = firm.jobs.create(
        firm.caller, firm.job(lawn, crew, area_mowed=Measure(value=450.0, unit="m2"))
    )
    better = firm.jobs.amend(
        firm.caller,
        job.id,
        {"area_mowed": Measure(value=900.0, unit="m2")},
        expected_version=1,
        reason="counted one strip twice too few",
    )
    assert better.estimate.mass_kg.likely == pytest.approx(2 * job.estimate.mass_kg.likely)
    (change,) = firm.jobs.history(firm.caller, job.id)
    assert change.reason == "counted one strip twice too few"
    assert change.changes["area_mowed"][0] == {"value": 450.0, "unit": "m2"}


def test_another_firms_job_is_missing(firm, crew):
    job = firm.jobs.create(firm.caller, firm.job(firm.lawn(1), crew))
    stranger = replace(firm.caller, firm_id=UUID(int=12345))
    with pytest.raises(RecordMissing):
        firm.jobs.read(stranger, job.id)
    with pytest.raises(RecordMissing):
        firm.plan(stranger, firm.depot_id, DAY)


def test_a_measured_mass_counts_for_limits_and_leaves_the_estimate(firm, crew):
    lawn = firm.lawn(1)
    firm.site()
    job = firm.jobs.create(
        firm.caller, firm.mown(lawn, crew, measured_mass=Measure(value=290.0, unit="kg"))
    )
    routing = firm.plan_day()
    assert routing["vehicles"][0]["aboard_now"]["mass_high_kg"] == 290
    assert job.estimate.mass_kg.high < 290


def test_five_rounds_of_one_afternoon_are_one_mowing(firm, crew):
    lawn = firm.lawn(1)
    firm.library.treatments.create(
        firm.caller,
        {
            "lawn_id": lawn.id,
            "product": "Weed killer",
            "active_ingredients": ("2,4-D",),
            "applied_on": date(2026, 4, 20),
            "statement_source": StatementSource.APPLICATOR_RECORD,
            "stated_by": "T. Lund",
        },
    )
    yesterday = SIX - timedelta(days=1)
    for minutes in range(5):
        cut_at = yesterday + timedelta(minutes=10 * minutes)
        firm.jobs.create(firm.caller, firm.mown(lawn, crew, cut_at=cut_at))
    job = firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    assert job.status is LotStatus.TREATED


def test_a_nought_too_many_is_refused_by_the_lawns_own_area(firm, crew):
    lawn = firm.lawn(1)
    with pytest.raises(RecordNotUsable) as refusal:
        firm.jobs.create(
            firm.caller, firm.job(lawn, crew, area_mowed=Measure(value=5000.0, unit="m2"))
        )
    assert [fault.pointer for fault in refusal.value.faults] == ["/area_mowed"]
