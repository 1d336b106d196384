"""What every use case needs that plans days, whether it keeps the plan or only tells it."""

from __future__ import annotations

from service.core.records import Clock, Identifiers
from service.planning.model.stop_rule import StopRule
from service.rules.lookup import Rulebook
from service.usecases.base.ports import OpenUnitOfWork
from service.usecases.base.travel import Distances
from service.usecases.planning.planner import DayPlanner


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
        stop: StopRule,
    ) -> None:
        """Take what is needed; ``stop`` says how long the planner may look."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers
        self._rulebook = rulebook
        self._make_day = DayPlanner(rulebook=rulebook, distances=distances)
        self._stop = stop
