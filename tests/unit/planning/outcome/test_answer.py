"""What an answer says of its bound."""

from __future__ import annotations

import pytest

from service.planning.arrays.tables import UNITS_PER_CENT, tables_of
from service.planning.model.problem import Problem
from service.planning.model.result import Work
from service.planning.outcome.assembly import BOUND_FAULTY, Bound, cents, whole_cents, write_answer
from service.planning.tip_plans.columns import Column
from tests.bench.planning.days import small_day


@pytest.fixture(scope="module")
def tables():
    return tables_of(
        Problem.from_json(small_day("nothing to do", jobs=0, vehicles=1, beds=1, sites=1))
    )


def told(tables, *, cents):
    """Return the answer of a day without tips, with a bound that claims to be proven."""
    return write_answer(
        tables,
        [Column(vehicle=0, cost=0, tips=())],
        bound=Bound(units=cents * UNITS_PER_CENT, proven=True, scope="all plans"),
        prices={},
        work=Work(seed=0),
    )


def test_a_bound_above_its_own_plan_is_never_told_as_a_proof(tables):
    plan = told(tables, cents=1)
    assert not plan.bound_proven
    assert plan.bound_note == BOUND_FAULTY


def test_a_bound_that_meets_its_plan_is_a_proof(tables):
    assert told(tables, cents=0).bound_proven


@pytest.mark.parametrize(
    ("tenths", "whole"),
    [
        ((4, 4, 4), (1, 0, 0)),
        ((6, 6, 6), (1, 1, 0)),
        ((15, 0, 9), (1, 0, 1)),
        ((0, 20, 0), (0, 2, 0)),
    ],
)
def test_parts_of_a_cost_are_whole_cents_that_add_up_to_its_total(tenths, whole):
    parts = {name: n * UNITS_PER_CENT // 10 for name, n in zip("abc", tenths, strict=True)}
    total = cents(sum(parts.values()))
    told = whole_cents(parts, total_cents=total)
    assert sum(told.values()) == total
    assert tuple(told.values()) == whole
