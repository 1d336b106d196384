"""Whoever is out, whatever is done by then: no job is done twice, and none is forgotten."""

from collections import Counter
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.jobs import JobState
from tests.effort import examples
from tests.firms import DAY, SIX, make_firm

MOST_VEHICLES = 4
HOURS = (8, 9, 10)


@st.composite
def mornings(draw):
    """Draw how many jobs each vehicle has and has done, and when it is out, if it is."""
    return draw(
        st.lists(
            st.tuples(
                st.integers(0, len(HOURS)),
                st.integers(0, len(HOURS)),
                st.none() | st.sampled_from([6, 7.5, 9, 9.5, 12]),
                st.sampled_from([400.0, 900.0, 2500.0]),
            ),
            min_size=1,
            max_size=MOST_VEHICLES,
        )
    )


def at(hour):
    return SIX + timedelta(hours=hour - 6)


def told(morning):
    """Plan a morning at half past nine and return its jobs and its routing."""
    firm = make_firm()
    firm.site()
    jobs = []
    for number, (count, done, out, payload_kg) in enumerate(morning):
        vehicle = firm.vehicle(f"V{number}", payload_kg=payload_kg)
        crew = firm.crew(vehicle)
        for place, hour in enumerate(HOURS[:count]):
            lawn = firm.lawn(4 * number + hour)
            mown = {"state": JobState.MOWN, "cut_at": at(hour), "planned_at": None}
            values = firm.job(lawn, crew, hour=hour, **(mown if place < done else {}))
            firm.clock.at = at(hour)
            jobs.append(firm.jobs.create(firm.caller, values))
        if out is not None:
            firm.library.vehicle_outages.create(
                firm.caller,
                {"vehicle_id": vehicle.id, "out_since": at(out), "reason": "Gearbox"},
            )
    firm.clock.at = at(9.5)
    return jobs, firm.plan(firm.caller, firm.depot_id, DAY).routing


@settings(max_examples=examples(25))
@given(mornings())
def test_every_job_is_on_one_list_or_told_as_nobodys(morning):
    jobs, routing = told(morning)
    ahead = Counter(
        stop["job_id"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job" and not stop["done"]
    )
    lots = {lot["job_id"]: lot for lot in routing["lots"]}
    left = {job_id for job_id, lot in lots.items() if lot["needs_attention"]}
    for job in jobs:
        if job.state is JobState.PLANNED:
            assert ahead[str(job.id)] + (str(job.id) in left) == 1
        else:
            assert ahead[str(job.id)] == 0
    warned = {
        job_id
        for warning in routing["warnings"]
        if warning["code"] == "nobody_takes_over"
        for job_id in warning["job_ids"]
    }
    assert warned == left
    assert len(lots) == len(jobs)


@settings(max_examples=examples(25))
@given(mornings())
def test_all_grass_goes_somewhere_or_is_told_as_unplaced(morning):
    _, routing = told(morning)
    for lot in routing["lots"]:
        if lot["outcome"] in {"leave_on_lawn", "left_on_lawn"}:
            continue
        share = sum(way["share"] for way in lot["goes_to"])
        if lot["needs_attention"]:
            assert share == 0
            assert any(
                part["vehicle_id"] == lot["vehicle_id"] and part["mass_high_kg"] > 0
                for part in routing["unplaced"]
            )
        elif not routing["unplaced"]:
            assert abs(share - 1) < 1e-3


@settings(max_examples=examples(25))
@given(mornings())
def test_a_vehicle_that_stands_has_nothing_ahead(morning):
    _, routing = told(morning)
    for vehicle in routing["vehicles"]:
        if vehicle["out"] is not None and vehicle["out"]["stands"]:
            assert all(stop["done"] for stop in vehicle["stops"])
