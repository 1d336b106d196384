"""What holds for every planned day, whatever was posted."""

from collections import defaultdict
from datetime import timedelta
from uuid import UUID

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.materials import LotStatus, TreatmentHistory, Wetness
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import DestinationKind
from service.usecases.day.asking import ask_day
from service.usecases.day.reading.read_day import read_day
from tests.builders import RULES
from tests.effort import examples
from tests.firms import DAY, SIX, make_firm

jobs = st.fixed_dictionaries(
    {
        "area_m2": st.sampled_from([150.0, 400.0, 900.0, 2500.0]),
        "wetness": st.sampled_from(list(Wetness)),
        "treatment_history": st.sampled_from(list(TreatmentHistory)),
        "weeds_in_seed": st.booleans(),
        "litter_seen": st.sampled_from([False, False, False, True]),
        "vehicle": st.integers(0, 1),
        "minutes": st.integers(0, 400),
    }
)
beds = st.fixed_dictionaries(
    {
        "area_m2": st.sampled_from([5.0, 30.0, 120.0]),
        "consent": st.sampled_from([ConsentState.GIVEN, ConsentState.REFUSED]),
        "own": st.booleans(),
        "edible": st.booleans(),
    }
)
days = st.fixed_dictionaries(
    {
        "jobs": st.lists(jobs, min_size=1, max_size=7),
        "beds": st.lists(beds, max_size=4),
        "sites": st.lists(st.sampled_from([200.0, 3000.0]), max_size=2),
        "payload_kg": st.sampled_from([300.0, 900.0]),
    }
)


def laid_out(day, order=None):
    """Return a firm with the day's records, its jobs posted in an order."""
    firm = make_firm()
    crews = [
        firm.crew(firm.vehicle(f"V{number}", payload_kg=day["payload_kg"])) for number in range(2)
    ]
    lawns = [firm.lawn(n, area_m2=job["area_m2"]) for n, job in enumerate(day["jobs"])]
    for number, bed in enumerate(day["beds"]):
        kind = (
            LegalBasisKind.GROWN_ON_SAME_PROPERTY
            if bed["own"]
            else LegalBasisKind.GENERAL_EXEMPTION
        )
        firm.bed(
            lawns[number % len(lawns)],
            area_m2=bed["area_m2"],
            name=f"Bed {number}",
            edible=bed["edible"],
            consent=Consent(state=bed["consent"]),
            legal_basis=LegalBasis(kind=kind),
        )
    for number, capacity_kg in enumerate(day["sites"]):
        firm.site(
            name=f"Site {number}",
            daily_capacity_kg=capacity_kg,
            accepted_statuses=(LotStatus.CLEAN, LotStatus.WEEDY),
        )
    rows = []
    for number, (job, lawn) in enumerate(zip(day["jobs"], lawns, strict=True)):
        seen = {
            name: job[name]
            for name in ("wetness", "treatment_history", "weeds_in_seed", "litter_seen")
        }
        rows.append(
            firm.job(lawn, crews[job["vehicle"]], **seen)
            | {
                "id": UUID(int=(7 << 76) + (2 << 62) + 500 + number),
                "planned_at": SIX + timedelta(minutes=60 + job["minutes"]),
            }
        )
    for row in rows if order is None else [rows[i] for i in order]:
        firm.jobs.create(firm.caller, row)
    return firm


def asked_of(firm):
    """Return every verdict of the day as it stands."""
    with firm.open_unit() as unit:
        facts = read_day(
            unit, firm_id=firm.caller.firm_id, depot_id=firm.depot_id, day=DAY, now=SIX
        )
    return facts, ask_day(facts, rulebook=RULES)


@settings(max_examples=examples(40))
@given(day=days)
def test_what_is_cut_is_routed_held_left_or_told_as_unplaced_and_nothing_twice(day):
    firm = laid_out(day)
    routing = firm.plan_day()
    carried = defaultdict(float)
    for load in firm.all_loads():
        for part in load.parts:
            carried[str(part.job_id)] += part.share
    unplaced = bool(routing["unplaced"])
    for lot in routing["lots"]:
        share = carried[lot["job_id"]]
        if lot["outcome"] == "leave_on_lawn":
            assert share == 0
        elif unplaced:
            assert share <= 1 + 1e-6
        else:
            assert share == pytest.approx(1.0, abs=1e-6)


@settings(max_examples=examples(40))
@given(day=days)
def test_no_lot_goes_where_it_was_refused_nor_more_than_was_accepted(day):
    firm = laid_out(day)
    firm.plan_day()
    facts, asked = asked_of(firm)
    taken = defaultdict(float)
    for load in firm.all_loads():
        for part in load.parts:
            verdict = next(
                verdict
                for verdict in asked.verdicts[part.job_id]
                if verdict.destination_id == load.destination_id
            )
            assert not verdict.refused
            # Shares of what a destination accepts of each lot add up to at most the whole.
            high_kg = asked.lots[part.job_id].mass_kg.high * part.share
            taken[load.destination_id] += high_kg / verdict.accepted_kg
    assert all(share <= 1 + 1e-6 for share in taken.values())
    assert facts.jobs


