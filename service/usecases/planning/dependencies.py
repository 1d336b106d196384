"""What every use case needs that plans days, whether it keeps the plan or only tells it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypedDict

from service.core.records import Clock, Identifiers
from service.planning.model.stop_rule import StopRule
from service.rules.lookup import Rulebook
from service.usecases.base.ports.travel import Distances
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.planning.planner import DayPlanner

# A rule, or what gives the one of the moment.
Stop = StopRule | Callable[[], StopRule]


class PlanningPorts(TypedDict):
    """What `DayPlanning` takes."""

    open_unit_of_work: OpenUnitOfWork
    clock: Clock
    identifiers: Identifiers
    rulebook: Rulebook
    distances: Distances
    stop: Stop


class DayPlanning:
    """Has the records, the clock, the rules and a way to make a day."""

    def __init__(
        self,
        *,
        open_unit_of_work: OpenUnitOfWork,
        clock: Clock,
        identifiers: Identifiers,
        rulebook: Rulebook,
        distances: Distances,
        stop: Stop,
    ) -> None:
        """Take what is needed; ``stop`` says how long the planner may look."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers
        self._rulebook = rulebook
        self._make_day = DayPlanner(rulebook=rulebook, distances=distances)
        self._stop_rule = stop

    @property
    def _stop(self) -> StopRule:
        """How long the planner may look, from now."""
        return self._stop_rule() if callable(self._stop_rule) else self._stop_rule
