"""How sure a plan is, held against random draws that share no code with it."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planning.model.problem import Problem
from service.planning.model.result import Plan, Unplaced
from service.planning.model.stop_rule import StopRule
from service.planning.risk.robustness import LotShare, UncertainLot, Uncertainty, overflow_chances
from service.planning.risk.sums import Spread, chance_above
from service.planning.solve import solve
from tests.bench.planning.days import day
from tests.bench.planning.freezing import frozen_at

DRAWS = 40_000
# 90th percentile of the standard normal distribution, from a table.
Z90 = 1.28155

amounts = st.lists(
    st.builds(
        lambda likely, down, up: Spread(low=likely / down, likely=likely, high=likely * up),
        st.floats(1.0, 400.0),
        st.floats(1.15, 4.0),
        st.floats(1.15, 4.0),
    ),
    min_size=1,
    max_size=25,
)
correlations = st.sampled_from([0.0, 0.3, 0.6, 0.9, 0.97, 1.0])


def drawn(spreads, correlation, *, seed=0):
    """Return random draws of amounts, one row each, that err together."""
    random = np.random.default_rng(seed)
    shared = random.standard_normal(DRAWS)
    rows = []
    for spread in spreads:
        own = random.standard_normal(DRAWS)
        z = np.sqrt(correlation) * shared + np.sqrt(1 - correlation) * own
        up = (spread.high / spread.likely) ** (z / Z90)
        down = (spread.likely / spread.low) ** (z / Z90) if spread.low else up
        rows.append(spread.likely * np.where(z > 0, up, down))
    return np.array(rows)


@settings(max_examples=60)
@given(spreads=amounts, correlation=correlations, level=st.floats(0.2, 0.995), data=st.data())
def test_the_chance_of_a_sum_agrees_with_random_draws(spreads, correlation, level, data):
    factors = data.draw(
        st.lists(st.floats(0.05, 1.0), min_size=len(spreads), max_size=len(spreads))
    )
    sums = np.array(factors) @ drawn(spreads, correlation)
    limit = float(np.quantile(sums, level))
    found = chance_above(limit, tuple(zip(spreads, factors, strict=True)), correlation=correlation)
    # Three standard errors of the draws are 0.0075.
    assert found == pytest.approx(float((sums > limit).mean()), abs=0.015)


@given(spread=amounts.map(lambda found: found[0]), correlation=correlations)
def test_one_amount_is_above_its_own_percentiles_as_often_as_they_say(spread, correlation):
    for limit, chance in ((spread.low, 0.9), (spread.likely, 0.5), (spread.high, 0.1)):
        assert chance_above(limit, ((spread, 1.0),), correlation=correlation) == pytest.approx(
            chance, abs=1e-6
        )


@given(spreads=amounts)
def test_amounts_that_err_wholly_together_add_their_high_ends(spreads):
    high = sum(spread.high for spread in spreads)
    parts = tuple((spread, 1.0) for spread in spreads)
    assert chance_above(high, parts, correlation=1.0) == pytest.approx(0.1, abs=1e-6)


@given(spreads=amounts, correlation=correlations, limit=st.floats(1.0, 5000.0))
def test_a_higher_limit_is_never_likelier_to_be_passed(spreads, correlation, limit):
    parts = tuple((spread, 1.0) for spread in spreads)
    chances = [
        chance_above(limit * grown, parts, correlation=correlation) for grown in (1.0, 1.2, 2.0)
    ]
    assert all(0.0 <= chance <= 1.0 for chance in chances)
    assert all(later <= earlier + 0.005 for earlier, later in pairwise(chances))


@pytest.mark.parametrize(("limit", "chance"), [(99.0, 1.0), (100.0, 0.0), (101.0, 0.0)])
def test_what_was_weighed_is_above_a_limit_or_not(limit, chance):
    weighed = ((Spread.exactly(60.0), 1.0), (Spread.exactly(80.0), 0.5))
    assert chance_above(limit, weighed, correlation=0.6) == chance


@pytest.mark.parametrize(
    "ends", [(2.0, 1.0, 3.0), (1.0, 3.0, 2.0), (-1.0, 1.0, 2.0), (1.0, 2.0, float("inf"))]
)
def test_a_spread_is_in_order(ends):
    with pytest.raises(ValueError, match="a spread needs"):
        Spread(low=ends[0], likely=ends[1], high=ends[2])


@pytest.fixture(scope="module")
def problem() -> Problem:
    return Problem.from_json(day("S", 2))


@pytest.fixture(scope="module")
def plan(problem) -> Plan:
    return solve(problem, stop=StopRule(rounds=5))


def unsure(problem, correlation, *, share=1.0):
    """Return lots whose high end is what the problem says, as the service hands them in."""

    def about(high):
        return Spread(low=high / 4.0 / share, likely=high / 1.8 / share, high=high / share)

    return Uncertainty(
        lots={
            f"lot of {job.id}": UncertainLot(
                mass_kg=about(job.mass_kg), volume_l=about(job.volume_l)
            )
            for job in problem.jobs
            if job.mass_kg
        },
        jobs={
            job.id: LotShare(lot=f"lot of {job.id}", share=share)
            for job in problem.jobs
            if job.mass_kg
        },
        correlation=correlation,
    )


def counted(problem, plan, uncertainty):
    """Return the shares of random days in which vehicles and destinations overflow."""
    lots = uncertainty.lots
    masses, volumes = (
        dict(
            zip(
                lots,
                drawn([getattr(lot, name) for lot in lots.values()], uncertainty.correlation),
                strict=True,
            )
        )
        for name in ("mass_kg", "volume_l")
    )
    jobs = {job.id: job for job in problem.jobs}
    filled = {d.id: np.zeros(DRAWS) for d in problem.destinations}
    found = {}
    for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True):
        kg, litres = np.zeros(DRAWS), np.zeros(DRAWS)
        planned, payload, body = 0, 0.0, 0.0
        for stop in answer.stops:
            if stop.job is not None:
                part = uncertainty.jobs.get(stop.job)
                if part is not None:
                    kg = kg + part.share * masses[part.lot]
                    litres = litres + part.share * volumes[part.lot]
                planned += jobs[stop.job].mass_kg
                payload = max(payload, float((kg > vehicle.payload_kg).mean()))
                body = max(body, float((litres > vehicle.body_l).mean()))
            else:
                share = stop.mass_kg / planned
                filled[stop.destination] += share * kg
                kg, litres = kg * (1 - share), litres * (1 - share)
                planned -= stop.mass_kg
        found[vehicle.id] = (payload, body)
    rooms = {d.id: d.capacity_kg for d in problem.destinations}
    return found, {name: float((kg > rooms[name]).mean()) for name, kg in filled.items()}


@pytest.mark.parametrize("correlation", [0.0, 0.6, 1.0])
@pytest.mark.parametrize("share", [1.0, 0.5])
def test_chances_of_overflow_agree_with_random_days(problem, plan, correlation, share):
    # Tighter rooms and payloads than planned, so that there is something to count.
    tight = dataclasses.replace(
        problem,
        vehicles=tuple(
            dataclasses.replace(v, payload_kg=v.payload_kg * 2 // 3, body_l=v.body_l * 2 // 3)
            for v in problem.vehicles
        ),
        destinations=tuple(
            dataclasses.replace(d, capacity_kg=d.capacity_kg * 2 // 3) for d in problem.destinations
        ),
    )
    uncertainty = unsure(tight, correlation, share=share)
    found = overflow_chances(tight, plan, uncertainty)
    vehicles, destinations = counted(tight, plan, uncertainty)
    assert sum(payload + body for payload, body in vehicles.values()) > 0.2
    for name, (payload, body) in vehicles.items():
        assert found.vehicles[name].payload == pytest.approx(payload, abs=0.015)
        assert found.vehicles[name].body == pytest.approx(body, abs=0.015)
    for name, chance in destinations.items():
        assert found.destinations[name] == pytest.approx(chance, abs=0.015)


def test_a_plan_that_holds_at_the_high_end_fails_at_most_once_in_ten(problem, plan):
    found = overflow_chances(problem, plan, unsure(problem, 0.6))
    for chances in found.vehicles.values():
        assert max(chances.payload, chances.body) <= 0.1 + 1e-3
    assert max(found.destinations.values()) <= 0.1 + 1e-3


def test_independent_lots_would_promise_too_much(problem, plan):
    apart, together = (
        overflow_chances(problem, plan, unsure(problem, correlation)).vehicles
        for correlation in (0.0, 0.6)
    )
    assert sum(c.payload + c.body for c in apart.values()) < sum(
        c.payload + c.body for c in together.values()
    )


def test_what_nobody_spread_weighs_what_the_problem_says(problem, plan):
    sure = Uncertainty(lots={}, jobs={}, correlation=0.6)
    found = overflow_chances(problem, plan, sure)
    assert {(c.payload, c.body) for c in found.vehicles.values()} == {(0.0, 0.0)}
    assert set(found.destinations.values()) == {0.0}
    small = dataclasses.replace(
        problem, vehicles=tuple(dataclasses.replace(v, payload_kg=1) for v in problem.vehicles)
    )
    loaded = {v.id for v in plan.vehicles if any(stop.destination for stop in v.stops)}
    found = overflow_chances(small, plan, sure)
    assert {name for name, c in found.vehicles.items() if c.payload == 1.0} == loaded


def test_the_room_for_one_lot_may_be_less_than_for_others(problem, plan):
    uncertainty = unsure(problem, 0.6)
    used = next(d for d in plan.destinations if d.used_kg)
    less = dataclasses.replace(
        uncertainty, rooms_kg={(used.id, lot): used.used_kg / 3.0 for lot in uncertainty.lots}
    )
    before = overflow_chances(problem, plan, uncertainty).destinations[used.id]
    assert overflow_chances(problem, plan, less).destinations[used.id] > before + 0.1
    none = dataclasses.replace(uncertainty, rooms_kg={(used.id, lot): 0.0 for lot in less.lots})
    assert overflow_chances(problem, plan, none).destinations[used.id] == 1.0


def test_what_is_tipped_already_counts_with_what_it_was_told_with(problem, plan):
    late = frozen_at(problem, plan, 24 * 3600)
    done = solve(late, stop=StopRule(first=True), previous=plan)
    found = overflow_chances(late, done, unsure(late, 0.6))
    assert set(found.destinations.values()) == {0.0}
    used = {d.id: d.used_kg for d in done.destinations}
    cut = dataclasses.replace(
        late,
        destinations=tuple(
            dataclasses.replace(d, capacity_kg=max(0, used[d.id] - 1)) for d in late.destinations
        ),
    )
    found = overflow_chances(cut, done, unsure(cut, 0.6))
    assert {name for name, chance in found.destinations.items() if chance == 1.0} == {
        name for name, kg in used.items() if kg
    }


def test_what_no_destination_takes_is_not_carried_on(problem, plan):
    vehicle = next(v for v in plan.vehicles if sum(1 for s in v.stops if s.job) > 1)
    stops = [stop for stop in vehicle.stops if stop.job is not None]
    jobs = {job.id: job for job in problem.jobs}
    left = tuple(
        Unplaced(
            vehicle=vehicle.id,
            mass_kg=jobs[stop.job].mass_kg,
            volume_l=0,
            after_job=stop.job,
            reasons=(),
        )
        for stop in stops
    )
    nowhere = dataclasses.replace(
        plan,
        vehicles=tuple(
            dataclasses.replace(v, stops=tuple(stops)) if v.id == vehicle.id else v
            for v in plan.vehicles
        ),
        unplaced=left,
    )
    heaviest = max(jobs[stop.job].mass_kg for stop in stops)
    tight = dataclasses.replace(
        problem,
        vehicles=tuple(dataclasses.replace(v, payload_kg=heaviest) for v in problem.vehicles),
    )
    sure = Uncertainty(lots={}, jobs={}, correlation=0.6)
    assert overflow_chances(tight, nowhere, sure).vehicles[vehicle.id].payload == 0.0
