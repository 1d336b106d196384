"""Plan again after an event when no standing day is kept: problem and old plan in, new plan out."""

from __future__ import annotations

import dataclasses
import time

from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Problem
from service.planning.model.result import Plan


def replan(
    problem: Problem,
    previous: Plan,
    vehicles: list[str],
    *,
    seed: int = 0,
    explain: bool = True,
) -> Plan:
    """Return a plan in which these vehicles are planned again and the others stay, if they can.

    Vehicles whose old tips have become illegal or impossible are planned again too. If somebody is
    displaced (destinations overflow, or material is left unplaced), the vehicles that hold the
    room those displaced want are planned together with them. Who has many events to answer keeps
    a ``LiveDay`` day instead: this makes one for a single question.

    Parameters
    ----------
    problem
        The day after the event, with what is done or under way frozen, see ``frozen_at``.
    previous
        The plan before; tips it did not have cost ``change_cents_per_stop`` each.
    vehicles
        Ids of the vehicles the event is about.
    seed
        Written into the answer; nothing here is left to chance.

    Returns
    -------
    Plan
        Without a bound of its own: ``bound_proven`` is false until the next full solve.
    """
    started = time.perf_counter()
    standing = LiveDay.of(problem, previous, about=vehicles, why="the day has changed")
    plan = standing.explained() if explain else standing.plan
    plan = dataclasses.replace(plan, work=dataclasses.replace(plan.work, seed=seed))
    return plan.after(time.perf_counter() - started)
