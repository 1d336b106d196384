"""The loop of the planner's process: what fails in it keeps nothing else from being done."""

import pytest

from service.cli import planning


class Faulty:
    """Sweeps nothing, tidies nothing, and plans twice before it is told to end."""

    def __init__(self):
        self.done = []

    def sweep(self):
        self.done.append("sweep")
        raise ValueError("a day that cannot be read")

    def tidy(self):
        self.done.append("tidy")
        raise ValueError("an answer that cannot be dropped")

    def plan_next(self):
        self.done.append("plan")
        if self.done.count("plan") == 3:
            raise SystemExit
        return True


class Idle:
    """Nothing is searched, and no search is dropped."""

    def tidy(self):
        return False


def test_days_are_planned_though_the_sweep_fails(monkeypatch):
    monkeypatch.setattr(planning, "AFTER_A_FAULT_S", 0.0)
    faulty = Faulty()
    with pytest.raises(SystemExit):
        planning._keep_planning(faulty, Idle(), None)  # noqa: SLF001 - the loop itself
    assert faulty.done == ["sweep", "tidy", "plan", "plan", "plan"]