@settings(max_examples=examples(40))
@given(day=days)
def test_no_vehicle_carries_more_than_its_payload_or_body_at_the_wet_end(day):
    firm = laid_out(day)
    routing = firm.plan_day()
    _, asked = asked_of(firm)
    outcomes = {lot["job_id"]: lot["outcome"] for lot in routing["lots"]}
    cut_up = {warning.get("job_id") for warning in routing["warnings"]}
    for vehicle in routing["vehicles"]:
        mass_kg = volume_l = 0.0
        if cut_up & {stop.get("job_id") for stop in vehicle["stops"]}:
            continue  # a lot larger than its vehicle is fetched in parts, told as a warning
        for stop in vehicle["stops"]:
            if stop["kind"] == "job":
                if outcomes[stop["job_id"]] == "leave_on_lawn":
                    continue
                lot = asked.lots[UUID(stop["job_id"])]
                mass_kg += lot.mass_kg.high
                volume_l += lot.volume_m3.high * 1000.0
                assert mass_kg <= vehicle["payload_kg"] + 1e-6
                assert volume_l <= vehicle["body_volume_m3"] * 1000.0 + 1e-6
            else:
                load = next(ld for ld in firm.all_loads() if str(ld.id) == stop["load_id"])
                mass_kg -= load.mass_kg.high
                volume_l -= load.volume_m3.high * 1000.0


def told(routing):
    """Return a routing without the ids of its loads, which are new with every plan."""
    stops = [
        [
            (stop.get("job_id") or stop["destination"], stop["at"], str(stop.get("mass_kg")))
            for stop in vehicle["stops"]
        ]
        for vehicle in routing["vehicles"]
    ]
    return stops, routing["cost_cents"]


@settings(max_examples=examples(25))
@given(day=days, data=st.data())
def test_the_order_of_posting_changes_nothing(day, data):
    order = data.draw(st.permutations(range(len(day["jobs"]))))
    assert told(laid_out(day).plan_day()) == told(laid_out(day, order).plan_day())


@settings(max_examples=examples(25))
@given(day=days)
def test_planning_again_with_nothing_new_changes_nothing(day):
    firm = laid_out(day)
    first = firm.plan_day()
    loads = {load.id for load in firm.all_loads()}
    assert told(first) == told(firm.plan_day())
    assert {load.id for load in firm.all_loads()} == loads


@settings(max_examples=examples(25))
@given(day=days)
def test_unknown_littered_and_weedy_lots_never_reach_a_bed(day):
    firm = laid_out(day)
    firm.plan_day()
    for load in firm.all_loads():
        if load.destination_kind is DestinationKind.BED:
            assert load.status is LotStatus.CLEAN


@settings(max_examples=examples(25))
@given(day=days)
def test_every_planned_job_is_a_stop_of_its_vehicle_also_where_the_clippings_stay(day):
    firm = laid_out(day)
    routing = firm.plan_day()
    stops = [
        stop["job_id"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job"
    ]
    assert sorted(stops) == sorted(lot["job_id"] for lot in routing["lots"])


DRAWS = 20_000


def random_day(lots, correlation, end):
    """Return random draws of what each lot is, in the unit of its estimate; they err together."""
    random = np.random.default_rng(1)
    shared = random.standard_normal(DRAWS)
    found = {}
    for job_id, lot in lots.items():
        estimate = getattr(lot, end)
        own = random.standard_normal(DRAWS)
        z = np.sqrt(correlation) * shared + np.sqrt(1 - correlation) * own
        ratio = np.where(
            z > 0, estimate.high / estimate.likely, estimate.likely / max(estimate.low, 1e-9)
        )
        found[job_id] = estimate.likely * ratio ** (z / 1.28155)
    return found


@settings(max_examples=examples(25))
@given(day=days)
def test_the_chances_of_overflow_are_those_of_random_days_with_the_loads_as_they_are_kept(day):
    firm = laid_out(day)
    routing = firm.plan_day()
    _, asked = asked_of(firm)
    correlation = routing["overflow"]["correlation"]
    mass_kg = random_day(asked.lots, correlation, "mass_kg")
    volume_m3 = random_day(asked.lots, correlation, "volume_m3")
    loads = {str(load.id): load for load in firm.all_loads()}
    outcomes = {lot["job_id"]: lot["outcome"] for lot in routing["lots"]}
    cut_up = {warning.get("job_id") for warning in routing["warnings"]}
    filled = defaultdict(lambda: np.zeros(DRAWS))
    for vehicle in routing["vehicles"]:
        kg, m3 = np.zeros(DRAWS), np.zeros(DRAWS)
        payload = body = 0.0
        for stop in vehicle["stops"]:
            if stop["kind"] == "job":
                if outcomes[stop["job_id"]] != "leave_on_lawn":
                    kg = kg + mass_kg[UUID(stop["job_id"])]
                    m3 = m3 + volume_m3[UUID(stop["job_id"])]
                payload = max(payload, float((kg > vehicle["payload_kg"]).mean()))
                body = max(body, float((m3 > vehicle["body_volume_m3"]).mean()))
                continue
            load = loads[stop["load_id"]]
            for part in load.parts:
                kg = kg - part.share * mass_kg[part.job_id]
                m3 = m3 - part.share * volume_m3[part.job_id]
                verdict = next(
                    verdict
                    for verdict in asked.verdicts[part.job_id]
                    if verdict.destination_id == load.destination_id
                )
                filled[str(load.destination_id)] += (
                    part.share * mass_kg[part.job_id] / verdict.accepted_kg
                )
        # A lot larger than its vehicle is fetched in parts, of which only the first is told.
        if not cut_up & {stop.get("job_id") for stop in vehicle["stops"]}:
            assert vehicle["payload_overflow_chance"] == pytest.approx(payload, abs=0.015)
            assert vehicle["body_overflow_chance"] == pytest.approx(body, abs=0.015)
    if not routing["unplaced"]:
        for row in routing["destinations"]:
            chance = float((filled[row["destination_id"]] > 1.0).mean())
            assert row["overflow_chance"] == pytest.approx(chance, abs=0.015)
