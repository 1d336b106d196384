"""One caller's haste is answered with 429, and stops nobody else."""

from uuid import UUID

import pytest

from service.api.exchange.budgets import Budgets, BudgetSpent
from service.core.callers.access import Caller, Role
from tests.worlds import app_of_all_worlds, make_world


@pytest.fixture
def world(monkeypatch):
    world = make_world()
    budgets = app_of_all_worlds().extensions["budgets"]
    monkeypatch.setattr(budgets, "requests", 5)
    monkeypatch.setattr(budgets, "clock", lambda: 1_000_000.0)  # stands: nothing is forgotten
    yield world
    budgets.spent.clear()


def test_a_key_that_asks_too_much_waits_and_another_firm_does_not(world):
    hasty, other = world.client(world.firm("A")), world.client(world.firm("B"))
    first = hasty.get("/rules")
    assert first.headers["RateLimit-Policy"] == '"requests";q=5;w=60'
    assert first.headers["RateLimit"] == '"requests";r=4;t=20'
    answers = [hasty.get("/rules") for _ in range(6)]
    assert [answer.status_code for answer in answers] == [200] * 4 + [429] * 2
    assert answers[-1].json["code"] == "budget_spent"
    assert answers[-1].headers["Retry-After"] == "20"
    assert other.get("/rules").status_code == 200
    assert world.app.test_client().get("/health").status_code == 200


def test_a_firms_keys_together_have_a_quota(world):
    firm = world.firm("A")
    clients = [world.client(firm, Role.INTEGRATOR) for _ in range(5)]
    answers = [client.get("/rules").status_code for client in clients for _ in range(5)]
    assert answers == [200] * 20 + [429] * 5


def test_who_guesses_keys_is_slowed_and_who_has_one_is_not(world):
    guessing = world.app.test_client()
    wrong = {"Authorization": "Bearer cd_wrong"}
    answers = [guessing.get("/rules", headers=wrong).status_code for _ in range(3)]
    assert answers == [401, 429, 429]
    assert world.client(world.firm()).get("/rules").status_code == 200


def test_what_answers_cost_is_counted_and_forgotten_with_the_minute():
    now = [30.0]
    budgets = Budgets(requests=100, computation_s=1.0, clock=lambda: now[0])
    caller = Caller(firm_id=UUID(int=1), key_id=UUID(int=2), role=Role.OWNER)
    budgets.take(caller)
    budgets.spent["time", caller.key_id] += 2
    with pytest.raises(BudgetSpent, match="computation"):
        budgets.take(caller)
    now[0] = 61.0
    assert budgets.take(caller) == 99
