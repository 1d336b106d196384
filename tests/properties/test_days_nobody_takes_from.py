"""A day of which nobody takes anything is an ordinary day: all is told as unplaced, and why."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.materials import TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.planning.model.stop_rule import StopRule
from tests.firms import DAY, SIX, make_firm

SEARCHED = StopRule(rounds=2)

jobs = st.fixed_dictionaries(
    {
        "area_m2": st.sampled_from([80.0, 400.0, 2500.0]),
        "height_removed_mm": st.sampled_from([25.0, 70.0]),
        "wetness": st.sampled_from([Wetness.DRY, Wetness.RAINED_ON]),
        "treatment_history": st.sampled_from(list(TreatmentHistory)),
        "weeds_in_seed": st.booleans(),
        "mown": st.booleans(),
        "vehicle": st.integers(0, 1),
        "minutes": st.integers(0, 400),
    }
)
# Too long to be left on the lawn, and cut already.
TALL = {
    "area_m2": 400.0,
    "height_removed_mm": 70.0,
    "wetness": Wetness.DRY,
    "treatment_history": TreatmentHistory.NONE_RECORDED,
    "weeds_in_seed": False,
    "mown": True,
    "vehicle": 0,
    "minutes": 0,
}
sites = st.sampled_from(
    [
        {"closed_on": (DAY,)},
        {"hours": ()},
        {"live_status": LiveStatus(state=SiteState.CLOSED, as_of=SIX)},
        {"daily_capacity_kg": 0.0},
        {"accepted_statuses": ()},
    ]
)
beds = st.sampled_from(
    [
        {"consent": Consent(state=ConsentState.REFUSED)},
        {"consent": Consent(state=ConsentState.NOT_ASKED)},
        {"area_m2": 0.01},
    ]
)
days = st.fixed_dictionaries(
    {
        "jobs": st.lists(jobs, min_size=1, max_size=4),
        "beds": st.lists(beds, max_size=2),
        "sites": st.lists(sites, max_size=2),
        "full_bay": st.booleans(),
    }
)


def laid_out(day, *, stop=None):
    """Return a firm on a day of which no bed, no site and no bay takes anything, and its jobs."""
    firm = make_firm(stop=stop)
    if day["full_bay"]:
        firm.library.hold_bays.amend(
            firm.caller, firm.bay_id, {"volume_m3": 1e-6}, expected_version=1
        )
    else:
        firm.library.hold_bays.delete(firm.caller, firm.bay_id, expected_version=1)
    crews = [firm.crew(firm.vehicle(f"V{number}")) for number in range(2)]
    lawns = [firm.lawn(n, area_m2=job["area_m2"]) for n, job in enumerate(day["jobs"])]
    for number, changes in enumerate(day["beds"]):
        firm.bed(lawns[number % len(lawns)], name=f"Bed {number}", **changes)
    for number, changes in enumerate(day["sites"]):
        firm.site(name=f"Site {number}", **changes)
    for job, lawn in zip(day["jobs"], lawns, strict=True):
        seen = {
            "wetness": job["wetness"],
            "treatment_history": job["treatment_history"],
            "weeds_in_seed": job["weeds_in_seed"],
            "height_removed": Measure(value=job["height_removed_mm"], unit="mm"),
        }
        told = firm.mown if job["mown"] else firm.job
        when = {} if job["mown"] else {"planned_at": SIX + timedelta(minutes=job["minutes"])}
        firm.jobs.create(firm.caller, told(lawn, crews[job["vehicle"]], **seen, **when))
    return firm


def assert_all_is_told(firm, routing):
    """Assert that nothing goes anywhere, every kilogram is told as unplaced, each with a reason."""
    assert firm.all_loads() == []
    assert {lot["outcome"] for lot in routing["lots"]} <= {"unplaced", "leave_on_lawn"}
    unplaced = [lot for lot in routing["lots"] if lot["outcome"] == "unplaced"]
    assert bool(unplaced) == bool(routing["unplaced"])
    told_kg = sum(item["mass_high_kg"] for item in routing["unplaced"])
    # The planner's masses are rounded up by the piece, the lots' as they are told.
    high_kg = sum(lot["mass_kg"]["high"] for lot in unplaced)
    assert told_kg == pytest.approx(high_kg, abs=1.0 * 20 * len(routing["lots"]), rel=0.01)
    for item in routing["unplaced"]:
        assert item["reasons"]
    for lot in routing["lots"]:
        assert lot["elsewhere"]["willing"] == 0


@settings(max_examples=30)
@given(day=days)
def test_what_nobody_takes_is_unplaced_each_with_a_reason(day):
    firm = laid_out(day)
    assert_all_is_told(firm, firm.plan_day())


@settings(max_examples=5)
@given(day=days)
def test_a_search_of_such_a_day_ends_like_its_first_plan(day):
    first = laid_out(day).plan_day()
    firm = laid_out(day, stop=SEARCHED)
    searched = firm.plan_day()
    assert_all_is_told(firm, searched)
    assert searched["cost_cents"] == first["cost_cents"]


def test_where_no_place_is_on_record_the_reason_says_so():
    firm = laid_out({"jobs": [TALL], "beds": [], "sites": [], "full_bay": False})
    (item,) = firm.plan_day()["unplaced"]
    assert item["reasons"] == [
        "no_destination: the firm has no bed, no compost site and no hold bay on record"
    ]


def test_each_place_that_refuses_all_the_day_is_counted_by_its_reason():
    day = {
        "jobs": [TALL],
        "beds": [{"consent": Consent(state=ConsentState.REFUSED)}],
        "sites": [{"closed_on": (DAY,)}, {"hours": ()}],
        "full_bay": True,
    }
    firm = laid_out(day)
    (item,) = firm.plan_day()["unplaced"]
    assert item["reasons"] == [
        "bay_volume: 1 destination",
        "no_consent: 1 destination",
        "site_closed_day: 2 destinations",
    ]
